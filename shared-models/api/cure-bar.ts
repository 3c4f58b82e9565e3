import type { CureInterval, Window } from '../score/shape.ts';

/** Where the window's posts stand on every cure bar, as a share of its width: always the same places. */
export const leastPost = 0.5;
export const mostPost = 0.86;

/** Where the trough ends when there is no most: it runs out, no post. */
const openEnd = 0.96;
const farEnd = 0.99;

/**
 * Where a value stands on the cure bar [share of the width, 0 … 1].
 *
 * Linear from 0 to least, from least to most, and beyond, with a kink at each post; the growth
 * picture uses the same axis upright, so that nothing jumps between the two.
 *
 * @param value in the measure's unit; below 0 counts as 0
 */
export function barPosition(value: number, window: Window): number {
  const { least, most } = window;
  if (value <= 0 && least > 0) return 0;
  if (value <= least) return least > 0 ? (leastPost * value) / least : leastPost;
  if (most === null) {
    const beyond = least > 0 ? (value - least) / least : 1;
    return leastPost + (openEnd - leastPost) * Math.min(1, beyond);
  }
  const width = most - least;
  if (value <= most) return leastPost + ((mostPost - leastPost) * (value - least)) / width;
  return Math.min(farEnd, mostPost + ((1 - mostPost) * (value - most)) / width);
}

/** Everything a drawing of the cure bar needs, as shares of its width; screens, prints and PDF share it. */
export interface CureBar {
  low: number;
  nominal: number;
  high: number;
  least: number;
  /** Null: no most, the trough runs out. */
  most: number | null;
}

export function cureBar(cure: CureInterval, window: Window): CureBar {
  return {
    low: barPosition(cure.low, window),
    nominal: barPosition(cure.nominal, window),
    high: barPosition(cure.high, window),
    least: leastPost,
    most: window.most === null ? null : mostPost,
  };
}
