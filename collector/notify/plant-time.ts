import type { Plant } from '@setwell/shared-models/plant/plant';
import type { Shift } from '@setwell/shared-models/plant/tell-schema';

const dayMin = 1440;

/** Day of the week and minute of the day by the plant's clock. */
export interface PlantTime {
  day: Shift['days'][number];
  minute: number;
}

/** The plant's clock at a moment; a formatter is made once, for it is slow to make. */
export function plantTimeIn(timeZone: string): (ms: number) => PlantTime {
  const format = new Intl.DateTimeFormat('en-GB', {
    timeZone,
    weekday: 'short',
    hour: '2-digit',
    minute: '2-digit',
    hourCycle: 'h23',
  });
  return (ms) => {
    const parts = new Map(format.formatToParts(ms).map(({ type, value }) => [type, value]));
    const minute = Number(parts.get('hour')) * 60 + Number(parts.get('minute'));
    return { day: (parts.get('weekday') ?? 'Mon').toLowerCase() as PlantTime['day'], minute };
  };
}

export function minuteOfClock(text: string): number {
  return Number(text.slice(0, 2)) * 60 + Number(text.slice(3));
}

/** Whether a time of day lies in a span, which may go over midnight: its end is not in it. */
export function isWithin(minute: number, span: { from: string; to: string }): boolean {
  const from = minuteOfClock(span.from);
  const to = minuteOfClock(span.to);
  return from < to ? minute >= from && minute < to : minute >= from || minute < to;
}

const days = ['mon', 'tue', 'wed', 'thu', 'fri', 'sat', 'sun'] as const;

/** Whether a shift runs; the small hours of a night shift belong to the day it began on. */
export function shiftRuns(shift: Shift, { day, minute }: PlantTime): boolean {
  if (!isWithin(minute, shift)) return false;
  const overnight = minuteOfClock(shift.from) >= minuteOfClock(shift.to);
  const after = overnight && minute < minuteOfClock(shift.to);
  const began = after ? days[(days.indexOf(day) + 6) % 7] : day;
  return began !== undefined && shift.days.includes(began);
}

/** Minutes until a time of day comes next; a day where it is now [ms]. */
export function untilClockMs(text: string, { minute }: PlantTime): number {
  const left = (minuteOfClock(text) - minute + dayMin) % dayMin;
  return (left === 0 ? dayMin : left) * 60_000;
}

/** When the first shift after a moment begins [ms]; null where one runs then, or none is known. */
export function shiftAfterMs({ shifts = [], site }: Plant, atMs: number): number | null {
  const timeOf = plantTimeIn(site.timeZone);
  const now = timeOf(atMs);
  if (shifts.some((shift) => shiftRuns(shift, now))) return null;
  const minuteMs = Math.floor(atMs / 60_000) * 60_000;
  const starts = shifts.flatMap((shift) =>
    days.flatMap((_, day) => {
      const ms = minuteMs + untilClockMs(shift.from, now) + day * dayMin * 60_000;
      // Where the clocks are changed in between, the same time of day lies an hour off.
      const offMin = timeOf(ms).minute - minuteOfClock(shift.from);
      const startMs = ms - offMin * 60_000;
      return shiftRuns(shift, timeOf(startMs)) ? [startMs] : [];
    }),
  );
  return starts.length === 0 ? null : Math.min(...starts);
}

/** The shift that runs at a moment, or the one that ran last within a day; null where none is known. */
export function shiftNow(
  { shifts, site }: Plant,
  nowMs: number,
): { id: string; fromMs: number; toMs: number } | null {
  if (!shifts) return null;
  const timeOf = plantTimeIn(site.timeZone);
  for (let backMin = 0; backMin < dayMin; backMin += 15) {
    const atMs = nowMs - backMin * 60_000;
    const time = timeOf(atMs);
    const shift = shifts.find((each) => shiftRuns(each, time));
    if (!shift) continue;
    const from = minuteOfClock(shift.from);
    const to = minuteOfClock(shift.to);
    const sinceMin = (time.minute - from + dayMin) % dayMin;
    const fromMs = Math.floor(atMs / 60_000) * 60_000 - sinceMin * 60_000;
    const lastsMin = (to - from + dayMin) % dayMin || dayMin;
    return { id: shift.id, fromMs, toMs: fromMs + lastsMin * 60_000 };
  }
  return null;
}
