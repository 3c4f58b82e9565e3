import { canonicalJson } from '@setwell/shared-models/record/canonical';
import type { RecordExported } from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';
import type { LotFile, LotLoad } from '@setwell/shared-models/record/lot-file';
import type { LoadTrace, ScoreInput } from '@setwell/shared-models/score/shape';
import { sha256Hex } from '../ledger/sha256.ts';
import type { Ledger, Proposal } from '../ledger/shape.ts';
import type { LedgerIndex } from '../ledger/ledger-index.ts';
import type { ModelPool } from '../verify/model-pool.ts';
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
import type { PrintLanguage } from './print-words.ts';
import { recordPdf } from './record-pdf.ts';
import { recordedLot } from './recorded-lot.ts';

/** Ways in which a lot's file leaves the house. */
export const exportKinds = ['bundle', 'json', 'csv', 'pdf'] as const;
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
  lots: LedgerIndex;
  site: LotFile['site'];
  append(proposals: Proposal[]): Entry[];
  nowMs(): number;
  /** Draws the pictures; whoever exports ends it. */
  pool: ModelPool;
}

/** A load's pictures take some tenths of a second and a page; of a hundred loads those are printed that are nearest to a post. */
const mostPictures = 8;

interface Wanted {
  lot: string;
  as: ExportKind;
  by: string;
  /** An older checkpoint that the bundle ties itself to. */
  since: string | null;
  /** Of a CSV: whose spreadsheets open it; of a printed record: its words. */
  language: PrintLanguage;
}

/**
 * A lot's file, and the entry that it went out: who took what, when, and what all there was of the lot.
 *
 * @returns null where nothing is recorded of the lot
 * @throws SinceRefused
 */
export async function exportLot(source: ExportSource, wanted: Wanted): Promise<LotExport | null> {
  const { lot, as } = wanted;
  const name = exportName(lot, as);
  if (wanted.since !== null) sinceOf(wanted.since, source.ledger);
  const file = recordedLot(source.ledger, source.lots, lot, source.site);
  if (!file) return null;
  switch (as) {
    case 'json':
      return { ...told(source, wanted, file), name, type: 'application/json; charset=utf-8' };
    case 'csv': {
      told(source, wanted, file);
      return {
        name,
        type: 'text/csv; charset=utf-8',
        pieces: [Buffer.from(lotCsv(file, wanted.language))],
      };
    }
    case 'pdf': {
      const { whole, pdf } = await printed(source, wanted, file);
      told(source, wanted, whole);
      return { name, type: 'application/pdf', pieces: [pdf] };
    }
    case 'bundle': {
      const { whole, pdf } = await printed(source, wanted, file);
      return { name, type: 'application/zip', pieces: bundled(source, wanted, whole, pdf) };
    }
  }
}

/** The export's own entry. @returns the text that went out */
function told(source: ExportSource, { lot, as, by }: Wanted, file: LotFile, members?: string) {
  const { ledger, lots, append } = source;
  const text = Buffer.from(canonicalJson(file));
  const whole = { lot, as, sha256: sha256Hex(text), ...(members === undefined ? {} : { members }) };
  const { body, blobs } = listed({ ...whole, ...lotListing(ledger, lots, lot) });
  const [entry] = append([{ kind: 'record-exported', by, about: { lots: [lot] }, body, blobs }]);
  if (!entry) throw new Error('the ledger has answered no entry');
  return { pieces: [text], exported: entry as Entry<RecordExported> };
}

function bundled(source: ExportSource, wanted: Wanted, file: LotFile, pdf: Buffer) {
  const { ledger, lots } = source;
  const request: BundleRequest = {
    ...{ file, ledger, pdf, foundation: foundationOf(ledger, lots, file) },
    since: wanted.since === null ? null : sinceOf(wanted.since, ledger),
    models: releasedModels(),
  };
  const outside = bundleMembers(request);
  const { exported } = told(source, wanted, file, digestOfMembers(digestsOf(outside)));
  const checkpoint = ledger.checkpoint();
  if (checkpoint?.size !== exported.n + 1) {
    throw new Error(`no checkpoint of ${String(exported.n + 1)} entries: the key is missing`);
  }
  return lotBundle(request, outside, exported, checkpoint);
}

/** The record for reading, drawn anew where more was said of the lot while its pictures were computed. */
async function printed(source: ExportSource, { lot, by, language }: Wanted, file: LotFile) {
  const { ledger, lots, site } = source;
  const pictures = pictured(source, file.loads);
  const draw = (of: LotFile) => {
    const checkpoint = ledger.checkpoint();
    return recordPdf({ file: of, checkpoint, ...pictures, by, language, atMs: source.nowMs() });
  };
  const now = (before: LotFile) =>
    lots.entriesOf(lot).length === before.entries.length
      ? before
      : (recordedLot(ledger, lots, lot, site) ?? before);
  const first = await draw(file);
  const whole = now(file);
  const pdf = whole === file ? first : await draw(whole);
  return { whole: now(whole), pdf };
}

/** The loads that have a page of their own, and their pictures by the model that judged them. */
function pictured({ ledger, pool }: ExportSource, loads: readonly LotLoad[]) {
  const inputs = new Map<string, ScoreInput>();
  const traces = new Map<string, Promise<LoadTrace | null>>();
  const models = releasedModels();
  const nearest = new Set(nearestPosts(loads).slice(0, mostPictures));
  // In the order in which they are printed.
  for (const each of loads.filter((load) => nearest.has(load))) {
    const { load, input, readings, worst, model } = each;
    const text = ledger.blob(input ?? '')?.toString('utf8');
    const csv = ledger.blob(readings?.sha256 ?? '')?.toString('utf8');
    if (text === undefined || csv === undefined) continue;
    const scored = JSON.parse(text) as ScoreInput;
    inputs.set(load, scored);
    const released = models.get(model?.sha256 ?? '');
    if (worst === null || !released) continue;
    const answer = pool.run(released, { ask: 'trace', input: scored, readings: csv });
    traces.set(
      load,
      answer.then((told) => ('result' in told ? (told.result as LoadTrace) : null)),
    );
  }
  return { inputs, traces };
}

/** Loads that were judged, least margin first. */
function nearestPosts(loads: readonly LotLoad[]): LotLoad[] {
  return loads
    .filter(({ revision }) => revision !== null)
    .sort((a, b) => (a.worst?.margin ?? -Infinity) - (b.worst?.margin ?? -Infinity));
}

/** By the lot's name; what a file system takes for something else becomes an underscore. */
export function exportName(lot: string, as: ExportKind): string {
  if (as !== 'bundle') return as === 'pdf' ? 'record.pdf' : `lot.${as}`;
  const name = lot.replaceAll(/[^A-Za-z0-9._-]/g, '_').replace(/^\.+/, '_');
  return `${name === '' ? 'lot' : name}.bundle.zip`;
}
