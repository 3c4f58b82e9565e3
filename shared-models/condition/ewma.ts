import type { Baseline } from './baseline.ts';

export interface EwmaChart {
  /** One a cycle, in the feature's unit. */
  values: number[];
  limits: { low: number; high: number };
}

/**
 * Exponentially weighted moving average of a feature, for drifts too small for any single cycle to show.
 *
 *   zᵢ = λ·xᵢ + (1 − λ)·zᵢ₋₁, z₀ = target;  limits = target ± 3·σ·√(λ/(2 − λ))
 *
 * The limits are the asymptotic ones: too wide for the first few cycles, never too narrow.
 *
 * @param lambda weight of the newest cycle, 0 < λ ≤ 1
 * @source NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.4
 */
export function ewma(
  values: readonly number[],
  { target, sigma }: Baseline,
  lambda: number,
): EwmaChart {
  let level = target;
  const halfWidth = 3 * sigma * Math.sqrt(lambda / (2 - lambda));
  return {
    values: values.map((value) => (level = lambda * value + (1 - lambda) * level)),
    limits: { low: target - halfWidth, high: target + halfWidth },
  };
}
