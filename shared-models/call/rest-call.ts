import type { About } from '../record/entry.ts';
import type { Verdict } from '../score/shape.ts';
import type { Wish } from './wish.ts';

/** A lot's time in a store: still running, or over with what was decided on it. */
export interface Rest {
  load: string;
  /** Null: nothing is known of it yet. */
  verdict: Verdict | null;
  /** People have decided over it, whatever its verdict. */
  decided: boolean;
}

/** A lot that goes on though it lies in a store, or has come out of one unproven; null: it may go on. */
export function callOfRest(
  { lot, load, station, about }: { lot: string; load: string; station: string; about: About },
  rests: readonly Rest[],
): Wish | null {
  const unrested = rests.find(({ verdict, decided }) => verdict !== 'in-window' && !decided);
  if (unrested === undefined) return null;
  const values = { lot, store: unrested.load };
  return {
    kind: 'rest-incomplete',
    subject: load,
    present: true,
    plannedMs: null,
    about,
    raised: { station, load, point: null, tooLateMs: null, values },
  };
}
