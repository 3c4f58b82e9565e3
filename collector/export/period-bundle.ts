import type { PeriodExported } from '@setwell/shared-models/record/bodies';
import { canonicalJson } from '@setwell/shared-models/record/canonical';
import type { Entry } from '@setwell/shared-models/record/entry';
import {
  entriesOfMember,
  ledgerMember,
  lotMember,
  type PeriodFile,
  type PeriodProof,
} from '@setwell/shared-models/record/period';
import { joined, type Shown } from '@setwell/shared-models/record/shown-entries';
import { retentionOf, usualLotFileYears } from '@setwell/shared-models/record/retention';
import { sha256Hex } from '../ledger/sha256.ts';
import type { Ledger } from '../ledger/shape.ts';
import { periodReadme } from './bundle-readme.ts';
import { digestOfMembers, sinceOf } from './lot-bundle.ts';
import { exportLot, exportName, type ExportSource } from './lot-export.ts';
import { worstVerdict } from '@setwell/shared-models/score/window';
import { recordedLot } from './recorded-lot.ts';
import { storedZipOf, type ZipMember } from './stored-zip.ts';

export interface PeriodWanted {
  /** From the first on, before the second [ms]. */
  fromMs: number;
  toMs: number;
  by: string;
  /** An older checkpoint that the bundle ties itself to. */
  since: string | null;
}

/** Entries read at a time, so that whoever else waits for this thread has its turn. */
const slice = 1000;

/**
 * Everything of a period as one archive, piece by piece: a lot's bundle is made when its turn comes, so
 * that a year takes no more memory than its largest lot.
 *
 * @returns null where nothing was recorded in the period
 * @throws SinceRefused
 */
export async function exportPeriod(
  source: ExportSource,
  wanted: PeriodWanted,
): Promise<AsyncIterable<Buffer> | null> {
  const { ledger, nowMs } = source;
  if (wanted.since !== null) sinceOf(wanted.since, ledger);
  // What comes while it is written belongs to a later period.
  const within = { ...wanted, toMs: Math.min(wanted.toMs, nowMs()) };
  const span = await entriesWithin(ledger, within);
  if (!span) return null;
  return storedZipOf(periodMembers(source, within, span));
}

/** Numbers of a period's entries: the clock may have been set, so the first and the last of them count. */
async function entriesWithin(
  ledger: Ledger,
  { fromMs, toMs }: PeriodWanted,
): Promise<{ first: number; next: number } | null> {
  let first = Infinity;
  let next = -1;
  let isAny = false;
  for await (const entry of entriesFrom(ledger, 0, ledger.size())) {
    const { n, at } = JSON.parse(entry.toString('utf8')) as Entry;
    if (at >= fromMs) first = Math.min(first, n);
    if (at < toMs) next = n + 1;
    isAny ||= at >= fromMs && at < toMs;
  }
  return isAny ? { first, next } : null;
}

async function* entriesFrom(ledger: Ledger, from: number, to: number): AsyncGenerator<Buffer> {
  for (let at = from; at < to; at += slice) {
    for (const { bytes } of ledger.entriesAfter(at - 1, Math.min(slice, to - at))) yield bytes;
    await new Promise((resolve) => setImmediate(resolve));
  }
}

