import type { FeatureCondition } from './zone-condition.ts';

/** How long until a limit is met at the pace of now. */
export interface Outlook {
  /** When, at the trend's slope [ms]. */
  atMs: number;
  /** At the fast and the slow end of its interval; the slow end is null where it never comes. */
  earliestMs: number;
  latestMs: number | null;
}

const weekMs = 7 * 86_400_000;
/** Farther away nobody plans, and a straight line says nothing [ms]. */
const farthestMs = 2 * 365 * 86_400_000;

/**
 * When a feature that moves meets a limit, if it goes on as it does.
 *
 * @param limit in the feature's unit
 * @returns null where it does not move for sure, moves away, or the limit lies beyond two years;
 * at once where it is met already
 */
export function outlook({ newest, trend }: FeatureCondition, limit: number): Outlook | null {
  if (newest === null || trend === null) return null;
  const { perWeek, lowPerWeek, highPerWeek } = trend;
  // An interval that holds 0 holds both ways.
  if (lowPerWeek <= 0 && highPerWeek >= 0) return null;
  const left = limit - newest.value;
  if (Math.sign(left) !== Math.sign(perWeek)) {
    return { atMs: newest.atMs, earliestMs: newest.atMs, latestMs: newest.atMs };
  }
  const after = (slope: number) => newest.atMs + (left / slope) * weekMs;
  const [fast, slow] = perWeek > 0 ? [highPerWeek, lowPerWeek] : [lowPerWeek, highPerWeek];
  const atMs = after(perWeek);
  if (atMs - newest.atMs > farthestMs) return null;
  const latestMs = after(slow);
  const never = latestMs - newest.atMs > farthestMs;
  return { atMs, earliestMs: after(fast), latestMs: never ? null : latestMs };
}

/**
 * Where a curve of (x, y) first rises to a level, between its points.
 *
 * @param points by rising x
 * @returns null where it stays below
 */
export function meets(
  points: readonly { x: number; y: number | null }[],
  level: number,
): number | null {
  for (let i = 0; i < points.length; i++) {
    const here = points[i];
    if (here === undefined || (here.y !== null && here.y < level)) continue;
    const before = points[i - 1];
    if (before === undefined || before.y === null) return here.x;
    // Beyond the last point that can be reached at all: somewhere between the two, and sooner is safer.
    if (here.y === null) return before.x;
    return before.x + ((level - before.y) / (here.y - before.y)) * (here.x - before.x);
  }
  return null;
}
