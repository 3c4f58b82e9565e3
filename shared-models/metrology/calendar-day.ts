const MS_PER_DAY = 86_400_000;

/** A year of drift [d]: the mean of the Julian calendar. */
const DAYS_PER_YEAR = 365.25;

/** Days since 1970-01-01 at an instant, in UTC. A certificate's day ends there, wherever the plant is. */
export function dayOfMs(atMs: number): number {
  return Math.floor(atMs / MS_PER_DAY);
}

/**
 * Days since 1970-01-01 of a date in the Gregorian calendar.
 *
 * @param date such as 2026-01-12
 * @throws RangeError for anything else: the file's parser has let no other date through
 * @source H. Hinnant, "chrono-Compatible Low-Level Date Algorithms", days_from_civil (public domain)
 */
export function dayOfDate(date: string): number {
  const parts = /^(\d{4})-(\d\d)-(\d\d)$/.exec(date);
  if (parts === null) throw new RangeError(`no date such as 2026-01-12: ${date}`);
  const month = Number(parts[2]);
  // Years begin in March, so that the leap day is a year's last.
  const year = Number(parts[1]) - (month <= 2 ? 1 : 0);
  const era = Math.floor(year / 400);
  const yearOfEra = year - era * 400;
  const dayOfYear =
    Math.floor((153 * (month + (month > 2 ? -3 : 9)) + 2) / 5) + Number(parts[3]) - 1;
  const dayOfEra =
    yearOfEra * 365 + Math.floor(yearOfEra / 4) - Math.floor(yearOfEra / 100) + dayOfYear;
  return era * 146_097 + dayOfEra - 719_468;
}

/**
 * The date of a day.
 *
 * @param day since 1970-01-01
 * @returns such as 2026-01-12
 * @source H. Hinnant, "chrono-Compatible Low-Level Date Algorithms", civil_from_days (public domain)
 */
export function dateOfDay(day: number): string {
  const shifted = day + 719_468;
  const era = Math.floor(shifted / 146_097);
  const dayOfEra = shifted - era * 146_097;
  const yearOfEra = Math.floor(
    (dayOfEra -
      Math.floor(dayOfEra / 1460) +
      Math.floor(dayOfEra / 36_524) -
      Math.floor(dayOfEra / 146_096)) /
      365,
  );
  const dayOfYear =
    dayOfEra - (365 * yearOfEra + Math.floor(yearOfEra / 4) - Math.floor(yearOfEra / 100));
  const monthFromMarch = Math.floor((5 * dayOfYear + 2) / 153);
  const month = monthFromMarch + (monthFromMarch < 10 ? 3 : -9);
  const dayOfMonth = dayOfYear - Math.floor((153 * monthFromMarch + 2) / 5) + 1;
  const year = yearOfEra + era * 400 + (month <= 2 ? 1 : 0);
  const two = (value: number) => String(value).padStart(2, '0');
  return `${String(year).padStart(4, '0')}-${two(month)}-${two(dayOfMonth)}`;
}

export function yearsOfDays(days: number): number {
  return days / DAYS_PER_YEAR;
}
