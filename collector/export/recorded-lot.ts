import { lotFile, type LotFile } from '@setwell/shared-models/record/lot-file';
import type { Entry } from '@setwell/shared-models/record/entry';
import type { ScoreResult } from '@setwell/shared-models/score/shape';
import type { Ledger } from '../ledger/shape.ts';
import type { LedgerIndex } from '../ledger/ledger-index.ts';

/** A lot's file from the ledger; null where nothing is recorded of it. */
export function recordedLot(
  ledger: Pick<Ledger, 'log' | 'entry' | 'blob'>,
  index: LedgerIndex,
  lot: string,
  site: LotFile['site'],
): LotFile | null {
  const entries = index
    .entriesOf(lot)
    .map((n) => ledger.entry(n))
    .filter((entry): entry is Entry => entry !== null);
  if (entries.length === 0) return null;
  return lotFile(lot, site, ledger.log, entries, (sha256) => {
    const bytes = ledger.blob(sha256);
    return bytes ? (JSON.parse(bytes.toString('utf8')) as ScoreResult) : null;
  });
}
