import type { Baseline } from './baseline.ts';

export interface CusumChart {
  /** One a cycle, in the feature's unit, ≥ 0: the sum of what lies above target + k·σ. */
  high: number[];
  /** The same of what lies below target − k·σ. */
  low: number[];
  /** Either sum above it is a signal: h·σ. */
  limit: number;
}

/**
 * Two one-sided cumulative sums of a feature, for a lasting shift of about 2·k·σ.
 *
 *   Hᵢ = max(0, Hᵢ₋₁ + xᵢ − target − k·σ),  Lᵢ = max(0, Lᵢ₋₁ + target − k·σ − xᵢ)
 *
 * @param k slack in σ, ≥ 0
 * @param h decision interval in σ, > 0
 * @source NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.3 (tabular form)
 */
export function cusum(
  values: readonly number[],
  { target, sigma }: Baseline,
  k: number,
  h: number,
): CusumChart {
  const slack = k * sigma;
  let above = 0;
  let below = 0;
  return {
    high: values.map((value) => (above = Math.max(0, above + (value - target) - slack))),
    low: values.map((value) => (below = Math.max(0, below + (target - value) - slack))),
    limit: h * sigma,
  };
}
