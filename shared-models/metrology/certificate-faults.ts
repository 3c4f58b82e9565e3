import type { Calibration } from '../plant/plant-schema.ts';
import { dayOfDate } from './calendar-day.ts';

/** What makes a certificate unusable, or an instrument's certificates contradict each other. */
export interface CertificateFault {
  code: 'one-point' | 'points-out-of-order' | 'due-before-date' | 'same-date-twice';
  certificate: string;
  /** Path of the key inside the calibrations, such as `[1].points[2].atC`. */
  field: string;
  found: string;
  expected: string;
}

/**
 * Faults of an instrument's certificates that their shape alone does not show.
 *
 * Certificates that overlap in time are no fault: the newer counts. Two of one day are, since nothing
 * says which counts.
 */
export function certificateFaults(calibrations: readonly Calibration[]): CertificateFault[] {
  return calibrations.flatMap((calibration, i) => {
    const { certificate, date, due, points } = calibration;
    const fault = (
      code: CertificateFault['code'],
      field: string,
      found: string,
      expected: string,
    ): CertificateFault => ({ code, certificate, field: `[${i}].${field}`, found, expected });
    const faults: CertificateFault[] = [];
    if (points.length === 1) {
      const expected = 'at least 2 points: corrections count between calibrated temperatures only';
      faults.push(fault('one-point', 'points', `1 point at ${points[0]!.atC} °C`, expected));
    }
    for (let row = 1; row < points.length; row++) {
      const beforeC = points[row - 1]!.atC;
      const { atC } = points[row]!;
      if (atC > beforeC) continue;
      const found = `${atC} °C after ${beforeC} °C`;
      const expected = 'temperatures that rise from point to point';
      faults.push(fault('points-out-of-order', `points[${row}].atC`, found, expected));
    }
    if (dayOfDate(due) <= dayOfDate(date)) {
      faults.push(fault('due-before-date', 'due', due, `a day after ${date}`));
    }
    const twin = calibrations.slice(0, i).find((each) => each.date === date);
    if (twin !== undefined) {
      const found = `${date}, the date of ${twin.certificate} too`;
      faults.push(fault('same-date-twice', 'date', found, 'one certificate a day'));
    }
    return faults;
  });
}
