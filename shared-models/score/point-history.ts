import { celsiusOfSignal } from '../metrology/signal.ts';
import { spansOf, type FittedSpan } from './fitted-span.ts';
import type { RawReading } from './readings.ts';
import type { FittedSensor, Gap, OnChange, ScoredSensor, ScoredSignal } from './shape.ts';

/** A silence counts as a gap from this many usual spacings on; it names gaps, it does not price them. */
const GAP_IN_SPACINGS = 3;

/** A heartbeat is missed when it is late by half of its time. */
const HEARTBEAT_IN_TIME = 1.5;

/** Shorter silences are nobody's business [ms]. */
const SHORTEST_GAP_MS = 5000;

/** The first spacings tell what is usual; more would only make each verdict dearer. */
const SPACINGS_ASKED = 99;

/** What a point is known to have read: good readings only, corrected. */
export class PointHistory {
  readonly timesMs: number[] = [];
  /** Of a point that measures no temperature: in its signal's unit. */
  readonly valuesC: number[] = [];
  /** Whether each was the very next to come after the one before it. */
  readonly isNext: boolean[] = [];
  doubtful = 0;
  conflicts = 0;
  duplicates = 0;
  /** Null: it measures temperature. */
  private readonly signal: ScoredSignal | null;
  private readonly spans: FittedSpan[];
  private readonly doubted: NonNullable<ScoredSensor['doubted']>;
  private span = 0;
  /** Something that does not count came since the last one that does. */
  private isBroken = false;
  private lastIndicatedC = NaN;
  private usualMs: number | null = null;

  constructor(sensor: ScoredSensor | ScoredSignal) {
    const isSignal = 'expanded' in sensor;
    this.signal = isSignal ? sensor : null;
    this.spans = isSignal ? [] : spansOf(sensor);
    this.doubted = isSignal ? [] : (sensor.doubted ?? []);
  }

  /** Usual time between its readings [ms]; null with fewer than two. */
  get spacingMs(): number | null {
    const spacings = Math.min(this.timesMs.length - 1, SPACINGS_ASKED);
    if (spacings < 1) return null;
    if (this.usualMs !== null) return this.usualMs;
    const sorted = Array.from(
      { length: spacings },
      (_, i) => this.timesMs[i + 1] - this.timesMs[i],
    );
    sorted.sort((a, b) => a - b);
    const median = sorted[Math.floor(spacings / 2)];
    if (spacings === SPACINGS_ASKED) this.usualMs = median;
    return median;
  }

  /** Takes the only value there is for a time later than all before; a doubtful one is counted out. */
  take(tMs: number, raw: number): void {
    if (this.signal !== null) {
      this.takeSignal(tMs, raw, this.signal);
      return;
    }
    while (tMs >= this.spans[this.span].toMs) {
      this.span += 1;
      // Two instruments are a correction apart: the step between them is no rate of the plate.
      this.lastIndicatedC = NaN;
      this.isBroken = true;
    }
    const { sensor } = this.spans[this.span];
    const shownC = sensor === null || this.isDoubted(tMs) ? null : indicatedC(raw, sensor);
    if (sensor === null || shownC === null || !this.isBelievable(tMs, shownC, sensor)) {
      this.doubtful += 1;
      this.isBroken = true;
      return;
    }
    this.isNext.push(!this.isBroken);
    this.isBroken = false;
    this.timesMs.push(tMs);
    this.valuesC.push(shownC + correctionK(sensor.corrections, shownC));
    this.lastIndicatedC = shownC;
  }

  /** Two values came for one time: neither counts. */
  conflict(values: number): void {
    this.conflicts += values;
    this.isBroken = true;
  }

  private takeSignal(tMs: number, value: number, { plausible }: ScoredSignal): void {
    if (value < plausible.min || value > plausible.max) {
      this.doubtful += 1;
      return;
    }
    this.timesMs.push(tMs);
    this.valuesC.push(value);
  }

