import type { RequirementCheck, Side, Verdict } from '../shape.ts';
import { decide } from '../window.ts';

/** What a requirement asks of one figure; null: no such bound. */
export interface Limits {
  least: number | null;
  most: number | null;
  unit: string;
}

/** What is known of a figure, in the limits' unit, and when it was at its worst. */
export interface Known {
  low: number;
  high: number;
  atMs: number | null;
}

/** The least and the greatest of a figure that has to stay inside all the time. */
export interface Extremes {
  least: Known;
  greatest: Known;
  /** Somebody was silent in between: what it did then nobody knows. */
  broken: boolean;
}

/** Whether anything is asked at all. */
export function isAsked({ least, most }: Limits): boolean {
  return least !== null || most !== null;
}

/** One figure against its limits. Guarded once, as heat is. */
export function held(what: string, limits: Limits, known: Known): RequirementCheck {
  const { least, most } = limits;
  const { low, high, atMs } = known;
  const decided = decide({ low, nominal: low, high }, { least: least ?? -Infinity, most });
  return { what, ...limits, low, high, atMs, ...decided };
}

/** A figure of which nothing is known proves nothing. */
export function unheard(what: string, limits: Limits): RequirementCheck {
  const { least, most } = limits;
  const side: Side = least === null ? 'long' : most === null ? 'short' : 'both';
  return { what, ...limits, low: null, high: null, atMs: null, verdict: 'unproven', side };
}

/**
 * A figure that has to stay inside its limits all the time: one certain moment outside is outside,
 * whatever the others were.
 */
export function heldThroughout(what: string, limits: Limits, extremes: Extremes): RequirementCheck {
  const { least, most } = limits;
  const { least: lowest, greatest, broken } = extremes;
  const known = { what, ...limits, low: lowest.low, high: greatest.high };
  const said = (verdict: Verdict, side: Side | null, atMs: number | null) => ({
    ...known,
    verdict,
    side,
    atMs,
  });
  if (least !== null && lowest.high < least) return said('under', 'short', lowest.atMs);
  if (most !== null && greatest.low > most) return said('over', 'long', greatest.atMs);
  const short = least !== null && (broken || lowest.low < least);
  const long = most !== null && (broken || greatest.high > most);
  if (!short && !long) return said('in-window', null, null);
  const atMs = broken ? null : short ? lowest.atMs : greatest.atMs;
  return said('unproven', short && long ? 'both' : short ? 'short' : 'long', atMs);
}

/** Least and greatest of figures that were each known by themselves; null of none. */
export function extremesOf(knowns: readonly Known[], broken = false): Extremes | null {
  const [first] = knowns;
  if (first === undefined) return null;
  let least = first;
  let greatest = first;
  for (const known of knowns) {
    if (known.low + known.high < least.low + least.high) least = known;
    if (known.low + known.high > greatest.low + greatest.high) greatest = known;
  }
  return { least, greatest, broken };
}
