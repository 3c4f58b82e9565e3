import { celsiusOfSignal } from '../metrology/signal.ts';
import type { RawReading } from './readings.ts';
import type { Gap, ScoredSensor } from './shape.ts';

/** What a point is known to have read: good readings only, corrected. */
export interface PointHistory {
  timesMs: number[];
  valuesC: number[];
  doubtful: number;
  conflicts: number;
  duplicates: number;
  /** Usual time between its readings [ms]; null with fewer than two. */
  spacingMs: number | null;
}

/** A silence counts as a gap from this many usual spacings on; it names gaps, it does not price them. */
const GAP_IN_SPACINGS = 3;

/** Shorter silences are nobody's business [ms]. */
const SHORTEST_GAP_MS = 5000;

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
  sensor: ScoredSensor,
  untilMs: number,
): PointHistory {
  const history: PointHistory = {
    timesMs: [],
    valuesC: [],
    doubtful: 0,
    conflicts: 0,
    duplicates: 0,
    spacingMs: null,
  };
  for (let i = 0; i < readings.length;) {
    let next = i + 1;
    let same = true;
    while (next < readings.length && readings[next].tMs === readings[i].tMs) {
      if (readings[next].value === readings[i].value) history.duplicates += 1;
      else same = false;
      next += 1;
    }
    if (!same) history.conflicts += next - i;
    else if (readings[i].tMs <= untilMs) take(history, readings[i], sensor);
    i = next;
  }
  history.spacingMs = medianSpacing(history.timesMs);
  return history;
}

/** What the instrument shows [°C], before correction; null where the raw value is no temperature. */
function indicatedC(raw: number, { signal, conversion }: ScoredSensor): number | null {
  if (conversion !== undefined) return celsiusOfSignal(raw, conversion);
  return signal === 'celsius' ? raw : null;
}

function take(history: PointHistory, { tMs, value: raw }: RawReading, sensor: ScoredSensor): void {
  const { plausible, calibratedC } = sensor;
  const value = indicatedC(raw, sensor);
  if (value === null) {
    history.doubtful += 1;
    return;
  }
  const outside =
    value < plausible.minC ||
    value > plausible.maxC ||
    (calibratedC !== null && (value < calibratedC[0] || value > calibratedC[1]));
  const last = history.timesMs.length - 1;
  const tooSteep =
    last >= 0 &&
    Math.abs(value - rawOf(history, last, sensor)) >
      (plausible.maxRateKPerMin * (tMs - history.timesMs[last])) / 60_000 + 4 * sensor.resolutionK;
  if (outside || tooSteep) {
    history.doubtful += 1;
    return;
  }
  history.timesMs.push(tMs);
  history.valuesC.push(value + correctionK(sensor.corrections, value));
}

/** Steepness is asked of what was read, not of the corrected value. */
function rawOf(history: PointHistory, index: number, sensor: ScoredSensor): number {
  const correctedC = history.valuesC[index];
  return correctedC - correctionK(sensor.corrections, correctedC);
}

/** Linear between the certificate's rows, its end values beyond them [K]. */
function correctionK(rows: ScoredSensor['corrections'], atC: number): number {
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

function medianSpacing(timesMs: readonly number[]): number | null {
  if (timesMs.length < 2) return null;
  const spacings = timesMs.slice(1).map((t, i) => t - timesMs[i]);
  spacings.sort((a, b) => a - b);
  return spacings[Math.floor(spacings.length / 2)];
}

/** Silences of a point between two times; the last has no end while it lasts. */
export function gapsOf(
  point: string,
  { timesMs, spacingMs }: PointHistory,
  fromMs: number,
  untilMs: number,
  ended: boolean,
): Gap[] {
  const longestMs = Math.max(SHORTEST_GAP_MS, GAP_IN_SPACINGS * (spacingMs ?? 0));
  const gaps: Gap[] = [];
  let lastMs = fromMs;
  for (const t of timesMs) {
    if (t > fromMs && t - lastMs > longestMs) gaps.push({ point, fromMs: lastMs, toMs: t });
    if (t > lastMs) lastMs = t;
  }
  if (untilMs - lastMs > longestMs) {
    gaps.push({ point, fromMs: lastMs, toMs: ended ? untilMs : null });
  }
  return gaps;
}
