import type {
  LoadCorrected,
  LoadOpened,
  LotListing,
  RecipeApproved,
} from '@setwell/shared-models/record/bodies';
import { accountMember, isFoundation, listingMember } from '@setwell/shared-models/record/bundle';
import { canonicalJson } from '@setwell/shared-models/record/canonical';
import type { Checkpoint } from '@setwell/shared-models/record/checkpoint';
import { correctedOpening } from '@setwell/shared-models/record/corrections';
import type { Entry } from '@setwell/shared-models/record/entry';
import { lotCoats, type BakeTold } from '@setwell/shared-models/record/lot-coats';
import { z } from 'zod';
import {
  accountSchema,
  correctedSchema,
  jsonOf,
  listingSchema,
  openedSchema,
  parsed,
  type Account,
  type Bundle,
  type BundleLine,
} from './bundle.ts';
import type { Findings } from './finding.ts';
import { checkFoldedLot } from './folded-lot.ts';

/** One account of a load, as its entry tells it. */
export interface BundleAccount {
  n: number;
  load: string;
  leaf: string;
  /** Its load's beginning as it counted then; undefined: of none that is here. */
  opened: OpenedLoad | undefined;
  account: Account;
}

export type OpenedLoad = z.infer<typeof openedSchema> & {
  /** Of its entry, or of the one that has put it right. */
  n: number;
};

/** What a bundle tells of its lot's loads. */
export interface BundleLoads {
  /** Beginnings as they count, of the loads that are in the lot. */
  opened: OpenedLoad[];
  /** The same and every one that counted before. */
  counted: OpenedLoad[];
  /** Loads whose start can be read, those that have left the lot among them. */
  readable: ReadonlySet<string>;
  isOwn(load: string): boolean;
  /** In order of their entries, those of loads that have left the lot among them. */
  accounts: BundleAccount[];
}

const shapes = {
  'load-opened': openedSchema,
  'load-sealed': accountSchema,
  'load-amended': accountSchema,
  'load-corrected': correctedSchema,
} as const;

/** Entries that can be read as what their kind says. */
export function loadsOf(bundle: Bundle, findings: Findings): BundleLoads {
  const { lines, proof } = bundle;
  const isOld = isOfFormat1(bundle);
  const now = new Map<string, OpenedLoad>();
  const counted: OpenedLoad[] = [];
  const readable = new Set<string>();
  const accounts: BundleAccount[] = [];
  const count = (load: string, opened: OpenedLoad) => {
    now.set(load, opened);
    counted.push(opened);
  };
  for (const { entry, leaf } of lines) {
    const { kind, body, about, n } = entry;
    if (!(kind in shapes) || (kind === 'load-corrected' && isOld)) continue;
    const shaped = (shapes[kind as keyof typeof shapes] as z.ZodType).safeParse(body);
    const { load } = about;
    if (!shaped.success || load === undefined) {
      const [issue] = shaped.error?.issues ?? [];
      const found = `${issue?.path.join('.') ?? 'about.load'}: ${issue?.message ?? 'none'}`;
      findings.add('unreadable-entry', 'complete', `entry ${String(n)}`, found, `a ${kind}`);
    } else if (kind === 'load-opened') {
      readable.add(load);
      count(load, { ...(shaped.data as z.infer<typeof openedSchema>), n });
    } else if (kind === 'load-corrected') {
      const { change } = shaped.data as LoadCorrected;
      const opened = now.get(load);
      if (change.what === 'void') now.delete(load);
      else if (opened)
        count(load, { ...correctedOpening(opened as LoadOpened & OpenedLoad, change), n });
      else if (change.what === 'lot' && change.lot === proof.lot) {
        const expected = `its start: entry ${String(n)} puts it into this lot`;
        findings.add('entry-missing', 'complete', load, 'nothing', expected);
      }
    } else {
      const hex = Buffer.from(leaf).toString('hex');
      const opened = now.get(load);
      accounts.push({ n, load, leaf: hex, opened, account: shaped.data as Account });
    }
  }
  const isOwn = (load: string) => now.get(load)?.lot === proof.lot;
  const opened = [...now.values()].filter(({ load }) => isOwn(load));
  return { opened, counted, readable, isOwn, accounts };
}

/** The form before loads were told as people have put them right. */
function isOfFormat1({ members }: Bundle): boolean {
  const file = jsonOf(members.get('lot.json')) as { format?: unknown } | null;
  return file?.format === 1;
}

