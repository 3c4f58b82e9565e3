import { canonicalReadings } from '@setwell/shared-models/score/readings';
import { score } from '@setwell/shared-models/score/score';
import { expect, it } from 'vitest';
import { pressedTruth, told } from '../fixtures/pressed-truth.ts';
import { faceSensor, pressLoad, shellRecipe, thirteenPlies } from '../fixtures/press-load.ts';

const loads = 120;

const layers = thirteenPlies.layers.map((layer) => ({ ...layer, count: 9 }));
const recipe = {
  ...shellRecipe,
  plannedMin: 13,
  layup: {
    ...thirteenPlies,
    layers,
    tolerance: {
      diffusivityPct: told.diffusivity * 100,
      contactPct: told.contact * 100,
      placeK: told.placeK,
    },
  },
};

interface Tally {
  places: number;
  inside: number;
  aboveLow: number;
  falsePasses: number;
  wellInside: number;
  passed: number;
}

function tally(withGaps: boolean): Tally {
  const counts = { places: 0, inside: 0, aboveLow: 0, falsePasses: 0, wellInside: 0, passed: 0 };
  for (let seed = 1; seed <= loads; seed += 1) {
    const { minutes, upper, lower, truth } = pressedTruth(seed, withGaps);
    const sensor = { ...faceSensor, expandedK: told.sensorExpandedK, noiseK: told.noiseK };
    const input = pressLoad(minutes, { recipe, sensors: { ul: sensor, ll: sensor } });
    const sent = (point: string, rows: [number, number][]) =>
      rows.map(([s, value]) => ({ point, tMs: s * 1000, value }));
    const readings = canonicalReadings([...sent('ul', upper), ...sent('ll', lower)]);
    const { places, verdict, window } = score(input, readings);
    const worst = Math.min(...truth);
    places.forEach(({ low, high }, i) => {
      const is = truth[i] ?? NaN;
      counts.places += 1;
      if (is >= low) counts.aboveLow += 1;
      if (is >= low && is <= high) counts.inside += 1;
    });
    if (verdict === 'in-window' && worst < window.least) counts.falsePasses += 1;
    if (worst >= 1.6 * window.least) {
      counts.wellInside += 1;
      if (verdict === 'in-window') counts.passed += 1;
    }
  }
  return counts;
}

it('complete data: the truth is inside at 95 of 100 places, above low at 97', () => {
  const counts = tally(false);
  console.info('complete data', counts);
  expect(counts.inside / counts.places).toBeGreaterThanOrEqual(0.95);
  expect(counts.aboveLow / counts.places).toBeGreaterThanOrEqual(0.97);
  expect(counts.falsePasses).toBe(0);
  expect(counts.wellInside).toBeGreaterThan(20);
  expect(counts.passed / counts.wellInside).toBeGreaterThanOrEqual(0.95);
}, 120_000);

it('with gaps: the truth is inside at 97 of 100 places, and nothing under-cured passes', () => {
  const counts = tally(true);
  console.info('with gaps', counts);
  expect(counts.inside / counts.places).toBeGreaterThanOrEqual(0.97);
  expect(counts.falsePasses).toBe(0);
}, 120_000);
