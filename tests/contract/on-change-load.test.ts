import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import type { LoadSealed } from '@setwell/shared-models/record/bodies';
import type { ScoreInput } from '@setwell/shared-models/score/shape';
import { afterEach, expect, test } from 'vitest';
import { textFile } from '../fixtures/command.ts';
import { openWorks, plantFile, usualFaceC, type Works } from '../fixtures/press-plant/works.ts';

let works: Works;
afterEach(() => works.end());

/** The usual press, its points speaking on change. */
function onChangeWorks(): Works {
  const text = readFileSync(plantFile, 'utf8').replaceAll(
    '    everyS: 5\n',
    '    report: { onChangeK: 0.2, heartbeatS: 300 }\n',
  );
  const plant = textFile('plant.yaml', text);
  mkdirSync(join(dirname(plant), 'recipes'));
  const recipe = join('recipes', 'shell-13ply.yaml');
  writeFileSync(join(dirname(plant), recipe), readFileSync(join(dirname(plantFile), recipe)));
  return openWorks(plant);
}

/** Each minute one numbered report of either face; `skips` are numbers that never come. */
function press(minutes: number, numbered: boolean, skips: number[] = []): void {
  for (let min = 0; min < minutes; min += 1) {
    for (const face of ['p1-ul', 'p1-ll']) {
      const row = { t: works.clock.nowMs(), v: usualFaceC(min), ...(numbered ? { seq: min } : {}) };
      if (!skips.includes(min)) works.reading(face, [row]);
    }
    works.collector.step();
    works.clock.advance(60_000);
  }
  works.collector.step();
}

function sealedSensors(numbered: boolean, skips: number[] = []) {
  works = onChangeWorks();
  works.event('load-start', { load: 'P1-1', lot: 'K-1', recipe: 'shell-13ply' });
  press(6, numbered, skips);
  works.event('load-end', { load: 'P1-1' });
  works.clock.advance(121_000);
  works.collector.step();
  const { input } = works.entries('load-sealed')[0]!.body as LoadSealed;
  const { startMs, sensors } = JSON.parse(works.document(input)) as ScoreInput;
  return { startMs, onChange: sensors['p1-ul']?.onChange };
}

test('a record says what its point reports at, and that none of its reports is missing', () => {
  expect(sealedSensors(true).onChange).toEqual({ withinK: 0.2, heartbeatMs: 300_000, holes: [] });
});

test('a number that is missing is a hole in the record', () => {
  const { startMs, onChange } = sealedSensors(true, [3]);
  expect(onChange?.holes).toEqual([[startMs + 120_000, startMs + 240_000]]);
});

test('of a device that numbers nothing nobody can tell', () => {
  expect(sealedSensors(false).onChange?.holes).toBeNull();
});
