import type { LedgerIndex } from '../ledger/ledger-index.ts';
import type { Ledger } from '../ledger/shape.ts';
import type { OlderLoads } from './load-accounts.ts';

/** Loads that no fold keeps any more, from the ledger by its index. */
export function olderLoads(
  ledger: Pick<Ledger, 'entry' | 'ofAct'>,
  index: Pick<LedgerIndex, 'entriesOfLoad' | 'loadsOf'>,
): OlderLoads {
  return {
    entriesOfLoad: (load) => index.entriesOfLoad(load).flatMap((n) => ledger.entry(n) ?? []),
    loadsOf: (lot) => index.loadsOf(lot),
    ofAct: (act) => {
      const entry = ledger.ofAct(act);
      const isOfLoad = entry?.kind === 'load-opened' || entry?.kind === 'load-ended';
      return isOfLoad ? (entry.about.load ?? null) : null;
    },
  };
}
