import { expect, it } from 'vitest';
import { tallyOf } from '../fixtures/load-tally.ts';

const seeds = Array.from({ length: 120 }, (_, i) => i + 1);

it('complete data: the truth is inside at 95 of 100 places, above low at 97', () => {
  const counts = tallyOf(seeds, false);
  console.info('complete data', counts);
  expect(counts.inside / counts.places).toBeGreaterThanOrEqual(0.95);
  expect(counts.aboveLow / counts.places).toBeGreaterThanOrEqual(0.97);
  expect(counts.falsePasses).toBe(0);
  expect(counts.wellInside).toBeGreaterThan(20);
  expect(counts.passed / counts.wellInside).toBeGreaterThanOrEqual(0.95);
}, 120_000);

it('with gaps: the truth is inside at 97 of 100 places, and nothing under-cured passes', () => {
  const counts = tallyOf(seeds, true);
  console.info('with gaps', counts);
  expect(counts.inside / counts.places).toBeGreaterThanOrEqual(0.97);
  expect(counts.falsePasses).toBe(0);
}, 120_000);
