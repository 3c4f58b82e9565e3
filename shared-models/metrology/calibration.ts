import type { Calibration } from '../plant/plant-schema.ts';
import { dayOfDate } from './calendar-day.ts';
import type { Indicated } from './signal.ts';

/** One row of a certificate: add the correction to what is shown at that temperature. */
export type CorrectionPoint = Calibration['points'][number];

/**
 * A reading with its correction, or why it has none. The indication stays beside it, and a corrected
 * reading is no `Indicated`: it cannot be corrected again.
 */
export type Corrected =
  | {
      kind: 'corrected';
      indicatedC: number;
      correctionK: number;
      correctedC: number;
      /** Of the calibration alone, at k = 2. */
      expandedK: number;
      certificate: string;
    }
  | { kind: 'outside-calibration'; indicatedC: number; certificate: string }
  | { kind: 'uncalibrated'; indicatedC: number };

/**
 * The calibration that counts on a day: the newest made by then, in date or not. An instrument's
 * calibrations are versions of one another, so a newer one ends an older one whatever that one's due date.
 *
 * @param day days since 1970-01-01
 */
export function calibrationInForce(
  calibrations: readonly Calibration[],
  day: number,
): Calibration | null {
  let newest: Calibration | null = null;
  for (const each of calibrations) {
    if (dayOfDate(each.date) > day) continue;
    if (newest === null || dayOfDate(each.date) >= dayOfDate(newest.date)) newest = each;
  }
  return newest;
}

/** The two rows around a temperature and how far it lies between them [1]; null outside. */
function bracket(points: readonly CorrectionPoint[], indicatedC: number) {
  const first = points[0]!;
  const last = points[points.length - 1]!;
  if (!(indicatedC >= first.atC && indicatedC <= last.atC)) return null;
  let i = 1;
  while (i < points.length - 1 && points[i]!.atC < indicatedC) i++;
  const below = points[i - 1]!;
  const above = points[i] ?? first;
  const widthK = above.atC - below.atC;
  const share = widthK > 0 ? (indicatedC - below.atC) / widthK : 0;
  return {
    below,
    above,
    addedK: below.correctionK + share * (above.correctionK - below.correctionK),
  };
}

/**
 * Correction between the calibrated temperatures, linear; nothing beyond them [K].
 *
 * Certificates name the temperature of their reference, readings the instrument's own. The two are one
 * correction apart, which moves the interpolated correction by its slope times that: far below its doubt.
 *
 * @param points rising in atC, at least one
 * @returns null outside the calibrated range
 */
export function correctionK(points: readonly CorrectionPoint[], indicatedC: number): number | null {
  return bracket(points, indicatedC)?.addedK ?? null;
}

/** A reading as its certificate of the day corrects it. */
export function corrected({ indicatedC }: Indicated, calibration: Calibration | null): Corrected {
  if (calibration === null) return { kind: 'uncalibrated', indicatedC };
  const { certificate, points, k } = calibration;
  const at = bracket(points, indicatedC);
  if (at === null) return { kind: 'outside-calibration', indicatedC, certificate };
  return {
    kind: 'corrected',
    indicatedC,
    correctionK: at.addedK,
    correctedC: indicatedC + at.addedK,
    // Between two rows the instrument was not seen: the greater doubt of the two.
    expandedK: (2 * Math.max(at.below.expandedK, at.above.expandedK)) / k,
    certificate,
  };
}