/** Whether all entries of the lot are here, up to the checkpoint. */
export function checkComplete(
  bundle: Bundle,
  loads: BundleLoads,
  checkpoint: Checkpoint | null,
  findings: Findings,
): void {
  const { lines, proof } = bundle;
  const last = lines.at(-1)?.entry;
  const listing = last?.kind === 'record-exported' ? listingOf(bundle, last, findings) : null;
  if (!last || !listing) {
    const found = last ? `a ${last.kind} as the last entry` : 'no entries';
    const expected = 'the export’s own entry, which lists all of the lot';
    findings.add('no-listing', 'complete', 'ledger.jsonl', found, expected);
  } else {
    if (checkpoint && checkpoint.size !== last.n + 1) {
      const found = `a list that ends at entry ${String(last.n)}`;
      const expected = `one up to the checkpoint’s last, entry ${String(checkpoint.size - 1)}`;
      findings.add('list-ends-early', 'complete', 'ledger.jsonl', found, expected);
    }
    checkListed(lines, listing, `entry ${String(last.n)}`, findings);
    checkNothingElse(lines, loads, proof.lot, listing, last, findings);
    checkFoldedLot(bundle, listing.entries, findings);
  }
  for (const { entry } of lines) {
    if (entry.kind !== 'lot-filed' || entry.about.lots?.[0] !== proof.lot) continue;
    const filed = listingOf(bundle, entry, findings);
    if (filed) checkListed(lines, filed, `entry ${String(entry.n)}`, findings);
  }
  checkRevisions(loads, findings);
  checkFoundation(lines, loads, findings);
  checkLotFile(bundle, loads, findings);
}

function listingOf({ members }: Bundle, entry: Entry, findings: Findings): LotListing | null {
  const shaped = listingSchema.safeParse(entry.body);
  if (!shaped.success) {
    const expected = 'numbers of all entries of the lot';
    findings.add('no-listing', 'complete', `entry ${String(entry.n)}`, 'no list', expected);
    return null;
  }
  if (!shaped.data.whole) return shaped.data;
  return parsed(members, listingMember(shaped.data.whole.sha256), listingSchema, findings);
}

/** Each entry and each account of a list has its line. */
function checkListed(lines: BundleLine[], listing: LotListing, by: string, findings: Findings) {
  const byNumber = new Map(lines.map((line) => [line.entry.n, line]));
  for (const n of listing.entries) {
    if (byNumber.has(n)) continue;
    const where = `entry ${String(n)}`;
    findings.add('entry-missing', 'complete', where, 'nothing', `the entry that ${by} lists`);
  }
  for (const { load, n, leaf } of listing.loads) {
    const line = byNumber.get(n);
    if (!line || Buffer.from(line.leaf).toString('hex') === leaf) continue;
    const expected = `the account of ${load} that ${by} names`;
    findings.add('entry-missing', 'complete', `entry ${String(n)}`, 'another entry', expected);
  }
}

function checkNothingElse(
  lines: BundleLine[],
  { counted, isOwn }: BundleLoads,
  lot: string,
  { entries }: LotListing,
  last: Entry,
  findings: Findings,
): void {
  const listed = new Set(entries);
  for (const { entry } of lines) {
    const { n, kind, about } = entry;
    if (n === last.n || listed.has(n)) continue;
    const isOfLot = about.lots?.includes(lot) === true || isOwn(about.load ?? '');
    if (!isOfLot && isFoundation(entry, counted)) continue;
    const found = isOfLot ? kind : `${kind}, of another lot or of none`;
    const expected = `an entry that entry ${String(last.n)} lists`;
    findings.add('entry-not-listed', 'complete', `entry ${String(n)}`, found, expected);
  }
}

/** Revisions of a load count up from 1, each naming the one before it. */
function checkRevisions({ accounts }: BundleLoads, findings: Findings): void {
  const before = new Map<string, BundleAccount>();
  for (const each of accounts) {
    const previous = before.get(each.load);
    const { revision, amends } = each.account;
    const expected = (previous?.account.revision ?? 0) + 1;
    if (revision !== expected || (previous && amends !== previous.leaf)) {
      const found = `revision ${String(revision)} of ${each.load}`;
      const wanted = `revision ${String(expected)}, naming the account before it`;
      findings.add('revision-missing', 'complete', `entry ${String(each.n)}`, found, wanted);
    }
    before.set(each.load, each);
  }
}

