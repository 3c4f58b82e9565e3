import { lotFile, type LotFile } from '@setwell/shared-models/record/lot-file';
import type { ScoreResult } from '@setwell/shared-models/score/shape';
import { sha256Hex } from '../ledger/sha256.ts';
import { jsonOf, type Bundle } from './bundle.ts';
import type { Findings } from './finding.ts';
import { isPartOf } from './part-of.ts';

/**
 * `lot.json` is what the listed entries and their results come to, all of it: also the state, decisions,
 * calls and marks that no digest but the exporter's own vouches for.
 *
 * @param listed numbers of the lot's entries, as the export lists them
 */
export function checkFoldedLot(
  { members, lines, proof }: Bundle,
  listed: readonly number[],
  findings: Findings,
): void {
  const told = jsonOf(members.get('lot.json')) as LotFile | null;
  if (!told) return;
  const results = new Map(
    [...members]
      .filter(([name]) => name.endsWith('/result.json'))
      .map(([, bytes]) => [sha256Hex(bytes), bytes]),
  );
  const numbers = new Set(listed);
  const entries = lines.map(({ entry }) => entry).filter(({ n }) => numbers.has(n));
  const log = lines.at(-1)?.entry.log ?? '';
  const resultOf = (sha256: string) => jsonOf(results.get(sha256)) as ScoreResult | null;
  const folded = foldOf(() =>
    lotFile(proof.lot, told.site, log, entries, resultOf, told.format === 1 ? 1 : 2),
  );
  if (!folded) {
    const found = 'an entry that does not say what its kind says';
    findings.add('unreadable-entry', 'complete', 'ledger.jsonl', found, 'entries of a lot');
    return;
  }
  for (const [name, value] of Object.entries(told)) {
    if (isPartOf(value, folded[name as keyof LotFile])) continue;
    const expected = 'what the entries and results come to';
    findings.add('lot-file-differs', 'complete', 'lot.json', `other ${name}`, expected);
  }
}

/** A body that lacks what its kind must have is bad data here, not a bug. */
function foldOf(fold: () => LotFile): LotFile | null {
  try {
    return fold();
  } catch (error) {
    if (error instanceof TypeError) return null;
    throw error;
  }
}
