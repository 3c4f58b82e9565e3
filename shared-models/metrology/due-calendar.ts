import { dateOfDay, dayOfDate } from './calendar-day.ts';

/** What vouches for the instrument at a point, and until when. */
export interface DueCalibration {
  point: string;
  station: string | null;
  instrument: string;
  certificate: string;
  /** Such as 2026-03-14. */
  due: string;
  /** Until then; below 0 once it is over. */
  daysLeft: number;
}

/** A line of a walking list. */
export interface PlannedCalibration extends DueCalibration {
  /** The day to do it by, such as 2026-03-07: never after `due` while that is ahead. */
  by: string;
}

/** Longest line of a calendar [octets], without its end. @source RFC 5545, 3.1 */
const LINE_OCTETS = 75;

/** A calendar must have a component, also where nothing is due. @source RFC 5545, 3.6 and 3.6.5 */
const UTC = [
  'BEGIN:VTIMEZONE',
  'TZID:UTC',
  'BEGIN:STANDARD',
  'DTSTART:19700101T000000',
  'TZOFFSETFROM:+0000',
  'TZOFFSETTO:+0000',
  'END:STANDARD',
  'END:VTIMEZONE',
];

/**
 * Calibrations as a calendar, one day-long event each, with a word a week before.
 *
 * @param stampedAt such as 20260302T084000Z
 * @source RFC 5545, 3.4, 3.6.1, 3.6.6, 3.8
 */
export function dueCalendar(
  site: string,
  due: readonly PlannedCalibration[],
  stampedAt: string,
): string {
  const lines = [
    'BEGIN:VCALENDAR',
    'VERSION:2.0',
    'PRODID:-//setwell//calibrations due//EN',
    ...(due.length === 0 ? UTC : []),
    ...due.flatMap(({ point, station, instrument, certificate, due: date, by }) => [
      'BEGIN:VEVENT',
      `UID:${escaped(`${instrument}.${certificate}`)}@${site}.setwell`,
      `DTSTAMP:${stampedAt}`,
      `DTSTART;VALUE=DATE:${by.replaceAll('-', '')}`,
      `SUMMARY:${escaped(`Calibration due: ${instrument} at ${point}`)}`,
      `LOCATION:${escaped(station ?? '')}`,
      `DESCRIPTION:${escaped(`Certificate ${certificate} ends on ${date}.`)}`,
      'TRANSP:TRANSPARENT',
      'BEGIN:VALARM',
      'ACTION:DISPLAY',
      `DESCRIPTION:${escaped(`${instrument} at ${point} is due in a week`)}`,
      'TRIGGER:-P7D',
      'END:VALARM',
      'END:VEVENT',
    ]),
    'END:VCALENDAR',
  ];
  return lines.map((line) => `${folded(line)}\r\n`).join('');
}

/** @source RFC 5545, 3.3.11 */
function escaped(text: string): string {
  return text.replace(/[\\;,]/g, (sign) => `\\${sign}`).replace(/\r?\n/g, '\\n');
}

/** Long lines go on in the next, behind a space; never in the middle of a sign. @source RFC 5545, 3.1 */
function folded(line: string): string {
  const parts: string[] = [];
  let part = '';
  let octets = 0;
  for (const sign of line) {
    const own = octetsOf(sign);
    if (octets + own > LINE_OCTETS) {
      parts.push(part);
      part = ' ';
      octets = 1;
    }
    part += sign;
    octets += own;
  }
  return [...parts, part].join('\r\n');
}

function octetsOf(sign: string): number {
  const code = sign.codePointAt(0) ?? 0;
  if (code < 0x80) return 1;
  if (code < 0x800) return 2;
  return code < 0x10000 ? 3 : 4;
}

/** Instruments of one station that are out in one week at most: common practice, no source. */
const MOST_A_WEEK = 2;

/**
 * What is to be done within so many days, by station, then by day: the way somebody walks.
 *
 * Where more of a station's instruments are due in one week than it can spare, the surplus comes a week
 * earlier, and so on, but never before today.
 */
export function walkingList(
  all: readonly DueCalibration[],
  withinDays: number,
): PlannedCalibration[] {
  const word = (text: string | null) => text ?? '';
  return staggered(all)
    .filter(({ by, due, daysLeft }) => daysLeft - (dayOfDate(due) - dayOfDate(by)) <= withinDays)
    .sort((a, b) => {
      if (word(a.station) !== word(b.station)) return word(a.station) < word(b.station) ? -1 : 1;
      if (a.by !== b.by) return a.by < b.by ? -1 : 1;
      return a.point < b.point ? -1 : 1;
    });
}

/** From the last one due on backwards, so that each is done as late as its certificate lets it be. */
function staggered(all: readonly DueCalibration[]): PlannedCalibration[] {
  const taken = new Map<string, number>();
  const latestFirst = [...all].sort((a, b) => {
    if (a.due !== b.due) return a.due < b.due ? 1 : -1;
    return a.point < b.point ? -1 : 1;
  });
  return latestFirst.map((each) => {
    const dueDay = dayOfDate(each.due);
    const today = dueDay - each.daysLeft;
    const weekOf = (day: number) => `${String(each.station)} ${String(Math.floor(day / 7))}`;
    let day = Math.max(dueDay, today);
    while (day - 7 >= today && (taken.get(weekOf(day)) ?? 0) >= MOST_A_WEEK) day -= 7;
    taken.set(weekOf(day), (taken.get(weekOf(day)) ?? 0) + 1);
    return { ...each, by: dateOfDay(day) };
  });
}
