import { median } from 'simple-statistics';

/** Fewer cycles than this show no change that could be told from scatter (p stays above 0.05). */
export const LEAST_CHANGE_ROWS = 8;

export interface ChangePoint {
  /** Row of the first cycle of the new level, from 0. */
  row: number;
  /** How often steady data would show as much; approximate, good below 0.5. */
  p: number;
  medianBefore: number;
  medianAfter: number;
}

/**
 * Where a feature most likely changed its level once: a heater gone, a repair.
 *
 *   U_k = 2·Σᵢ≤ₖ rank(xᵢ) − k·(n + 1),  p ≈ 2·exp(−6·max|U|²/(n³ + n²))
 *
 * @param values in order of time, one a cycle
 * @returns null for fewer than LEAST_CHANGE_ROWS or for equal values
 * @source A. N. Pettitt, Appl. Statist. 28 (1979) 126-135; in ranks after G. Verstraeten et al.,
 * J. Geophys. Res. 111 (2006) D22109
 */
export function changePoint(values: readonly number[]): ChangePoint | null {
  const n = values.length;
  if (n < LEAST_CHANGE_ROWS) return null;
  let u = 0;
  let most = 0;
  let row = 0;
  ranks(values).forEach((rank, i) => {
    u += 2 * rank - (n + 1);
    if (Math.abs(u) > most) {
      most = Math.abs(u);
      row = i + 1;
    }
  });
  if (most === 0) return null;
  return {
    row,
    p: Math.min(1, 2 * Math.exp((-6 * most * most) / (n * n * n + n * n))),
    medianBefore: median(values.slice(0, row)),
    medianAfter: median(values.slice(row)),
  };
}

/** Ranks from 1; equal values share the mean of theirs. */
function ranks(values: readonly number[]): number[] {
  const order = values.map((_, i) => i).sort((a, b) => values[a]! - values[b]!);
  const result = new Array<number>(values.length);
  for (let from = 0; from < order.length;) {
    let to = from;
    while (to + 1 < order.length && values[order[to + 1]!] === values[order[from]!]) to++;
    for (let i = from; i <= to; i++) result[order[i]!] = (from + to) / 2 + 1;
    from = to + 1;
  }
  return result;
}
