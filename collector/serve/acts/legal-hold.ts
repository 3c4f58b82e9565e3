import type { Entry } from '@setwell/shared-models/record/entry';
import { retentionOf, usualLotFileYears } from '@setwell/shared-models/record/retention';
import { z } from 'zod';
import type { LedgerIndex } from '../../ledger/ledger-index.ts';
import type { GivenAct } from './act.ts';
import { recorded, type RecordedActParts } from './recorded-act.ts';
import { parsed, refused } from './refused.ts';

export interface LegalHoldParts extends RecordedActParts {
  lots: Pick<LedgerIndex, 'entriesOf'>;
}

const schema = z.strictObject({ reason: z.string().trim().min(1).max(1000) });

/** A lot's documents are held, or let go to their age again. @throws ActRefused */
export function legalHold(act: GivenAct, parts: LegalHoldParts): Entry {
  const body = parsed(schema, act.body);
  const [lot, more] = act.about.lots ?? [];
  if (lot === undefined || more !== undefined) {
    throw refused('about.lots', String(act.about.lots?.length ?? 0), 'one lot');
  }
  const entries = parts.lots.entriesOf(lot).flatMap((n) => parts.ledger.entry(n) ?? []);
  if (entries.length === 0) throw refused('about.lots', lot, 'a lot with at least one entry');
  const { hold } = retentionOf(entries, usualLotFileYears);
  const isSet = act.kind === 'legal-hold-set';
  if (isSet === (hold !== null)) {
    const found = hold ? `a legal hold since entry ${String(hold.n)}` : 'no legal hold';
    throw refused('kind', found, isSet ? 'a lot without one' : 'one to lift', 'moved-on', 409);
  }
  return recorded(act, parts, { lots: [lot] }, body);
}