  private isDoubted(tMs: number): boolean {
    return this.doubted.some(({ fromMs, toMs }) => tMs >= fromMs && (toMs === null || tMs <= toMs));
  }

  private isBelievable(tMs: number, shownC: number, sensor: FittedSensor): boolean {
    const { plausible, calibratedC, resolutionK } = sensor;
    if (sensor.unproven !== undefined) return false;
    if (shownC < plausible.minC || shownC > plausible.maxC) return false;
    if (calibratedC !== null && (shownC < calibratedC[0] || shownC > calibratedC[1])) return false;
    const last = this.timesMs.length - 1;
    if (last < 0 || Number.isNaN(this.lastIndicatedC)) return true;
    const mostK =
      (plausible.maxRateKPerMin * (tMs - this.timesMs[last])) / 60_000 + 4 * resolutionK;
    return Math.abs(shownC - this.lastIndicatedC) <= mostK;
  }
}

/**
 * Sorts a point's readings into what may be scored and what may not.
 *
 * Readings are a set: the same time with the same value counts once, with another value neither
 * counts, so that a result does not hang on who came first.
 *
 * @param readings of one point, sorted by time
 */
export function pointHistory(
  readings: readonly RawReading[],
  sensor: ScoredSensor | ScoredSignal,
  untilMs: number,
): PointHistory {
  const history = new PointHistory(sensor);
  for (let i = 0; i < readings.length;) {
    const { tMs, value } = readings[i];
    let next = i + 1;
    let same = true;
    while (next < readings.length && readings[next].tMs === tMs) {
      if (readings[next].value !== value) same = false;
      next += 1;
    }
    if (same) history.duplicates += next - i - 1;
    else history.conflict(next - i);
    if (same && tMs <= untilMs) history.take(tMs, value);
    i = next;
  }
  return history;
}

/** What the instrument shows [°C], before correction; null where the raw value is no temperature. */
function indicatedC(raw: number, { signal, conversion }: FittedSensor): number | null {
  if (conversion !== undefined) return celsiusOfSignal(raw, conversion);
  return signal === 'celsius' ? raw : null;
}

/** Linear between the certificate's rows, its end values beyond them [K]. */
function correctionK(rows: FittedSensor['corrections'], atC: number): number {
  if (rows.length === 0) return 0;
  if (atC <= rows[0].atC) return rows[0].correctionK;
  for (let i = 1; i < rows.length; i += 1) {
    const from = rows[i - 1];
    const to = rows[i];
    if (atC <= to.atC) {
      const share = (atC - from.atC) / (to.atC - from.atC);
      return from.correctionK + share * (to.correctionK - from.correctionK);
    }
  }
  return rows[rows.length - 1].correctionK;
}

/** Longest time from a report to the next while the heartbeat lives [ms]; 0 of a point on its own clock. */
export function heartbeatInTimeMs(onChange: OnChange | undefined): number {
  return onChange === undefined ? 0 : HEARTBEAT_IN_TIME * onChange.heartbeatMs;
}

/**
 * Silences of a point between two times; the last has no end while it lasts.
 *
 * @param aliveMs so long a point that reports on change may be silent and well [ms]
 */
export function gapsOf(
  point: string,
  { timesMs, spacingMs }: PointHistory,
  [fromMs, untilMs]: [number, number],
  ended: boolean,
  aliveMs = 0,
): Gap[] {
  const longestMs = Math.max(SHORTEST_GAP_MS, GAP_IN_SPACINGS * (spacingMs ?? 0), aliveMs);
  const gaps: Gap[] = [];
  let lastMs = fromMs;
  for (const t of timesMs) {
    if (t > untilMs) break;
    if (t > fromMs && t - lastMs > longestMs) gaps.push({ point, fromMs: lastMs, toMs: t });
    if (t > lastMs) lastMs = t;
  }
  if (untilMs - lastMs > longestMs) {
    gaps.push({ point, fromMs: lastMs, toMs: ended ? untilMs : null });
  }
  return gaps;
}
