import type { Recipe } from '@setwell/shared-models/plant/recipe-schema';
import { canonicalReadings } from '@setwell/shared-models/score/readings';
import { score } from '@setwell/shared-models/score/score';
import type { ScoreInput } from '@setwell/shared-models/score/shape';
import { trace } from '@setwell/shared-models/score/trace';
import { expect, it } from 'vitest';
import { clamped } from '../fixtures/clamped-load.ts';
import { readingsOf } from '../fixtures/press-load.ts';

const wood = { conductivityWPerMK: 0.17, densityKgPerM3: 700, heatCapacityJPerKgK: 1600 };
const halfM = 0.02;
const [coldC, roomC] = [4, 20];

/** Two parts of 20 mm glued face to face, from the yard into the room; Biot number 1. */
function glued(layers: object[]): ScoreInput {
  const plain = clamped([]);
  const part = {
    layers,
    convectionWPerM2K: wood.conductivityWPerMK / halfM,
    face: 'both',
    initialC: coldC,
  };
  return { ...plain, recipe: { ...plain.recipe, part } as Recipe };
}

const csv = canonicalReadings(readingsOf({ air: () => roomC }, 7200, 60));
const pair = [{ ...wood, thicknessMm: 20, count: 2 }];

/**
 * Temperature at the middle and the surface of a plate in moving air, the series' first term.
 *
 * @source Carslaw & Jaeger, Conduction of Heat in Solids, §3.11: ζ tan ζ = Bi, here 0.8603
 */
function plateC(seconds: number): { middle: number; surface: number } {
  const zeta = 0.86033;
  const fourier =
    ((wood.conductivityWPerMK / (wood.densityKgPerM3 * wood.heatCapacityJPerKgK)) * seconds) /
    (halfM * halfM);
  const first = (4 * Math.sin(zeta)) / (2 * zeta + Math.sin(2 * zeta));
  const share = first * Math.exp(-zeta * zeta * fourier);
  const at = (cosine: number) => roomC - (roomC - coldC) * share * cosine;
  return { middle: at(1), surface: at(Math.cos(zeta)) };
}

it('glue between two parts in a rack is judged where it is, not at their warm surface', () => {
  const input = glued(pair);
  const { places } = score(input, csv);
  expect(places.map(({ glueLine, depthMm }) => [glueLine, depthMm])).toEqual([[1, 20]]);
  const { timesMs, lines } = trace(input, csv);
  for (const seconds of [3600, 5400, 7200]) {
    const found = lines[0]?.nominalC[timesMs.indexOf(seconds * 1000)] ?? NaN;
    expect(Math.abs(found - plateC(seconds).middle)).toBeLessThan(0.05);
  }
});

it('a part without a glue line of its own is judged at its surface', () => {
  const input = glued([{ ...wood, thicknessMm: 40, count: 1 }]);
  const { timesMs, lines } = trace(input, csv);
  const found = lines[0]?.nominalC[timesMs.indexOf(7_200_000)] ?? NaN;
  expect(Math.abs(found - plateC(7200).surface)).toBeLessThan(0.05);
});
