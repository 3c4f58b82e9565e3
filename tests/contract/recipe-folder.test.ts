import { cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import type { LoadOpened, RecipeApproved } from '@setwell/shared-models/record/bodies';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { openWorks, plantFile, type Works } from '../fixtures/press-plant/works.ts';

let folder: string;
let file: string;
let works: Works;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'recipe-folder-'));
  cpSync(dirname(plantFile), folder, { recursive: true });
  file = join(folder, 'recipes/shell-13ply.yaml');
  works = openWorks(join(folder, 'plant.yaml'));
});
afterEach(async () => {
  await works.end();
  rmSync(folder, { recursive: true });
});

const revisions = (kind: 'recipe-approved' | 'recipe-withdrawn') =>
  works.entries(kind).map(({ body }) => (body as RecipeApproved).recipe.revision);

/** Of a load that is started and taken out again. */
function revisionUsed(load: string): number | undefined {
  works.event('load-start', { load, lot: 'K-118', recipe: 'shell-13ply' });
  const [opened] = works.entries('load-opened').filter(({ about }) => about.load === load);
  works.clock.advance(1000);
  works.event('load-end', { load });
  return (opened?.body as LoadOpened | undefined)?.recipe?.revision;
}

test('a recipe that is put back to an earlier text is what the next load is judged by', () => {
  const text = readFileSync(file, 'utf8');
  writeFileSync(file, text.replace(/least: \d+/, 'least: 2'));
  works.restart();
  writeFileSync(file, text);
  works.restart();
  works.restart();
  expect(revisions('recipe-approved')).toEqual([1, 2, 3]);
  expect(revisionUsed('P1-1')).toBe(3);
});

test('a recipe whose file is gone starts no load, and one that comes back does', () => {
  const text = readFileSync(file, 'utf8');
  rmSync(file);
  works.restart();
  expect(revisions('recipe-withdrawn')).toEqual([1]);
  expect(revisionUsed('P1-1')).toBeUndefined();
  writeFileSync(file, text);
  works.restart();
  expect(revisionUsed('P1-2')).toBe(2);
});

test('a file that does not read withdraws nothing: it may be any of them', () => {
  writeFileSync(file, 'id: [');
  works.restart();
  expect(revisions('recipe-withdrawn')).toEqual([]);
  expect(revisionUsed('P1-1')).toBe(1);
});
