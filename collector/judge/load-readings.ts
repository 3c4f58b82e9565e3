import type { RawReading } from '@setwell/shared-models/score/readings';
import { togetherSaid } from '../journal/said-again.ts';
import type { Reading } from '../journal/shape.ts';
import type { ReadSpan } from './score-input.ts';

interface OfPoint {
  span: ReadSpan;
  /** Scored, by time. */
  rows: RawReading[];
  /** Kept and not scored, by time: a better copy of it may still come. */
  aside: Map<number, Reading>;
  /** Times for which there are two values. */
  conflicts: Set<number>;
  /** The device's number of each, by its time; null where it has none. */
  numbers: Map<number, number | null>;
}

/** More reports that may be missing than this, and nothing is claimed of the time between reports. */
const mostHoles = 200;

/**
 * The readings of one load as a set, in memory, fed batch by batch. What comes twice counts once, as
 * both copies say together; two values for one time take each other out, whichever came first (spec:
 * the result does not hang on the order of arrival).
 */
export class LoadReadings {
  readonly #byPoint = new Map<string, OfPoint>();

  constructor(spans: ReadonlyMap<string, ReadSpan>) {
    for (const [point, span] of spans) {
      this.#byPoint.set(point, {
        span,
        rows: [],
        aside: new Map(),
        conflicts: new Set(),
        numbers: new Map(),
      });
    }
  }

  add(reading: Reading): void {
    const own = this.#byPoint.get(reading.point);
    if (!own || own.conflicts.has(reading.t)) return;
    if (reading.t < own.span.fromMs || reading.t > own.span.toMs) return;
    const { t: tMs, v: value } = reading;
    own.numbers.set(tMs, reading.deviceSeq ?? own.numbers.get(tMs) ?? null);
    const place = placeOf(own.rows, tMs);
    const scored = own.rows[place]?.tMs === tMs ? own.rows[place] : undefined;
    const aside = own.aside.get(tMs);
    const known = scored?.value ?? aside?.v;
    if (known !== undefined && known !== value) {
      own.conflicts.add(tMs);
      own.aside.delete(tMs);
      if (scored) own.rows.splice(place, 1);
      return;
    }
    // Of a scored one nothing is kept but that it is good.
    const before = aside ?? (scored ? { ...reading, ...asScored } : reading);
    const together = togetherSaid(before, reading);
    if (isScored(together)) {
      own.aside.delete(tMs);
      if (!scored) own.rows.splice(place, 0, { point: reading.point, tMs, value });
    } else {
      own.aside.set(tMs, together);
      if (scored) own.rows.splice(place, 1);
    }
  }

  /** Two values are known for a time already: whatever else comes for it changes nothing. */
  conflict(point: string, tMs: number): void {
    this.#byPoint.get(point)?.conflicts.add(tMs);
  }

  /**
   * Scored readings next to each other whose numbers are not: another may have come between them. Null
   * where the device does not number, or too much is missing to be listed.
   *
   * @param untilMs what follows a reading after it is nobody's business
   */
  holes(point: string, untilMs: number): [afterMs: number, beforeMs: number][] | null {
    const own = this.#byPoint.get(point);
    if (own === undefined || own.rows.every(({ tMs }) => isUnnumbered(own, tMs))) return null;
    const holes: [number, number][] = [];
    let before: RawReading | null = null;
    for (const row of own.rows) {
      if (before !== null && before.tMs > untilMs) break;
      const from = before === null ? null : (own.numbers.get(before.tMs) ?? null);
      const to = own.numbers.get(row.tMs) ?? null;
      const follows = from !== null && to === from + 1;
      if (before !== null && !follows) holes.push([before.tMs, row.tMs]);
      before = row;
    }
    return holes.length > mostHoles ? null : holes;
  }

  of(point: string): readonly RawReading[] {
    return this.#byPoint.get(point)?.rows ?? [];
  }

  /** All, sorted by point and time. */
  all(): RawReading[] {
    return [...this.#byPoint.keys()].sort().flatMap((point) => [...this.of(point)]);
  }
}

function isUnnumbered({ numbers }: OfPoint, tMs: number): boolean {
  return (numbers.get(tMs) ?? null) === null;
}

const asScored = { quality: 'good', ahead: false } as const;

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
