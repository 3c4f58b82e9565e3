import { median, quickselect } from 'simple-statistics';
import { tieGroups } from './ties.ts';

/** Standard normal quantile of a two-sided interval of 95 %. */
export const Z_95 = 1.959963984540054;

/** 4,000 cycles have 8 million pairs, 64 MB of slopes: a year of one press, worked in under a second. */
export const MOST_TREND_ROWS = 4000;

/** A straight line that a few wild cycles do not move. */
export interface Trend {
  /** Per unit of x. */
  slope: number;
  intercept: number;
  /** Ends of the slope's interval. */
  low: number;
  high: number;
}

/**
 * Theil-Sen line: the median of the slopes of all pairs of cycles, with Sen's interval.
 *
 * @param x, y one a cycle, at most MOST_TREND_ROWS
 * @param z standard normal quantile of the interval, two-sided
 * @returns null where no two x differ
 * @throws RangeError above MOST_TREND_ROWS or for lists of different length: a caller's bug
 * @source P. K. Sen, J. Am. Stat. Assoc. 63 (1968) 1379-1389; intercept med(y) − slope·med(x) after
 * W. J. Conover, Practical Nonparametric Statistics
 */
export function theilSen(
  x: readonly number[],
  y: readonly number[],
  z: number = Z_95,
): Trend | null {
  const n = x.length;
  if (n > MOST_TREND_ROWS || y.length !== n) {
    throw new RangeError(`${n} x and ${y.length} y; expected as many, at most ${MOST_TREND_ROWS}`);
  }
  const slopes = new Float64Array((n * (n - 1)) / 2);
  let pairs = 0;
  for (let i = 0; i < n; i++) {
    for (let j = i + 1; j < n; j++) {
      const dx = x[j]! - x[i]!;
      if (dx !== 0) slopes[pairs++] = (y[j]! - y[i]!) / dx;
    }
  }
  if (pairs === 0) return null;
  // Four ranks are wanted: to sort all pairs for them would take most of a year's summary.
  const list = slopes.subarray(0, pairs) as unknown as number[];
  const ranked = (rank: number): number => {
    quickselect(list, rank, 0, pairs - 1);
    return list[rank]!;
  };
  const slope = (ranked((pairs - 1) >> 1) + ranked(pairs >> 1)) / 2;
  const halfRanks = z * Math.sqrt(senVariance(x, y));
  const lowRank = Math.max(0, Math.round((pairs - halfRanks) / 2) - 1);
  const highRank = Math.min(pairs - 1, Math.round((pairs + halfRanks) / 2));
  return {
    slope,
    intercept: median([...y]) - slope * median([...x]),
    low: ranked(lowRank),
    high: ranked(highRank),
  };
}

/** Variance of Kendall's S, less what ties in x and y take from it. */
function senVariance(x: readonly number[], y: readonly number[]): number {
  const term = (n: number) => n * (n - 1) * (2 * n + 5);
  const tied = [...tieGroups(x), ...tieGroups(y)].reduce((sum, size) => sum + term(size), 0);
  return Math.max(0, (term(x.length) - tied) / 18);
}
