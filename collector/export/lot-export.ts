import { canonicalJson } from '@setwell/shared-models/record/canonical';
import type { RecordExported } from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';
import type { LotFile } from '@setwell/shared-models/record/lot-file';
import { sha256Hex } from '../ledger/sha256.ts';
import type { Ledger, Proposal } from '../ledger/shape.ts';
import type { LotIndex } from '../serve/lot-index.ts';
import { releasedModels } from '../verify/released-models.ts';
import {
  bundleMembers,
  digestOfMembers,
  digestsOf,
  foundationOf,
  lotBundle,
  sinceOf,
  type BundleRequest,
} from './lot-bundle.ts';
import { lotCsv } from './lot-csv.ts';
import { listed, lotListing } from './lot-listing.ts';
import { recordedLot } from './recorded-lot.ts';

/** Ways in which a lot's file leaves the house. */
export const exportKinds = ['json', 'csv', 'bundle'] as const;
export type ExportKind = (typeof exportKinds)[number];

export interface LotExport {
  /** Name of the file, without a folder. */
  name: string;
  type: string;
  pieces: Iterable<Buffer>;
}

/** What an export may use: of a collector that runs, or of its files while none does. */
export interface ExportSource {
  ledger: Ledger;
  lots: LotIndex;
  site: LotFile['site'];
  append(proposals: Proposal[]): Entry[];
}

/**
 * A lot's file, and the entry that it went out: who took what, when, and what all there was of the lot.
 *
 * @param since an older checkpoint that the bundle ties itself to
 * @returns null where nothing is recorded of the lot
 * @throws SinceRefused
 */
export function exportLot(
  source: ExportSource,
  { lot, as, by, since }: { lot: string; as: ExportKind; by: string; since: string | null },
): LotExport | null {
  const { ledger, lots, site } = source;
  const file = recordedLot(ledger, lots, lot, site);
  if (!file) return null;
  const text = canonicalJson(file);
  const sha256 = sha256Hex(Buffer.from(text));
  const say = (members?: string): Entry<RecordExported> => {
    const whole = { lot, as, sha256, ...(members === undefined ? {} : { members }) };
    const { body, blobs } = listed({ ...whole, ...lotListing(ledger, lots, lot) });
    const about = { lots: [lot] };
    const [entry] = source.append([{ kind: 'record-exported', by, about, body, blobs }]);
    if (!entry) throw new Error('the ledger has answered no entry');
    return entry as Entry<RecordExported>;
  };
  const name = exportName(lot, as);
  if (as === 'json') {
    say();
    return { name, type: 'application/json; charset=utf-8', pieces: [Buffer.from(text)] };
  }
  if (as === 'csv') {
    say();
    return { name, type: 'text/csv; charset=utf-8', pieces: [Buffer.from(lotCsv(file))] };
  }
  const foundation = foundationOf(ledger, lots, file);
  const request: BundleRequest = {
    ...{ file, foundation, ledger, pdf: null },
    since: since === null ? null : sinceOf(since, ledger),
    models: releasedModels(),
  };
  const outside = bundleMembers(request);
  const exported = say(digestOfMembers(digestsOf(outside)));
  const checkpoint = ledger.checkpoint();
  if (checkpoint?.size !== exported.n + 1) {
    throw new Error(`no checkpoint of ${String(exported.n + 1)} entries: the key is missing`);
  }
  const pieces = lotBundle(request, outside, exported, checkpoint);
  return { name, type: 'application/zip', pieces };
}

/** By the lot's name; what a file system takes for something else becomes an underscore. */
export function exportName(lot: string, as: ExportKind): string {
  if (as !== 'bundle') return `lot.${as}`;
  const name = lot.replaceAll(/[^A-Za-z0-9._-]/g, '_').replace(/^\.+/, '_');
  return `${name === '' ? 'lot' : name}.bundle.zip`;
}
