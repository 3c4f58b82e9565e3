import type { ReadingSeries } from '@setwell/shared-models/api/collector';
import type { JournalReader } from '../journal/shape.ts';

type Step = ReadingSeries['steps'][number];

const minuteMs = 60_000;

/**
 * A point's readings in equal steps: least, greatest, mean of each; null where nothing was read.
 *
 * Steps of a minute and more come from the minute roll-up, so that a month costs no more than a day.
 */
export function readingSeries(
  journal: JournalReader,
  point: string,
  fromMs: number,
  toMs: number,
  points: number,
): ReadingSeries {
  const stepMs = Math.max(1, Math.ceil((toMs - fromMs) / points));
  const steps = new Map<number, { min: number; max: number; sum: number; count: number }>();
  const add = (t: number, min: number, max: number, sum: number, count: number) => {
    const place = Math.floor((t - fromMs) / stepMs);
    const step = steps.get(place);
    if (!step) {
      steps.set(place, { min, max, sum, count });
      return;
    }
    step.min = Math.min(step.min, min);
    step.max = Math.max(step.max, max);
    step.sum += sum;
    step.count += count;
  };
  if (stepMs >= minuteMs) {
    for (const { t, min, max, mean, count } of journal.minutesInSteps(
      point,
      fromMs,
      toMs,
      stepMs,
    )) {
      add(t, min, max, mean * count, count);
    }
  } else {
    for (const { t, v } of journal.readings(point, fromMs, toMs).readings) add(t, v, v, v, 1);
  }
  const last = Math.floor((toMs - fromMs) / stepMs);
  return {
    point,
    fromMs,
    toMs,
    steps: Array.from({ length: last + 1 }, (_, place): Step => {
      const step = steps.get(place);
      const t = fromMs + place * stepMs;
      if (!step) return { t, min: null, max: null, mean: null };
      return { t, min: step.min, max: step.max, mean: step.sum / step.count };
    }),
  };
}
