/** A calibration that is due, as a line of a walking list. */
export interface DueCalibration {
  point: string;
  station: string | null;
  instrument: string;
  certificate: string;
  /** Such as 2026-03-14. */
  due: string;
}

/** Longest line of a calendar [octets], without its end. @source RFC 5545, 3.1 */
const LINE_OCTETS = 75;

/**
 * Calibrations that are due as a calendar, one day-long event each, with a word a week before.
 *
 * @param stampedAt such as 20260302T084000Z
 * @source RFC 5545, 3.4, 3.6.1, 3.6.6, 3.8
 */
export function dueCalendar(
  site: string,
  due: readonly DueCalibration[],
  stampedAt: string,
): string {
  const lines = [
    'BEGIN:VCALENDAR',
    'VERSION:2.0',
    'PRODID:-//setwell//calibrations due//EN',
    ...due.flatMap(({ point, station, instrument, certificate, due: date }) => [
      'BEGIN:VEVENT',
      `UID:${escaped(`${instrument}.${certificate}`)}@${site}.setwell`,
      `DTSTAMP:${stampedAt}`,
      `DTSTART;VALUE=DATE:${date.replaceAll('-', '')}`,
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

/** Due within so many days or over, by station, then by day: the way somebody walks. */
export function walkingList(
  all: readonly (DueCalibration & { daysLeft: number })[],
  withinDays: number,
): (DueCalibration & { daysLeft: number })[] {
  const word = (text: string | null) => text ?? '';
  return all
    .filter(({ daysLeft }) => daysLeft <= withinDays)
    .sort((a, b) => {
      if (word(a.station) !== word(b.station)) return word(a.station) < word(b.station) ? -1 : 1;
      if (a.due !== b.due) return a.due < b.due ? -1 : 1;
      return a.point < b.point ? -1 : 1;
    });
}
