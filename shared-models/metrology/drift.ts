import type { Calibration } from '../plant/plant-schema.ts';
import { dayOfDate, yearsOfDays } from './calendar-day.ts';
import { correctionK } from './calibration.ts';

/** How an instrument had changed since a calibration when it came back for the next, before adjustment. */
export interface AsFoundChange {
  certificate: string;
  atC: number;
  /** Correction as found, less the one that had counted until then. */
  changeK: number;
  years: number;
}

/**
 * What became of an instrument between its calibrations: every as-found row against the calibration
 * before it, where that one covers the temperature.
 *
 * @param calibrations in any order
 */
export function asFoundChanges(calibrations: readonly Calibration[]): AsFoundChange[] {
  const byDate = [...calibrations].sort((a, b) => dayOfDate(a.date) - dayOfDate(b.date));
  return byDate.slice(1).flatMap((next, i) => {
    const before = byDate[i]!;
    const years = yearsOfDays(dayOfDate(next.date) - dayOfDate(before.date));
    return (next.asFound ?? []).flatMap(({ atC, correctionK: foundK }) => {
      const countedK = correctionK(before.points, atC);
      if (countedK === null || years === 0) return [];
      return [{ certificate: next.certificate, atC, changeK: foundK - countedK, years }];
    });
  });
}

/** The fastest an instrument has been seen to drift [K a year]; null where no as-found row tells. */
export function ownDriftKPerYear(calibrations: readonly Calibration[]): number | null {
  const changes = asFoundChanges(calibrations);
  if (changes.length === 0) return null;
  return changes.reduce((most, { changeK, years }) => Math.max(most, Math.abs(changeK) / years), 0);
}

export type DueState =
  | { state: 'in-date'; daysLeft: number }
  /** Used on, with a doubt that grows. */
  | { state: 'overdue'; daysOver: number }
  /** Longer overdue than the plant allows: its readings prove nothing. */
  | { state: 'grace-over'; daysOver: number };

/** @param graceDays days after the due date on which readings still count, ≥ 0 */
export function dueState(calibration: Calibration, day: number, graceDays: number): DueState {
  const daysLeft = dayOfDate(calibration.due) - day;
  if (daysLeft >= 0) return { state: 'in-date', daysLeft };
  const daysOver = -daysLeft;
  return { state: daysOver <= graceDays ? 'overdue' : 'grace-over', daysOver };
}

/**
 * How far an instrument may have drifted from its calibration, a half-width [K].
 *
 * With its own drift known: that, since the day of calibration. Else nothing while in date, since the
 * interval was chosen for that, and the tolerance of its class for each year overdue.
 *
 * @param classToleranceK of the element at the temperature; null where none is known
 * @returns null where it is overdue and nothing bounds its drift
 */
export function driftHalfWidthK(
  calibration: Calibration,
  day: number,
  ownKPerYear: number | null,
  classToleranceK: number | null,
): number | null {
  if (ownKPerYear !== null) {
    return ownKPerYear * yearsOfDays(Math.max(0, day - dayOfDate(calibration.date)));
  }
  const yearsOver = yearsOfDays(Math.max(0, day - dayOfDate(calibration.due)));
  if (yearsOver === 0) return 0;
  return classToleranceK === null ? null : classToleranceK * yearsOver;
}
