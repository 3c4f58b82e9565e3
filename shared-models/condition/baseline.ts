import { mean, sampleStandardDeviation } from 'simple-statistics';

/** Cycles that a baseline is taken from unless somebody says what is normal. Common practice, no source. */
export const BASELINE_ROWS = 20;

/** What is normal for a feature: its level and its scatter from cycle to cycle, in the feature's unit. */
export interface Baseline {
  target: number;
  sigma: number;
}

/**
 * Mean and sample standard deviation of the first cycles: the ones after a repair, say.
 *
 * Give one value a cycle (minutes to window, mean of the plateau, a rate). The samples of one heat-up
 * follow each other too closely: charts of them signal for ever.
 *
 * @param values at least BASELINE_ROWS, one a cycle
 */
export function baselineOf(values: readonly number[]): Baseline {
  const first = values.slice(0, BASELINE_ROWS);
  return { target: mean(first), sigma: sampleStandardDeviation(first) };
}
