import { canonicalReadings, type RawReading } from '@setwell/shared-models/score/readings';
import { score } from '@setwell/shared-models/score/score';
import type { ScoreInput, ScoreResult } from '@setwell/shared-models/score/shape';
import { describe, expect, it } from 'vitest';
import {
  faceSensor,
  platenC,
  pressLoad,
  readingsOf,
  shellRecipe,
  thirteenPlies,
} from '../fixtures/press-load.ts';

const MIN = 60_000;
const both = (course: (s: number) => number) => ({ ul: course, ll: course });
const scored = (readings: readonly RawReading[], changed: Partial<ScoreInput> = {}) =>
  score(pressLoad(24, changed), canonicalReadings(readings));
const usual = readingsOf(both(platenC), 1440, 5);
const sixth = ({ places }: ScoreResult) => places[5] ?? expect.fail('no sixth line');

/** Wider than what the good readings give, and never narrower anywhere. */
function isWider(found: ScoreResult, good = scored(usual)): void {
  good.places.forEach((place, i) => {
    expect(found.places[i]?.low).toBeLessThanOrEqual(place.low + 1e-9);
    expect(found.places[i]?.high).toBeGreaterThanOrEqual(place.high - 1e-9);
  });
  expect(sixth(found).high - sixth(found).low).toBeGreaterThan(
    sixth(good).high - sixth(good).low + 0.01,
  );
}

describe('readings that cannot be', () => {
  const station = { ...faceSensor, plausible: { minC: 0, maxC: 220, maxRateKPerMin: 60 } };
  const sensors = { ul: station, ll: station };

  it.each([
    ['up', 80],
    ['down', -80],
  ])('a jump of 80 K %s and back is counted out, and its silence widens', (_way, jumpK) => {
    const jumped = usual.map((each) =>
      each.tMs >= 600_000 && each.tMs < 660_000 ? { ...each, value: each.value + jumpK } : each,
    );
    const found = scored(jumped, { sensors });
    isWider(found);
    expect(found.quality.doubtful).toBe(24);
    expect(found.reasons).toContainEqual(
      expect.objectContaining({ code: 'gap', point: 'ul', fromMs: 595_000, toMs: 660_000 }),
    );
  });

  it('a jump that stays is believed no sooner than the rate allows', () => {
    const stays = usual.map((each) =>
      each.point === 'ul' && each.tMs >= 600_000 ? { ...each, value: each.value - 80 } : each,
    );
    const found = scored(stays, { sensors });
    expect(found.quality.doubtful).toBeGreaterThan(10);
    expect(sixth(found).low).toBeLessThan(sixth(scored(usual)).low - 2);
    expect(found.verdict).not.toBe('in-window');
  });

  it('values that are no numbers are no canonical text, and are refused with their line', () => {
    for (const value of [NaN, Infinity]) {
      const text = canonicalReadings([{ point: 'ul', tMs: 0, value }]);
      expect(() => score(pressLoad(24), text)).toThrow(/readings, line 2: found "ul,0,/);
    }
  });
});

describe('readings at the wrong time', () => {
  const before = readingsOf(
    both(() => 138),
    600,
    5,
  ).map((each) => ({ ...each, tMs: each.tMs - 600_000 - 5000 }));

  it('before the start they earn nothing, and what is read in the load is judged as it was', () => {
    const found = scored([...before, ...usual]);
    const good = scored(usual);
    found.places.forEach((place, i) => {
      expect(place.nominal).toBeCloseTo(good.places[i]?.nominal ?? NaN, 9);
      expect(place.low).toBeLessThanOrEqual((good.places[i]?.low ?? NaN) + 1e-9);
    });
  });

  it('before the start alone they prove nothing, and the whole load is a gap', () => {
    const found = scored(before);
    expect(found).toMatchObject({ verdict: 'unproven' });
    expect(found.quality.gaps).toEqual([
      { point: 'ul', fromMs: 0, toMs: 24 * MIN },
      { point: 'll', fromMs: 0, toMs: 24 * MIN },
    ]);
    expect(found.quality.silent.map(({ point }) => point)).toEqual(['ul', 'll']);
  });

  it('after the end alone they prove nothing either', () => {
    const after = usual.map((each) => ({ ...each, tMs: each.tMs + 25 * MIN }));
    const found = scored(after, { asOfMs: 50 * MIN });
    expect(found.verdict).not.toBe('in-window');
  });
});

describe('faces', () => {
  it('the other way round give the lines the other way round, to 1e-9', () => {
    const [hot, cold] = [(s: number) => platenC(s), (s: number) => platenC(s) - 8];
    const right = scored(readingsOf({ ul: hot, ll: cold }, 1440, 5));
    const swapped = scored(readingsOf({ ul: cold, ll: hot }, 1440, 5));
    right.places.forEach(({ low, nominal, high }, i) => {
      const mirror = swapped.places[11 - i];
      expect(mirror?.low).toBeCloseTo(low, 9);
      expect(mirror?.nominal).toBeCloseTo(nominal, 9);
      expect(mirror?.high).toBeCloseTo(high, 9);
    });
    // Which line decides is the other: only a proven wire tells which face is which.
    expect([right.worst?.glueLine, swapped.worst?.glueLine]).toEqual([8, 5]);
  });

  it.each(['ul', 'll'])('without %s all through: unproven, with the point named', (missing) => {
    const found = scored(usual.filter(({ point }) => point !== missing));
    expect(found.verdict).toBe('unproven');
    expect(found.reasons).toContainEqual({ code: 'no-reading', zone: 'left', point: missing });
  });

  it('a zone whose point has no sensor is refused by its name', () => {
    expect(() => scored(usual, { sensors: { ul: faceSensor } })).toThrow(/no sensor for point ll/);
  });
});

it('a zone without a lay-up leaves the load unproven, and the others judged', () => {
  const places = [{ id: 'centre', zones: ['left'], layup: thirteenPlies }];
  const zones = [
    { id: 'left', upper: 'ul', lower: 'll', air: null },
    { id: 'right', upper: 'ul', lower: 'll', air: null },
  ];
  const found = scored(usual, { recipe: { ...shellRecipe, layup: undefined, places }, zones });
  expect(found.verdict).toBe('unproven');
  expect(new Set(found.places.map(({ zone }) => zone))).toEqual(new Set(['left']));
});
