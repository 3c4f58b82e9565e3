import { dateOfDay, dayOfDate } from '@setwell/shared-models/metrology/calendar-day';
import { CommandProblem } from '../problem.ts';

/**
 * Reader of an option's date, for commander: days since 1970-01-01.
 *
 * @param flag as written on the command line: `--date`
 */
export function dateOption(flag: string): (written: string) => number {
  return (written) => {
    const day = /^\d{4}-\d\d-\d\d$/.test(written) ? dayOfDate(written) : NaN;
    // The 30th of February would be another day.
    if (Number.isFinite(day) && dateOfDay(day) === written) return day;
    throw new CommandProblem({
      code: 'no-date',
      field: flag,
      found: JSON.stringify(written.slice(0, 60)),
      expected: 'a date such as 2026-03-02',
    });
  };
}
