import type {
  CallAcknowledged,
  CallCleared,
  CallHandedOn,
  CallRaised,
  CallShelved,
  Job,
} from '../record/bodies.ts';
import type { Entry } from '../record/entry.ts';

/**
 * One thing that one person must do now, as a fold of its entries.
 *
 *   (cause) ──▶ up ──taken──▶ taken ──cause gone──▶ cleared
 *               │                                     ▲ ▲
 *               ├──cause gone, does not latch─────────┘ │
 *               └──cause gone, latches──▶ returned ──taken, or decided
 *
 * The states are those of ISA-18.2 and IEC 62682: active unacknowledged, active acknowledged, returned
 * unacknowledged, normal. Shelving lies across them: it hides a call with a reason and an end, and
 * the call goes on through its states all the while.
 *
 * Its id is the writer's own (`short-at-plan.P1-00231`, `sensor-silent.p1-ul.4711`) and stands in
 * `about.call` of each of its entries.
 */
export interface Call {
  id: string;
  raised: CallRaised;
  /** Entry that raised it. */
  n: number;
  atMs: number;
  acknowledged: { by: string; atMs: number; n: number; note: string | null } | null;
  /** Who else was called since nobody came. */
  handedOn: { to: Job; atMs: number; n: number }[];
  shelved: { by: string; atMs: number; n: number; reason: string; untilMs: number } | null;
  /** Since when its cause is gone [ms]; null while it is there. */
  returnedMs: number | null;
  cleared: { because: CallCleared['because']; atMs: number; n: number } | null;
  /** Its newest entry: an act must answer this one. */
  lastN: number;
}

export type CallState = 'up' | 'taken' | 'returned' | 'cleared';

export function callState(call: Pick<Call, 'acknowledged' | 'returnedMs' | 'cleared'>): CallState {
  if (call.cleared) return 'cleared';
  if (call.returnedMs !== null) return 'returned';
  return call.acknowledged ? 'taken' : 'up';
}

/** The call after an entry; the same call where the entry says nothing new of it. */
export function nextCall(call: Call | undefined, entry: Entry): Call | undefined {
  if (entry.kind === 'call-raised') return call ?? raisedCall(entry as Entry<CallRaised>);
  if (!call || call.cleared) return call;
  const { by, at: atMs, n } = entry;
  switch (entry.kind) {
    case 'call-acknowledged': {
      if (call.acknowledged) return call;
      const { note } = entry.body as CallAcknowledged;
      return { ...call, acknowledged: { by, atMs, n, note }, lastN: n };
    }
    case 'call-shelved': {
      const { reason, untilMs } = entry.body as CallShelved;
      return { ...call, shelved: { by, atMs, n, reason, untilMs }, lastN: n };
    }
    case 'call-unshelved':
      return { ...call, shelved: null, lastN: n };
    case 'call-handed-on': {
      const { to } = entry.body as CallHandedOn;
      return { ...call, handedOn: [...call.handedOn, { to, atMs, n }], lastN: n };
    }
    case 'call-returned':
      return { ...call, returnedMs: atMs, lastN: n };
    case 'call-cleared': {
      const { because } = entry.body as CallCleared;
      return { ...call, cleared: { because, atMs, n }, lastN: n };
    }
    default:
      return call;
  }
}

function raisedCall({ about, body, n, at }: Entry<CallRaised>): Call {
  return {
    id: about.call ?? `call.${String(n)}`,
    raised: body,
    n,
    atMs: at,
    acknowledged: null,
    handedOn: [],
    shelved: null,
    returnedMs: null,
    cleared: null,
    lastN: n,
  };
}
