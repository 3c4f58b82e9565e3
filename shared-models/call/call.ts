import type { CallAcknowledged, CallCleared, CallRaised } from '../record/bodies.ts';
import type { Entry } from '../record/entry.ts';

/**
 * One thing that one person must do now, as a fold of its entries.
 *
 *   raised ──▶ acknowledged ──▶ cleared
 *      └──────────────────────────▲
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
  cleared: { because: CallCleared['because']; atMs: number; n: number } | null;
}

/** The call after an entry; the same call where the entry says nothing new of it. */
export function nextCall(call: Call | undefined, entry: Entry): Call | undefined {
  if (entry.kind === 'call-raised') {
    if (call) return call;
    return {
      id: entry.about.call ?? `call.${String(entry.n)}`,
      raised: entry.body as CallRaised,
      n: entry.n,
      atMs: entry.at,
      acknowledged: null,
      cleared: null,
    };
  }
  if (!call || call.cleared) return call;
  if (entry.kind === 'call-acknowledged') {
    if (call.acknowledged) return call;
    const { note } = entry.body as CallAcknowledged;
    return { ...call, acknowledged: { by: entry.by, atMs: entry.at, n: entry.n, note } };
  }
  if (entry.kind === 'call-cleared') {
    const { because } = entry.body as CallCleared;
    return { ...call, cleared: { because, atMs: entry.at, n: entry.n } };
  }
  return call;
}
