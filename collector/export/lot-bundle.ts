import type { LoadAmended, LoadSealed, RecordExported } from '@setwell/shared-models/record/bodies';
import {
  accountMember,
  isFoundation,
  listingMember,
  membersOutside,
  modelMember,
  type BundleProof,
} from '@setwell/shared-models/record/bundle';
import { droppedBefore } from '@setwell/shared-models/record/retention';
import { canonicalJson } from '@setwell/shared-models/record/canonical';
import type { Entry } from '@setwell/shared-models/record/entry';
import { isAccount, type LotFile } from '@setwell/shared-models/record/lot-file';
import { Openings } from '@setwell/shared-models/record/openings';
import { heldCheckpoint } from '../ledger/held-checkpoint.ts';
import { sha256Hex } from '../ledger/sha256.ts';
import type { Ledger, SignedCheckpoint } from '../ledger/shape.ts';
import type { LedgerIndex } from '../ledger/ledger-index.ts';
import type { ReleasedModel } from '../verify/released-models.ts';
import { bundleReadme } from './bundle-readme.ts';
import { storedZip, type ZipMember } from './stored-zip.ts';

/** An older checkpoint that is none of this log's, or none that can be shown to be its beginning. */
export class SinceRefused extends Error {
  readonly found: string;
  readonly expected: string;

  constructor(found: string, expected: string) {
    super(`found ${found}; expected ${expected}`);
    this.found = found;
    this.expected = expected;
  }
}

/** Where a bundle ties itself to what its reader has already. */
export interface Since {
  note: string;
  size: number;
}

export interface BundleRequest {
  file: LotFile;
  /** What the lot's entries rest on beside themselves, oldest first. */
  foundation: Entry[];
  ledger: Ledger;
  /** Released models by the digest a record names. */
  models: ReadonlyMap<string, ReleasedModel>;
  pdf: Buffer | null;
  /** Null: none was asked for. */
  since: Since | null;
}

/**
 * The members that lie outside the proof, in their order. What binds them is the digest of their digests,
 * which the export's own entry carries.
 */
export function bundleMembers(request: BundleRequest): ZipMember[] {
  const { file, ledger, pdf } = request;
  const members: ZipMember[] = [
    { name: 'README.txt', bytes: Buffer.from(bundleReadme(file)) },
    { name: 'lot.json', bytes: Buffer.from(canonicalJson(file)) },
  ];
  const droppedN = droppedBefore(file.entries);
  const own = new Set(file.loads.map(({ load }) => load));
  const openings = new Openings();
  for (const entry of file.entries) {
    openings.take(entry);
    if (!isAccount(entry)) continue;
    const load = entry.about.load ?? '';
    // Documents of a load that has left the lot may have gone with the one it is in now.
    const isGone = entry.n < droppedN || !own.has(load);
    const recipe = openings.get(load)?.recipe?.sha256;
    members.push(...accountFiles(entry, recipe, ledger, isGone));
  }
  for (const { body } of file.entries) {
    const { whole } = body as { whole?: { sha256: string } };
    if (whole) members.push(blobMember(listingMember(whole.sha256), whole.sha256, ledger));
  }
  for (const model of modelsOf(request)) {
    members.push({ name: modelMember(model.number), bytes: model.bytes });
  }
  if (pdf) members.push({ name: 'record.pdf', bytes: pdf });
  return members;
}

/** Digest of the digests of the members outside the proof. */
export function digestOfMembers(members: Record<string, string>): string {
  const outside = Object.entries(members).filter(([name]) => !membersOutside.includes(name));
  return sha256Hex(Buffer.from(canonicalJson(Object.fromEntries(outside))));
}

export function digestsOf(members: readonly ZipMember[]): Record<string, string> {
  return Object.fromEntries(members.map(({ name, bytes }) => [name, sha256Hex(bytes)]));
}

/**
 * The bundle, once its export is in the ledger.
 *
 * @param exported the export's entry; the checkpoint covers it
 */
