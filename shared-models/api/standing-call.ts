import { longerFor } from '../call/load-calls.ts';
import { lateMinutes } from '../call/ready-call.ts';
import type { FloorCall, LiveState } from './floor.ts';

/**
 * A call that stands, with the minutes of now: its entry keeps those it was raised with, and a screen that
 * repeats them would tell somebody to act at a time that the row beside it no longer says.
 */
export function standingCall(
  call: FloorCall,
  { loads, stations }: Pick<LiveState, 'loads' | 'stations'>,
): FloorCall {
  const { kind, values, tooLateMs } = call;
  const load = loads[call.load ?? ''];
  switch (kind) {
    case 'short-at-plan': {
      const untilMs = load?.forecast?.provenAtMs ?? load?.forecast?.provenEarliestMs ?? null;
      const plannedMs = load?.plannedEndMs ?? null;
      if (load === undefined || untilMs === null || plannedMs === null) return call;
      const plannedEndMs = Math.max(plannedMs, load.decisions.promise?.untilMs ?? plannedMs);
      const told = { ...longerFor(untilMs, plannedEndMs), plannedEndMs };
      return { ...call, tooLateMs: plannedEndMs, values: { ...values, ...told } };
    }
    case 'nearing-most': {
      const overAtMs = load?.forecast?.overAtMs ?? null;
      if (overAtMs === null) return call;
      return { ...call, tooLateMs: overAtMs, values: { ...values, overAtMs } };
    }
    case 'ready-late': {
      const readyMs = stations[call.station ?? '']?.readyMs ?? null;
      if (readyMs === null || tooLateMs === null) return call;
      return { ...call, values: { ...values, readyMs, lateMin: lateMinutes(readyMs - tooLateMs) } };
    }
    default:
      return call;
  }
}
