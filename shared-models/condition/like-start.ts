import { linearRegression, median, sampleStandardDeviation } from 'simple-statistics';
import type { FeatureRow } from './feature.ts';

/** Starts must differ by so much before their effect can be told [K], over so many heat-ups. */
const leastSpreadK = 2;
const leastRows = 8;

/**
 * Values as if every heat-up had begun alike: a warm start is no strong heater.
 *
 * The effect of the start is a straight line through the rows of the baseline. Press and room are as
 * cold as each other after a night, so the start stands for both.
 *
 * @param rows of one feature and point, in order of time
 * @param baseline how many of them, from the first, are the baseline
 * @returns one value a row, and the start they are told for [°C]; null where starts play no part
 */
export function likeStart(
  rows: readonly FeatureRow[],
  baseline: number,
): { values: number[]; startC: number | null } {
  const known = rows.slice(0, baseline).filter(({ startC }) => startC !== null);
  const startsC = known.map(({ startC }) => startC ?? 0);
  const plain = rows.map(({ value }) => value);
  if (known.length === 0) return { values: plain, startC: null };
  const startC = median(startsC);
  if (known.length < leastRows || sampleStandardDeviation(startsC) < leastSpreadK) {
    return { values: plain, startC };
  }
  const { m } = linearRegression(known.map((row) => [row.startC ?? 0, row.value]));
  return {
    values: rows.map((row) => row.value - m * ((row.startC ?? startC) - startC)),
    startC,
  };
}
