import type { Between, ColdCharge, FoundBy } from '../condition/closing.ts';
import type { CallRaised } from '../record/bodies.ts';
import type { Wish } from './wish.ts';

/** A closing as it is held against what was said. */
export interface FoundClosing {
  /** What it is called by, whatever else is heard of it. */
  foundMs: number;
  start: Between;
  /** Null: it lasts, or nothing tells. */
  end: Between | null;
  foundBy: FoundBy;
  charge: ColdCharge;
  /** Found while its station was taken out, or said by a person to have held nothing. */
  setAside: boolean;
}

/** A load as it names a closing: when it began, and when it ended or null. */
export interface NamingLoad {
  startMs: number;
  endMs: number | null;
  /** The closing whose clock it was given; null: its own event's. */
  closingMs: number | null;
}

/** A load is put in so long before its closing at most [ms]. */
const leadMs = 10 * 60_000;
/** The first closing that is known may have been named so long before [ms]. */
const firstLeadMs = 60 * 60_000;
/** Of a closing whose end nobody knows, the newest one is named at most so long after it began [ms]. */
const lateMs = 60 * 60_000;
/** Where nothing tells the end of a closing, it has lasted for so long at least [ms]. */
const leastClosedMs = 60_000;

/**
 * What somebody is called for by closings that nobody has named: readings find them, events only name
 * them.
 *
 * A load names the closing it began in, or the next one where the station was open then. A closing without
 * a cold charge while a load is in is that load's: the press has breathed, or was opened by hand. One on
 * cold plates heats them up and asks nobody.
 *
 * @param closings of one station, by their start
 */
export function callsOfClosings(
  station: string,
  closings: readonly FoundClosing[],
  loads: readonly NamingLoad[],
): Wish[] {
  const named = namedBy(closings, loads);
  return closings.map((closing): Wish => {
    const { start, end, foundBy, charge, setAside, foundMs } = closing;
    const values: CallRaised['values'] = {
      foundMs,
      foundBy,
      charge,
      startEarliestMs: Math.round(start.earliestMs),
      startLatestMs: Math.round(start.latestMs),
      endEarliestMs: end === null ? null : Math.round(end.earliestMs),
      endLatestMs: end === null ? null : Math.round(end.latestMs),
    };
    return {
      kind: 'closing-unnamed',
      subject: closingSubject(station, foundMs),
      plannedMs: null,
      about: { station },
      present: setAside || named.has(closing) ? false : isCharged(charge),
      raised: { station, load: null, point: null, tooLateMs: null, values },
    };
  });
}

export function closingSubject(station: string, foundMs: number): string {
  return `${station}.${String(foundMs)}`;
}

/** Whether something was put in; null: it cannot be told yet. */
function isCharged(charge: ColdCharge): boolean | null {
  if (charge === 'not-yet') return null;
  return charge !== 'plates-cold';
}

function namedBy(
  closings: readonly FoundClosing[],
  loads: readonly NamingLoad[],
): ReadonlySet<FoundClosing> {
  const named = new Set<FoundClosing>();
  for (const load of loads) {
    const own = closingOf(load, closings);
    if (own !== undefined) named.add(own);
    for (const closing of closings) {
      if (closing.charge !== 'seen' && isIn(load, closing)) named.add(closing);
    }
  }
  return named;
}

function closingOf(
  { startMs, endMs, closingMs }: NamingLoad,
  closings: readonly FoundClosing[],
): FoundClosing | undefined {
  if (closingMs !== null) return closings.find(({ foundMs }) => foundMs === closingMs);
  // One that had ended by then was in another, or in none that was seen.
  const begun = closings.filter(
    ({ start }, i) =>
      fromMs(closings, i) <= startMs && (endMs === null || start.earliestMs <= endMs),
  );
  const own = begun.at(-1);
  // Begun when it was over, a load means one that is still to come.
  return own !== undefined && startMs <= untilMs(own, own === closings.at(-1)) ? own : undefined;
}

function isIn({ startMs, endMs }: NamingLoad, { start }: FoundClosing): boolean {
  return startMs <= start.latestMs && (endMs === null || endMs > start.latestMs);
}

/** From when on a load that begins means this closing and not the one before [ms]. */
function fromMs(closings: readonly FoundClosing[], i: number): number {
  const own = closings[i];
  const before = closings[i - 1];
  if (own === undefined) return Infinity;
  if (before === undefined) return own.start.earliestMs - firstLeadMs;
  const opened = before.end?.earliestMs ?? before.start.latestMs + leastClosedMs;
  const isSharp = before.end !== null && before.foundBy !== 'dip';
  return isSharp ? opened : Math.max(opened, own.start.earliestMs - leadMs);
}

/** Until when a load that begins may mean a closing [ms]. */
function untilMs({ start, end }: FoundClosing, isNewest: boolean): number {
  return end?.latestMs ?? start.latestMs + (isNewest ? lateMs : leadMs);
}
