import { canonicalJson } from '@setwell/shared-models/record/canonical';
import type { LotListing } from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';
import { isAccount } from '@setwell/shared-models/record/lot-file';
import type { Ledger } from '../ledger/shape.ts';
import { sha256Hex } from '../ledger/sha256.ts';
import type { LedgerIndex } from '../ledger/ledger-index.ts';

/** An entry has 64 KiB; what is longer than this goes into a blob beside it. */
const mostInlineBytes = 48 * 1024;

/** What a lot's file rests on now: every entry of the lot, and each load's effective account. */
export function lotListing(
  ledger: Pick<Ledger, 'entriesAfter'>,
  index: LedgerIndex,
  lot: string,
): LotListing {
  const entries = index.entriesOf(lot);
  const loads = new Map<string, LotListing['loads'][number]>();
  for (const n of entries) {
    const [stored] = ledger.entriesAfter(n - 1, 1);
    if (!stored) continue;
    const entry = JSON.parse(stored.bytes.toString('utf8')) as Entry;
    const { load } = entry.about;
    if (load === undefined || !isAccount(entry) || index.lotsOf(load).at(-1) !== lot) continue;
    const { revision } = entry.body;
    loads.set(load, { load, log: entry.log, n, leaf: stored.leaf, revision });
  }
  return { loads: [...loads.values()].sort((a, b) => a.n - b.n), entries: [...entries] };
}

/** A body with its listing, or with the blob that holds it whole where it is long. */
export function listed<Body extends LotListing>(
  body: Body,
): { body: Body & { whole?: { sha256: string; bytes: number } }; blobs: Buffer[] } {
  const whole = Buffer.from(canonicalJson(body));
  if (whole.length <= mostInlineBytes) return { body, blobs: [] };
  const named = { sha256: sha256Hex(whole), bytes: whole.length };
  const coats = body.coats === undefined ? {} : { coats: [] };
  return { body: { ...body, loads: [], entries: [], ...coats, whole: named }, blobs: [whole] };
}
