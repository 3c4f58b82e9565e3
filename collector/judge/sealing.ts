import type { StationKind } from '@setwell/shared-models/plant/plant-schema';

/** How long a load waits for its last readings after its end came in [s]. */
const sealAfterS: Record<StationKind, number> = {
  press: 120,
  bench: 120,
  oven: 300,
  rack: 900,
  store: 900,
};

export type Seal =
  { when: 'not-yet' } | { when: 'now'; sealedBy: 'complete' | 'deadline'; silent: string[] };

/**
 * Whether an ended load is sealed now: when every needed point has spoken at or after the end, so that
 * the last segment is bracketed, and none of their numbers is missing, or when the deadline has passed.
 * Then points of which numbers are still missing are named with those that were silent.
 *
 * @param newestMs newest scored reading of each needed point [ms]; null where there is none
 * @param hasHole whether a number of the device is missing up to one of its readings [ms]
 * @param endReceivedMs when the end came in: the deadline counts from it, so a restart does not begin it anew
 */
export function sealNow(
  kind: StationKind,
  newestMs: Map<string, number | null>,
  endMs: number,
  endReceivedMs: number,
  nowMs: number,
  hasHole: (point: string, untilMs: number) => boolean,
): Seal {
  const silent = [...newestMs]
    .filter(([point, t]) => t === null || t < endMs || hasHole(point, t))
    .map(([point]) => point);
  if (silent.length === 0 && newestMs.size > 0) {
    return { when: 'now', sealedBy: 'complete', silent };
  }
  if (nowMs - endReceivedMs >= sealAfterS[kind] * 1000) {
    return { when: 'now', sealedBy: 'deadline', silent };
  }
  return { when: 'not-yet' };
}