async function* periodMembers(
  source: ExportSource,
  wanted: PeriodWanted,
  { first, next }: { first: number; next: number },
): AsyncGenerator<ZipMember> {
  const { ledger, site } = source;
  const { fromMs, toMs, by, since } = wanted;
  const digests: Record<string, string> = {};
  const told = (name: string, bytes: Buffer): ZipMember => {
    digests[name] = sha256Hex(bytes);
    return { name, bytes };
  };
  const head = { site: siteOf(site), log: ledger.log, fromMs, toMs };
  const within = lotsWithin(source, first, next);
  const kept = within.map((lot) => ({ lot, ...keptOf(source, lot) }));
  yield told('README.txt', Buffer.from(periodReadme(head, kept)));
  const lots: PeriodFile['lots'] = [];
  for (const lot of within) {
    const { bundle, ...of } = await lotBundleOf(source, lot, by);
    const name = lotMember(lots.length, exportName(lot, 'bundle'));
    lots.push({ lot, bundle: name, ...of });
    yield told(name, bundle);
  }
  const file = Buffer.from(canonicalJson({ ...head, lots } satisfies PeriodFile));
  yield told('period.json', file);
  const body: PeriodExported = {
    ...{ as: 'period', fromMs, toMs, sha256: sha256Hex(file) },
    members: digestOfMembers(digests),
  };
  const [exported] = source.append([{ kind: 'record-exported', by, about: {}, body }]);
  const checkpoint = ledger.checkpoint();
  if (!exported || checkpoint?.size !== exported.n + 1) {
    throw new Error('the export has no checkpoint: the key is missing');
  }
  const shown = shownIn(ledger, first, next, exported.n);
  for await (const { name, bytes } of ledgerMembers(ledger, shown)) yield told(name, bytes);
  const { size, note, key } = checkpoint;
  const older = since === null ? null : sinceOf(since, ledger);
  const proof: PeriodProof = {
    ...{ format: 1, fromMs, toMs, first, next, shown, checkpoint: note, key, members: digests },
    hidden: ledger.tree.hidden(shown, size).map(base64),
    since: older && {
      checkpoint: older.note,
      path: ledger.tree.consistency(older.size, size).map(base64),
    },
  };
  yield { name: 'proof.json', bytes: Buffer.from(canonicalJson(proof)) };
}

function siteOf({ id, title, demo }: ExportSource['site']): PeriodFile['site'] {
  return { id, title, demo };
}

/** Lots that an entry of the period tells of, by name. */
function lotsWithin({ lots }: ExportSource, first: number, next: number): string[] {
  const isWithin = (n: number) => n >= first && n < next;
  return lots
    .lots()
    .filter((lot) => lots.entriesOf(lot).some(isWithin))
    .sort((a, b) => (a < b ? -1 : 1));
}

function keptOf({ ledger, lots }: ExportSource, lot: string) {
  const entries = lots.entriesOf(lot).flatMap((n) => ledger.entry(n) ?? []);
  const { hold, dropped } = retentionOf(entries, usualLotFileYears);
  return { hold, dropped };
}

async function lotBundleOf(source: ExportSource, lot: string, by: string) {
  const wanted = { lot, as: 'bundle', by, since: null, language: 'en' } as const;
  const file = await exportLot(source, wanted);
  const recorded = recordedLot(source.ledger, source.lots, lot, source.site);
  if (!file || !recorded) throw new Error(`lot ${lot} is in the index and not in the ledger`);
  const verdicts = recorded.loads.filter(({ revision }) => revision !== null);
  return {
    bundle: Buffer.concat([...file.pieces]),
    loads: recorded.loads.length,
    verdict: verdicts.length === 0 ? null : worstVerdict(verdicts.map(({ verdict }) => verdict)),
    ...keptOf(source, lot),
  };
}

/** The period's entries and their neighbours, the entries that name a key, the export's own. */
function shownIn(ledger: Ledger, first: number, next: number, exported: number) {
  return joined([
    ...ledger.keys().map(({ n }) => [n, n + 1] as const),
    [Math.max(0, first - 1), Math.min(next, exported) + 1],
    [exported, exported + 1],
  ]);
}

async function* ledgerMembers(ledger: Ledger, shown: Shown): AsyncGenerator<ZipMember> {
  let lines: Buffer[] = [];
  let members = 0;
  const member = () => {
    const bytes = Buffer.concat(lines);
    lines = [];
    return { name: ledgerMember(members++), bytes };
  };
  for (const [from, to] of shown) {
    for await (const bytes of entriesFrom(ledger, from, to)) {
      lines.push(bytes, lineFeed);
      if (lines.length === 2 * entriesOfMember) yield member();
    }
  }
  if (lines.length > 0) yield member();
}

const lineFeed = Buffer.from('\n');

function base64(bytes: Buffer): string {
  return bytes.toString('base64');
}
