import type { FeatureRow } from './feature.ts';

/** A day with fewer minutes read is no day [min]. */
const leastMinutes = 12 * 60;

/**
 * What a day of a room was: a rack's or a store's air.
 *
 * @param minutes of the day that were read, by time: their mean, least and greatest [°C]
 */
export function roomDay(
  point: string,
  dayMs: number,
  minutes: readonly { min: number; max: number; mean: number; spanMin: number }[],
): FeatureRow[] {
  const read = minutes.reduce((sum, { spanMin }) => sum + spanMin, 0);
  if (read < leastMinutes) return [];
  const level = minutes.reduce((sum, { mean, spanMin }) => sum + mean * spanMin, 0) / read;
  const high = minutes.reduce((most, { max }) => Math.max(most, max), -Infinity);
  const low = minutes.reduce((least, { min }) => Math.min(least, min), Infinity);
  const row = { point, atMs: dayMs, startC: null };
  return [
    { ...row, feature: 'day-level', value: level },
    { ...row, feature: 'day-swing', value: (high - low) / 2 },
  ];
}
