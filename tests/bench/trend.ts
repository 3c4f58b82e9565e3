import { straightLine } from '@setwell/shared-models/cure/fit/straight-line';

/** How fast something grows, and between what: 95 in a hundred, each in the value's unit by that of x. */
export interface Trend {
  slope: number;
  low: number;
  high: number;
}

/** Fewer that count for themselves tell nothing of a slope's error. */
const leastCounted = 5;

/**
 * The line through a course, by least squares. Neighbours resemble one another (heaps fill and are swept):
 * so many count as a series of the same likeness from one to the next is worth.
 *
 * @throws RangeError for fewer than `leastCounted` samples
 * @source effective number of a series n(1 − r)/(1 + r), r from one to the next: common practice in
 *   trends of climate (from memory)
 */
export function trendOf(x: readonly number[], values: readonly number[]): Trend {
  if (x.length < leastCounted) throw new RangeError(`a trend needs ${leastCounted} samples`);
  const { slope, slopeStandardError, residuals } = straightLine(x, values);
  const r = Math.max(0, likenessOf(residuals));
  const counted = Math.max(leastCounted, (x.length * (1 - r)) / (1 + r));
  const error = (slopeStandardError ?? 0) * Math.sqrt((x.length - 2) / (counted - 2));
  const margin = studentOf(counted - 2) * error;
  return { slope, low: slope - margin, high: slope + margin };
}

/** Correlation of each with the next. */
function likenessOf(residuals: readonly number[]): number {
  const square = residuals.reduce((sum, each) => sum + each * each, 0);
  if (square === 0) return 0;
  return residuals.slice(1).reduce((sum, each, i) => sum + each * residuals[i], 0) / square;
}

/**
 * Student's t that 2.5 in a hundred exceed.
 *
 * @param freedom degrees of freedom, ≥ 3
 * @source M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions, 26.7.5 (from memory)
 */
function studentOf(freedom: number): number {
  const z = 1.959964;
  const first = (z ** 3 + z) / 4;
  const second = (5 * z ** 5 + 16 * z ** 3 + 3 * z) / 96;
  const third = (3 * z ** 7 + 19 * z ** 5 + 17 * z ** 3 - 15 * z) / 384;
  return z + first / freedom + second / freedom ** 2 + third / freedom ** 3;
}

/** "+1.2 MB an hour (−0.3 to +2.7)" */
export function trendText({ slope, low, high }: Trend, unit: string): string {
  const signed = (value: number): string => `${value < 0 ? '−' : '+'}${Math.abs(value).toFixed(1)}`;
  return `${signed(slope)} ${unit} an hour (${signed(low)} to ${signed(high)})`;
}
