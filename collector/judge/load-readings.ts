import type { RawReading } from '@setwell/shared-models/score/readings';
import type { Reading } from '../journal/shape.ts';

/**
 * The readings of one load as a set, in memory, fed batch by batch. What comes twice counts once; two
 * values for one time take each other out, whichever came first (spec: the result does not hang on
 * the order of arrival).
 */
export class LoadReadings {
  readonly #byPoint = new Map<string, { rows: RawReading[]; conflicts: Set<number> }>();
  readonly #fromMs: number;

  constructor(points: string[], fromMs: number) {
    for (const point of points) this.#byPoint.set(point, { rows: [], conflicts: new Set() });
    this.#fromMs = fromMs;
  }

  add(reading: Reading): void {
    const own = this.#byPoint.get(reading.point);
    if (!own || reading.t < this.#fromMs || !isScored(reading)) return;
    const { point, t: tMs, v: value } = reading;
    if (own.conflicts.has(tMs)) return;
    const place = placeOf(own.rows, tMs);
    const there = own.rows[place];
    if (there?.tMs !== tMs) {
      own.rows.splice(place, 0, { point, tMs, value });
      return;
    }
    if (there.value === value) return;
    own.conflicts.add(tMs);
    own.rows.splice(place, 1);
  }

  of(point: string): readonly RawReading[] {
    return this.#byPoint.get(point)?.rows ?? [];
  }

  /** All, sorted by point and time. */
  all(): RawReading[] {
    return [...this.#byPoint.keys()].sort().flatMap((point) => [...this.of(point)]);
  }
}

/** Whether a reading takes part in a verdict. The others are kept, and count as a gap. */
export function isScored(reading: Reading): boolean {
  return !reading.ahead && (reading.quality === 'good' || reading.quality === 'late');
}

/** First place whose time is not before `t`; nearly always the end. */
function placeOf(rows: RawReading[], t: number): number {
  let low = 0;
  let high = rows.length;
  if (high > 0 && (rows[high - 1]?.tMs ?? 0) < t) return high;
  while (low < high) {
    const middle = (low + high) >> 1;
    if ((rows[middle]?.tMs ?? 0) < t) low = middle + 1;
    else high = middle;
  }
  return low;
}