export function lotBundle(
  request: BundleRequest,
  outside: ZipMember[],
  exported: Entry<RecordExported>,
  checkpoint: SignedCheckpoint,
): Generator<Buffer> {
  const { file, foundation, ledger, since } = request;
  const numbers = new Set([...foundation, ...file.entries, exported].map(({ n }) => n));
  const lines: Buffer[] = [];
  const entries: BundleProof['entries'] = [];
  for (const n of [...numbers].sort((a, b) => a - b)) {
    const [stored] = ledger.entriesAfter(n - 1, 1);
    if (stored?.n !== n) throw new Error(`no entry ${String(n)}`);
    lines.push(stored.bytes, lineFeed);
    entries.push({ n, path: ledger.tree.inclusion(n, checkpoint.size).map(base64) });
  }
  const { whole } = exported.body;
  const members = whole
    ? [...outside, blobMember(listingMember(whole.sha256), whole.sha256, ledger)]
    : outside;
  const bound = [...members, { name: 'ledger.jsonl', bytes: Buffer.concat(lines) }];
  const proof: BundleProof = {
    format: 1,
    lot: file.lot,
    checkpoint: checkpoint.note,
    key: checkpoint.key,
    entries,
    since: since && {
      checkpoint: since.note,
      path: ledger.tree.consistency(since.size, checkpoint.size).map(base64),
    },
    members: digestsOf(bound),
  };
  return storedZip([...bound, { name: 'proof.json', bytes: Buffer.from(canonicalJson(proof)) }]);
}

const lineFeed = Buffer.from('\n');

/**
 * An older checkpoint of the same log, as its signed note or copied from a sheet.
 *
 * @throws SinceRefused for any other
 */
export function sinceOf(told: string, ledger: Ledger): Since {
  const held = heldCheckpoint(told);
  if (!held) {
    throw new SinceRefused('something else', 'a signed checkpoint, or one copied from a sheet');
  }
  const { checkpoint: from } = held;
  if (from.size === 0 || from.size > ledger.size()) {
    const found = `a checkpoint of ${String(from.size)} entries`;
    throw new SinceRefused(found, `one of 1 to ${String(ledger.size())}`);
  }
  if (ledger.tree.root(from.size).toString('base64') !== from.root) {
    const found = `another root for the first ${String(from.size)} entries`;
    throw new SinceRefused(found, 'the root of this log: these are two logs');
  }
  const note = held.note ? told : ledger.noteOf(from.size);
  if (note === null) {
    const found = `no signature for ${String(from.size)} entries`;
    throw new SinceRefused(found, 'a checkpoint that was signed and printed');
  }
  return { note, size: from.size };
}

function accountFiles(
  { n, body }: Entry<LoadSealed | LoadAmended>,
  recipe: string | undefined,
  ledger: Ledger,
  isGone: boolean,
): ZipMember[] {
  const named = [
    ['input.json', body.input.sha256],
    ['readings.csv', body.readings.sha256],
    ['result.json', body.result.sha256],
    ['recipe.yaml', recipe],
    ['doubtful.csv', body.doubtful?.sha256],
  ] as const;
  return named.flatMap(([name, sha256]) => {
    if (sha256 === undefined || (isGone && !ledger.blob(sha256))) return [];
    return [blobMember(accountMember(n, name), sha256, ledger)];
  });
}

function blobMember(name: string, sha256: string, ledger: Ledger): ZipMember {
  const bytes = ledger.blob(sha256);
  if (!bytes) throw new Error(`${name}: no document ${sha256}`);
  return { name, bytes };
}

/** Released models that the lot's accounts name, by number. */
function modelsOf({ file, models }: BundleRequest): ReleasedModel[] {
  const used = new Map<number, ReleasedModel>();
  for (const entry of file.entries) {
    const sha256 = isAccount(entry) ? entry.body.model.sha256 : null;
    const model = sha256 === null ? undefined : models.get(sha256);
    if (model) used.set(model.number, model);
  }
  return [...used.values()].sort((a, b) => a.number - b.number);
}

/** The entries of a ledger that a lot rests on beside its own. */
export function foundationOf(ledger: Ledger, index: LedgerIndex, file: LotFile): Entry[] {
  const openings = new Openings();
  for (const entry of file.entries) openings.take(entry);
  return [...ledger.keys().map(({ n }) => n), ...index.foundation()]
    .map((n) => ledger.entry(n))
    .filter((entry): entry is Entry => entry !== null && isFoundation(entry, openings.counted()));
}

function base64(bytes: Buffer): string {
  return bytes.toString('base64');
}
