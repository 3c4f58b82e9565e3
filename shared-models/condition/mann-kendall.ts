import { errorFunction } from 'simple-statistics';
import { tieGroups } from './ties.ts';

export interface MannKendall {
  /** Rising pairs less falling pairs. */
  s: number;
  variance: number;
  /** Standard normal score, with the correction for continuity. */
  z: number;
  /** How often steady data would score as far from 0, either way; normal approximation, good from 10 values. */
  p: number;
}

/**
 * Does a feature rise or fall at all, whatever the shape of it?
 *
 *   S = Σᵢ<ⱼ sign(xⱼ − xᵢ),  Var = [n(n−1)(2n+5) − Σ t(t−1)(2t+5)]/18,  Z = (S ∓ 1)/√Var
 *
 * It supposes that cycles do not depend on one another.
 *
 * @param values in order of time, one a cycle
 * @source H. B. Mann, Econometrica 13 (1945) 245-259; D. R. Helsel et al., Statistical Methods in Water
 * Resources, USGS Techniques and Methods 4-A3 (2020), ch. 12
 */
export function mannKendall(values: readonly number[]): MannKendall {
  const n = values.length;
  let s = 0;
  for (let i = 0; i < n; i++) {
    for (let j = i + 1; j < n; j++) s += Math.sign(values[j]! - values[i]!);
  }
  const term = (size: number) => size * (size - 1) * (2 * size + 5);
  const tied = tieGroups(values).reduce((sum, size) => sum + term(size), 0);
  const variance = (term(n) - tied) / 18;
  const z = variance > 0 ? (s - Math.sign(s)) / Math.sqrt(variance) : 0;
  // The error function is good to 1e-7, and not exactly 0 at 0.
  return { s, variance, z, p: Math.min(1, 1 - errorFunction(Math.abs(z) / Math.SQRT2)) };
}
