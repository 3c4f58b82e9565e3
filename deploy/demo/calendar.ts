/** The demo works' own calendar: Europe/Copenhagen, two shifts, Monday to Friday. */

export const minuteMs = 60_000;
export const hourMs = 3_600_000;
export const dayMs = 86_400_000;

const clockOnTheWall = new Intl.DateTimeFormat('en-GB', {
  timeZone: 'Europe/Copenhagen',
  hourCycle: 'h23',
  year: 'numeric',
  month: '2-digit',
  day: '2-digit',
  hour: '2-digit',
  minute: '2-digit',
});

/** The first working day the demo knows: a Friday. Days are counted from here. */
const firstDay = Date.UTC(2026, 1, 27) / dayMs;

/** Where the demo's clock begins: Monday 2 March 2026, 09:40. */
export const demoStartMs = Date.parse('2026-03-02T09:40:00+01:00');

/** Number of a day, local; 0 is the first one. */
export function dayOf(ms: number): number {
  return Math.floor((ms + offsetMs(ms)) / dayMs) - firstDay;
}

/** The instant at which the clock on the wall shows `hours` on a day, counted by that day's midnight. */
export function atClock(day: number, hours: number): number {
  const local = (firstDay + day) * dayMs + hours * hourMs;
  return local - offsetMs(local - offsetMs(local));
}

/** Hours since local midnight. */
export function hourOf(ms: number): number {
  return (ms - atClock(dayOf(ms), 0)) / hourMs;
}

/** 0 is Monday. */
export function weekdayOf(day: number): number {
  return (((day + 4) % 7) + 7) % 7;
}

export function isWorkingDay(day: number): boolean {
  return weekdayOf(day) < 5;
}

/** How many working days lie between the first one and this; the first one is 0. */
export function workingDayNumber(day: number): number {
  const weeks = Math.floor((day + 4) / 7);
  return weeks * 5 + Math.min(weekdayOf(day), 5) - 4;
}

/** By hour since the epoch: local time changes on the hour at most, and asking costs 10 µs. */
const offsets = new Map<number, number>();
/** A year of hours; a demo that runs for longer asks again. */
const mostOffsets = 8760;

/** Local time less UTC. */
function offsetMs(ms: number): number {
  const hour = Math.floor(ms / hourMs);
  const known = offsets.get(hour);
  if (known !== undefined) return known;
  const at = new Map(
    clockOnTheWall.formatToParts(hour * hourMs).map(({ type, value }) => [type, Number(value)]),
  );
  const part = (name: Intl.DateTimeFormatPartTypes): number => at.get(name) ?? 0;
  const local = Date.UTC(
    part('year'),
    part('month') - 1,
    part('day'),
    part('hour'),
    part('minute'),
  );
  if (offsets.size >= mostOffsets) offsets.clear();
  offsets.set(hour, local - hour * hourMs);
  return local - hour * hourMs;
}

/** Where the demo's records begin: late on Friday, just before a lot goes into the store. */
export const firstRecordMs = atClock(0, 20.9);
