import { minuteOf } from './reading-index.ts';
import type { Minute } from './shape.ts';

/**
 * The minutes in readings, by time: the same to the bit as the database rolls them up.
 *
 * @param readings by time
 * @source Neumaier's sum, as SQLite's `sum()` adds since 3.43: A. Neumaier, ZAMM 54 (1974) 39–51 (from memory)
 */
export function rolledUp(readings: Iterable<{ t: number; v: number }>): Minute[] {
  const minutes: Minute[] = [];
  let lost = 0;
  let sum = 0;
  for (const { t, v } of readings) {
    const start = minuteOf(t);
    let minute = minutes.at(-1);
    if (minute?.t !== start) {
      minute = { t: start, min: v, max: v, mean: v, count: 0 };
      minutes.push(minute);
      sum = 0;
      lost = 0;
    }
    const next = sum + v;
    lost += Math.abs(sum) > Math.abs(v) ? sum - next + v : v - next + sum;
    sum = next;
    minute.min = Math.min(minute.min, v);
    minute.max = Math.max(minute.max, v);
    minute.count += 1;
    minute.mean = (sum + lost) / minute.count;
  }
  return minutes;
}