/** What a load rests on is here too: its recipe's revision with its approval, its plant file. */
function checkFoundation(lines: BundleLine[], { counted }: BundleLoads, findings: Findings): void {
  const missing = (load: string, what: string) =>
    findings.add('foundation-missing', 'complete', load, 'nothing', what);
  for (const each of counted) {
    const before = lines
      .map(({ entry }) => entry)
      .filter((entry) => entry.n < each.n && isFoundation(entry, [each]));
    const kinds = new Set(
      before.filter((entry) => isOfSameFile(entry, each)).map(({ kind }) => kind),
    );
    if (!kinds.has('plant-revised')) missing(each.load, 'the entry of its plant file');
    if (each.recipe === null) continue;
    if (!kinds.has('recipe-proposed')) missing(each.load, 'the entry of its recipe’s revision');
    if (!kinds.has('recipe-approved')) missing(each.load, 'the entry that approves its recipe');
  }
}

/** What was proposed and approved is the very file that the load was opened with. */
function isOfSameFile({ kind, body }: Entry, { recipe }: OpenedLoad): boolean {
  if (kind !== 'recipe-proposed' && kind !== 'recipe-approved') return true;
  return (body as RecipeApproved).recipe.sha256 === recipe?.sha256;
}

const toldCoat = z.looseObject({ parts: z.array(z.string()).optional() });

const coatsSchema = z.looseObject({ coats: z.array(z.looseObject({})).optional() });

const lotFileSchema = z.looseObject({
  lot: z.string(),
  loads: z.array(
    z.looseObject({
      load: z.string(),
      verdict: z.string(),
      side: z.string().nullable(),
      revision: z.number().nullable(),
      result: z.string().nullable(),
      parts: z.array(z.string()).optional(),
      coats: z.array(toldCoat).optional(),
    }),
  ),
  coats: z.array(z.looseObject({})).optional(),
  entries: z.array(z.unknown()),
});

/** `lot.json` is for programs and people: it must not say other than the entries do. */
function checkLotFile(bundle: Bundle, loads: BundleLoads, findings: Findings): void {
  const file = parsed(bundle.members, 'lot.json', lotFileSchema, findings);
  if (!file) return;
  const differs = (found: string, expected: string) =>
    findings.add('lot-file-differs', 'complete', 'lot.json', found, expected);
  if (file.lot !== bundle.proof.lot) differs(`lot ${file.lot}`, `lot ${bundle.proof.lot}`);
  for (const { load } of loads.opened) {
    const told = file.loads.find((each) => each.load === load);
    const last = loads.accounts.filter((each) => each.load === load).at(-1)?.account;
    if (!told) differs(`no load ${load}`, 'each load that was opened for the lot');
    else if (last && !saysSame(told, last)) {
      const found = `${load}: ${told.verdict}, revision ${String(told.revision)}`;
      differs(found, `${last.verdict}, revision ${String(last.revision)}, as sealed`);
    }
  }
  checkCoatsTold(bundle, loads, file, differs);
  const lines = new Set(bundle.lines.map(({ bytes }) => bytes.toString('utf8')));
  for (const entry of file.entries) {
    if (lines.has(canonicalJson(entry))) continue;
    const { n } = entry as { n?: unknown };
    differs(`another entry ${String(n)}`, 'the one of ledger.jsonl');
  }
}

/** Coats are told as the results say them, and stacked as their parts went through the loads. */
function checkCoatsTold(
  { members }: Bundle,
  { accounts }: BundleLoads,
  file: z.infer<typeof lotFileSchema>,
  differs: (found: string, expected: string) => void,
): void {
  for (const { load, coats = [] } of file.loads) {
    const last = accounts.filter((each) => each.load === load).at(-1);
    const result = last && members.get(accountMember(last.n, 'result.json'));
    const recorded = coatsSchema.safeParse(jsonOf(result)).data?.coats ?? [];
    const withoutUnit = coats.map((coat) => without(coat, ['unit']));
    const withoutState = recorded.map((coat) => without(coat, ['law', 'states']));
    if (canonicalJson(withoutUnit) !== canonicalJson(withoutState)) {
      differs(`${load}: other coats`, 'those of its result.json');
    }
  }
  const loads = file.loads.map(({ load, parts = [], coats = [] }) => ({ load, parts, coats }));
  const stacks = lotCoats(loads as unknown as BakeTold[]);
  if (canonicalJson(file.coats ?? []) !== canonicalJson(stacks)) {
    differs('other coats', 'those of its loads');
  }
}

function without(value: object, names: string[]): object {
  return Object.fromEntries(Object.entries(value).filter(([name]) => !names.includes(name)));
}

function saysSame(told: z.infer<typeof lotFileSchema>['loads'][number], account: Account) {
  return (
    told.verdict === account.verdict &&
    told.side === account.side &&
    told.revision === account.revision &&
    told.result === account.result.sha256
  );
}
