import type { FoundFault } from '../metrology/instrument-acts.ts';
import type { Reason } from '../score/shape.ts';
import type { Wish } from './wish.ts';

/** A load that is in, as far as its points go. */
export interface LoadOnPoints {
  station: string;
  lot: string;
  startMs: number;
  plannedEndMs: number | null;
  points: readonly string[];
  /** Why its verdict is what it is, as last judged. */
  reasons: readonly Reason[];
}

/** What stands instead of a rule where an instrument's certificate vouches for nothing any more. */
const unproven = 'unproven-instrument';

/**
 * What somebody is called for by points that a load in work rests on: a fault that takes readings from it,
 * or an instrument that proves nothing. One call a point, whatever else is wrong with it; a fault that
 * touches no load stands in the ledger and calls nobody.
 *
 * @param lasting faults of a point that are not over
 * @param called points for which somebody is called already, each with its rule
 */
export function callsOfFaults(
  lasting: (point: string) => readonly FoundFault[],
  loads: readonly LoadOnPoints[],
  called: ReadonlyMap<string, string>,
): Wish[] {
  const needed = new Set(loads.flatMap(({ points }) => points));
  return [...new Set([...needed, ...called.keys()])].map((point): Wish => {
    const load = loads.find(({ points }) => points.includes(point));
    const fault = lasting(point).find(({ doubts }) => doubts);
    if (load === undefined) {
      // Nothing rests on it now: with the next load it may be the same again.
      const isOver = fault === undefined && called.get(point) !== unproven;
      return wish(point, null, fault ?? null, isOver ? false : null);
    }
    const isTouched = fault !== undefined || load.reasons.some((each) => isUnproven(each, point));
    return wish(point, load, fault ?? null, isTouched);
  });
}

function isUnproven(reason: Reason, point: string): boolean {
  return reason.code === unproven && reason.point === point;
}

function wish(
  point: string,
  load: LoadOnPoints | null,
  fault: FoundFault | null,
  present: boolean | null,
): Wish {
  const { station = null, plannedEndMs = null, startMs = 0, lot = null } = load ?? {};
  const rule = fault?.rule ?? unproven;
  return {
    kind: 'point-fault',
    subject: point,
    present,
    plannedMs: plannedEndMs === null ? null : plannedEndMs - startMs,
    about: { ...(station === null ? {} : { station }), sensor: point },
    raised: {
      station,
      load: null,
      point,
      // It stands over many loads: no one plan is its end.
      tooLateMs: null,
      values: {
        rule,
        lot,
        sinceMs: fault?.fromMs ?? startMs,
        others: fault?.others.join(', ') ?? '',
      },
      evidence: fault
        ? [{ what: 'readings', point, fromMs: fault.fromMs, toMs: fault.seenMs }]
        : [],
    },
  };
}
