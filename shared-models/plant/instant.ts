import { dayOfDate } from '../metrology/calendar-day.ts';

const rfc3339 =
  /^(\d{4}-(\d\d)-(\d\d))[Tt ](\d\d):(\d\d):(\d\d)(?:\.(\d{1,9}))?(?:[Zz]|([+-])(\d\d):(\d\d))$/;

const daysOfMonth = [31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];

/**
 * Milliseconds since 1970-01-01T00:00:00Z of a date and time with its zone; parts of a millisecond
 * are cut off.
 *
 * @returns null for anything else: without a zone nobody can say which instant is meant
 * @source RFC 3339, 5.6; a leap second counts as the second after it
 */
export function instantMs(text: string): number | null {
  const parts = rfc3339.exec(text);
  if (parts === null) return null;
  const [month, day, hour, minute, second] = [2, 3, 4, 5, 6].map((i) => Number(parts[i]));
  const zoneMin = Number(parts[9] ?? 0) * 60 + Number(parts[10] ?? 0);
  const year = Number(parts[1]!.slice(0, 4));
  const isLeapYear = (year % 4 === 0 && year % 100 !== 0) || year % 400 === 0;
  const lastDay = month === 2 && !isLeapYear ? 28 : (daysOfMonth[month! - 1] ?? 0);
  if (day! < 1 || day! > lastDay || hour! > 23 || minute! > 59 || second! > 60) return null;
  if (Number(parts[9] ?? 0) > 23 || Number(parts[10] ?? 0) > 59) return null;
  const fractionMs = Number((parts[7] ?? '').padEnd(3, '0').slice(0, 3));
  const localS = dayOfDate(parts[1]!) * 86_400 + hour! * 3600 + minute! * 60 + second!;
  return (localS - (parts[8] === '-' ? -zoneMin : zoneMin) * 60) * 1000 + fractionMs;
}
