import { unnamedLot } from '@setwell/shared-models/record/unnamed-lot';
import type { LedgerFold } from '../../judge/ledger-fold.ts';
import type { LoadSealed } from '@setwell/shared-models/record/bodies';
import type { LoadDecisions } from '@setwell/shared-models/record/decisions';
import type { About } from '@setwell/shared-models/record/entry';
import type { GivenAct } from './act.ts';
import { refused } from './refused.ts';

/** A load as an act on it needs it. */
export interface KnownLoad {
  load: string;
  station: string;
  lot: string;
  startMs: number;
  state: 'open' | 'ended' | 'sealed';
  /** When its start was recorded [ms]; null where that is long ago. */
  openedAtMs: number | null;
  parts: string[];
  sealed: LoadSealed | null;
  decisions: LoadDecisions;
}

/** The load that an act is about. @throws ActRefused where nobody knows it */
export function loadOf({ about }: GivenAct, fold: LedgerFold): KnownLoad {
  const { load } = about;
  if (load === undefined) throw refused('about.load', 'none', 'the load');
  const account = fold.loads.get(load);
  const finished = fold.accounts.finished(load);
  if (finished) {
    const { station, lot, parts, startMs, sealed, decisions } = finished;
    return {
      load,
      station,
      lot,
      startMs,
      state: 'sealed',
      openedAtMs: null,
      parts,
      sealed,
      decisions,
    };
  }
  if (!account) {
    const isVoid = fold.accounts.isVoided(load);
    throw refused(
      'about.load',
      load,
      isVoid ? 'a load that was not taken back' : 'a known load',
      'unknown-load',
    );
  }
  const { opened, ended, openedAtMs, decisions } = account;
  const { station, lot, parts, marks } = opened;
  const startMs = marks.pressureOn.earliestMs;
  const state = ended ? 'ended' : 'open';
  return { load, station, lot, startMs, state, openedAtMs, parts, sealed: null, decisions };
}

export function aboutKnown({ load, station, lot, startMs }: KnownLoad): About {
  return { station, load, startMs, ...(lot === unnamedLot ? {} : { lots: [lot] }) };
}
