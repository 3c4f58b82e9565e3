import { cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { afterEach, expect, test } from 'vitest';
import type { LoadEnded, LoadOpened, LoadSealed } from '@setwell/shared-models/record/bodies';
import type { ScoreInput } from '@setwell/shared-models/score/shape';
import { openWorks, plantFile, usualFaceC, type Works } from '../fixtures/press-plant/works.ts';

let works: Works;
let plantDir: string;
afterEach(async () => {
  await works.end();
  rmSync(plantDir, { recursive: true });
});

/** The press plant, heated from below alone, with a tool above that nothing measures. */
function openOneSided(): void {
  plantDir = mkdtempSync(join(tmpdir(), 'setwell-one-sided-'));
  cpSync(dirname(plantFile), plantDir, { recursive: true });
  const change = (file: string, from: string, to: string) => {
    const text = readFileSync(join(plantDir, file), 'utf8');
    expect(text).toContain(from);
    writeFileSync(join(plantDir, file), text.replace(from, to));
  };
  change('plant.yaml', 'kind: press\n', 'kind: press\n    heating: one-sided\n');
  change('plant.yaml', 'upper: p1-ul, ', '');
  change(
    'recipes/shell-13ply.yaml',
    '  layers:\n',
    '  layers:\n    - { material: aluminium, thicknessMm: 10 }\n',
  );
  change('recipes/shell-13ply.yaml', 'count: 13', 'count: 3');
  works = openWorks(join(plantDir, 'plant.yaml'));
}

test('the tool nothing measures is handed from closing to closing, over a restart too', () => {
  openOneSided();
  for (const load of ['P1-1', 'P1-2', 'P1-3']) {
    works.event('load-start', { load, lot: 'K-1', recipe: 'shell-13ply' });
    works.press(12, usualFaceC);
    works.event('load-end', { load });
    works.press(4, () => 138);
    if (load === 'P1-2') works.restart();
  }
  const opened = works.entries('load-opened').map(({ body }) => body as LoadOpened);
  const ended = works.entries('load-ended').map(({ body }) => body as LoadEnded);
  expect(opened[0]?.carried).toBeUndefined();
  expect(opened[1]?.carried).toEqual(ended[0]?.carried);
  expect(opened[2]?.carried).toEqual(ended[1]?.carried);
  expect(ended[0]?.carried?.[0]).toMatchObject({ zone: 'left', atMs: ended[0]?.endMs });
  const inputs = works.entries('load-sealed').map(({ body }) => {
    const { input } = body as LoadSealed;
    return JSON.parse(works.document(input)) as ScoreInput;
  });
  expect(inputs[2]?.carried).toEqual(ended[1]?.carried);
});
