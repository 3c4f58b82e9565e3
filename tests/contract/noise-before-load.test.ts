import { noiseOfReadings } from '@setwell/shared-models/metrology/stream-noise';
import type { LoadOpened, LoadSealed } from '@setwell/shared-models/record/bodies';
import type { ScoreInput } from '@setwell/shared-models/score/shape';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { openWorks, usualFaceC, type Works } from '../fixtures/press-plant/works.ts';
import { seededNormal } from '../fixtures/seeded-normal.ts';

let works: Works;
beforeEach(() => {
  works = openWorks();
});
afterEach(() => works.end());

const noisyHold = (seed: number) => {
  const normal = seededNormal(seed);
  return () => 138 + 0.2 * normal();
};

test('noise is taken from before the load, kept with its opening, and scored by value', () => {
  works.press(10, noisyHold(1));
  works.event('load-start', { load: 'P1-1', lot: 'K-118', recipe: 'shell-13ply' });
  const opened = works.entries('load-opened')[0]?.body as LoadOpened;
  expect(Object.keys(opened.noiseK ?? {}).sort()).toEqual(['p1-ll', 'p1-ul']);
  expect(opened.noiseK?.['p1-ul']).toBeGreaterThan(0.15);
  expect(opened.noiseK?.['p1-ul']).toBeLessThan(0.27);
  // The load itself reads quietly, and half of it is lost: its noise stays what it was.
  works.press(12, usualFaceC);
  works.press(12, () => null);
  works.event('load-end', { load: 'P1-1' });
  works.clock.advance(121_000);
  works.collector.step();
  const sealed = works.entries('load-sealed')[0]?.body as LoadSealed;
  const input = JSON.parse(works.document(sealed.input)) as ScoreInput;
  expect(input.sensors['p1-ul']?.noiseK).toBe(opened.noiseK?.['p1-ul']);
});

test('a point that has said nothing before the load has no noise to go by', () => {
  works.event('load-start', { load: 'P1-1', lot: 'K-118', recipe: 'shell-13ply' });
  expect((works.entries('load-opened')[0]?.body as LoadOpened).noiseK).toEqual({});
});

test('a rise, a gap and an uneven row do not look like noise', () => {
  const normal = seededNormal(3);
  const timesMs: number[] = [];
  const valuesC: number[] = [];
  for (let s = 0; s < 2000; s += 5) {
    if (s > 700 && s < 1300) continue;
    timesMs.push(s * 1000 + (s % 35 === 0 ? 400 : 0));
    valuesC.push(20 + 0.05 * s + 0.1 * normal());
  }
  const noiseK = noiseOfReadings(timesMs, valuesC) ?? NaN;
  expect(noiseK).toBeGreaterThan(0.085);
  expect(noiseK).toBeLessThan(0.115);
  expect(noiseOfReadings(timesMs.slice(0, 11), valuesC.slice(0, 11))).toBeNull();
});
