import { keyKinds } from '@setwell/shared-models/record/bundle';
import type { Checkpoint } from '@setwell/shared-models/record/checkpoint';
import {
  isOutsideProof,
  isPeriodMember,
  type PeriodProof,
} from '@setwell/shared-models/record/period';
import { rootOfShown } from '@setwell/shared-models/record/shown-entries';
import { isSame } from '@setwell/shared-models/record/tree';
import { worstVerdict } from '@setwell/shared-models/score/window';
import { z } from 'zod';
import { digestOfMembers } from '../export/lot-bundle.ts';
import { sha256, sha256Hex } from '../ledger/sha256.ts';
import { checkCheckpoint, checkDigests, checkTimes, type Brought } from './authentic.ts';
import { linesOf, parsed, periodProofSchema, readBundle, type BundleLine } from './bundle.ts';
import { Findings } from './finding.ts';
import { ModelPool } from './model-pool.ts';
import type { ReleasedModel } from './released-models.ts';
import type { StoredFile } from './stored-file.ts';
import { proven, timeText, verifyWith, type Verification } from './verify-bundle.ts';

/** What a period's bundle shows, and what it does not. */
export interface PeriodVerification extends Omit<
  Verification,
  'lot' | 'loads' | 'hold' | 'dropped'
> {
  period: { fromMs: number; toMs: number } | null;
  lots: VerifiedLot[];
}

interface VerifiedLot extends Pick<Verification, 'lot' | 'verdict' | 'hold' | 'dropped'> {
  bundle: string;
  accounts: number;
}

/** What is kept of the members while they are read: a year's entries, and no lot. */
interface Read {
  digests: Map<string, string>;
  /** Those that are small. */
  members: Map<string, Buffer>;
  /** Of `ledger/`: entries that name a key, and the last one, whole; of all others what is asked of them. */
  lines: BundleLine[];
  entries: { n: number; at: number; leaf: Uint8Array; lots: string[]; load: string | null }[];
  last: BundleLine | null;
  /** Leaf of each entry that a lot's bundle holds, by its number. */
  ofLots: Map<number, Uint8Array>;
  /** Loads of those lots. */
  loads: Set<string>;
  lots: PeriodVerification['lots'];
  models: Set<number>;
  /** Every lot's results came out again. */
  recomputed: boolean;
  demo: boolean;
}

/**
 * A period's bundle: every lot of it as `verifyBundle` does, every entry of the period in the checkpoint
 * without a gap, and no entry that tells of a lot without that lot's bundle.
 */
export async function verifyPeriod(
  file: StoredFile,
  brought: Brought,
  models: ReadonlyMap<string, ReleasedModel>,
): Promise<PeriodVerification> {
  const findings = new Findings();
  const read = await readMembers(file, brought, models, findings);
  const proof = parsed(read.members, 'proof.json', periodProofSchema, findings);
  checkDigests(proof?.members ?? {}, read.digests, findings);
  const sealed = proof && checkCheckpoint({ proof, lines: read.lines }, brought, findings);
  checkPeriodFile(read, findings);
  if (proof) {
    if (sealed?.checkpoint) checkEntries(proof, sealed.checkpoint, read, findings);
    checkPeriod(proof, read, findings);
  }
  const authentic = !findings.has('authentic');
  const recomputed = read.recomputed && !findings.has('recomputed');
  const at = read.last ? timeText(read.last.entry.at) : null;
  const verdicts = read.lots.flatMap(({ verdict }) => verdict ?? []);
  const numbers = [...read.models].sort((a, b) => a - b);
  return {
    period: proof && { fromMs: proof.fromMs, toMs: proof.toMs },
    ...{ authentic, complete: authentic && !findings.has('complete'), recomputed },
    verdict: verdicts.length === 0 ? null : worstVerdict(verdicts),
    checkpoint: sealed?.checkpoint ? { ...sealed.checkpoint, at } : null,
    key: sealed?.key
      ? { text: sealed.key.text, from: brought.key === null ? 'bundle' : 'brought' }
      : null,
    ...{ lots: read.lots, demo: read.demo, findings: findings.list },
    proven: proven(authentic ? at : null, recomputed ? numbers : null),
  };
}

async function readMembers(
  file: StoredFile,
  brought: Brought,
  models: ReadonlyMap<string, ReleasedModel>,
  findings: Findings,
): Promise<Read> {
  const read: Read = {
    ...{ digests: new Map(), members: new Map(), lines: [], entries: [], last: null },
    ...{ ofLots: new Map(), loads: new Set(), lots: [], models: new Set() },
    ...{ recomputed: true, demo: false },
  };
  const pool = new ModelPool();
  try {
    for (const { name, bytes } of file.members()) {
      if (read.digests.has(name) || !isPeriodMember(name)) {
        const found = read.digests.has(name)
          ? 'a second member of that name'
          : 'a name of no member';
        const expected = 'the members of a period’s bundle, each once';
        findings.add('unknown-member', 'authentic', name, found, expected);
        continue;
      }
      read.digests.set(name, sha256Hex(bytes));
      if (name.startsWith('ledger/')) takeEntries(name, bytes, brought, read, findings);
      else if (!name.startsWith('lots/')) read.members.set(name, bytes);
      else {
        const verification = await verifyWith(pool, bytes, { ...brought, since: null }, models);
        takeLot(name, bytes, verification, read, findings);
      }
    }
  } finally {
    await pool.end();
  }
  if (file.fault !== null) {
    findings.add(
      'not-a-bundle',
      'authentic',
      'bundle',
      file.fault,
      'a stored zip of setwell export',
    );
  } else if (!file.isCanonical) {
    const found = 'bytes that belong to no member, or headers that do not agree';
    const expected = 'the one archive that these members have';
    findings.add('not-canonical', 'authentic', 'bundle', found, expected);
  }
  return read;
}

function takeEntries(
  name: string,
  bytes: Buffer,
  { nowMs }: Brought,
  read: Read,
  findings: Findings,
): void {
  const lines = linesOf(name, bytes, findings);
  checkTimes(lines, nowMs, findings);
  for (const line of lines) {
    const { n, at, kind, about } = line.entry;
    read.entries.push({ n, at, leaf: line.leaf, lots: about.lots ?? [], load: about.load ?? null });
    if (keyKinds.includes(kind)) read.lines.push(line);
    read.last = line;
  }
}

function takeLot(
  name: string,
  bytes: Buffer,
  verification: Verification,
  read: Read,
  findings: Findings,
): void {
  const { lot, verdict, loads, hold, dropped, demo } = verification;
  for (const finding of verification.findings) findings.addOf(name, finding);
  read.lots.push({ lot, bundle: name, verdict, accounts: loads.length, hold, dropped });
  read.demo ||= demo;
  read.recomputed &&= verification.recomputed;
  for (const { model } of loads) if (model !== null) read.models.add(model);
  const bundle = readBundle(bytes, new Findings());
  for (const { entry, leaf } of bundle?.lines ?? []) {
    read.ofLots.set(entry.n, leaf);
    if (entry.kind === 'load-opened') read.loads.add(entry.about.load ?? '');
  }
}

/** What is shown is what the checkpoint was signed over, to the last entry. */
function checkEntries(
  { shown, hidden }: PeriodProof,
  { size, root }: Checkpoint,
  { entries }: Read,
  findings: Findings,
): void {
  let next = 0;
  for (const [from, to] of shown) {
    for (let n = from; n < to && next <= entries.length; n += 1, next += 1) {
      const found = entries[next]?.n;
      if (found === n) continue;
      const told = found === undefined ? 'nothing' : `entry ${String(found)}`;
      findings.add(
        'entry-missing',
        'complete',
        `entry ${String(n)}`,
        told,
        'the entry that proof.json shows',
      );
    }
  }
  const leaves = entries.map(({ leaf }) => leaf);
  const hashes = hidden.map((text) => Buffer.from(text, 'base64'));
  const isExact = hidden.every((text, at) => hashes[at]?.toString('base64') === text);
  const found = rootOfShown(sha256, shown, size, leaves, hashes);
  if (isExact && found && isSame(found, Buffer.from(root, 'base64'))) return;
  const expected = `the entries of the checkpoint of ${String(size)} entries`;
  findings.add('not-in-checkpoint', 'authentic', 'ledger/', 'entries that are not in it', expected);
}

const exportedSchema = z.looseObject({
  as: z.literal('period'),
  ...{ fromMs: z.number(), toMs: z.number(), sha256: z.string(), members: z.string() },
});

/** The period is all here: its entries lie between neighbours of other times, and each lot has its bundle. */
function checkPeriod(proof: PeriodProof, read: Read, findings: Findings): void {
  const { fromMs, toMs, first, next } = proof;
  const differs = (where: string, found: string, expected: string) =>
    findings.add('not-the-period', 'complete', where, found, expected);
  const exported = exportedSchema.safeParse(read.last?.entry.body).data;
  if (read.last?.entry.kind !== 'record-exported' || !exported) {
    const expected = 'the export’s own entry';
    findings.add('no-listing', 'complete', 'ledger/', 'another entry as the last one', expected);
  } else if (exported.fromMs !== fromMs || exported.toMs !== toMs) {
    differs('proof.json', spanText(fromMs, toMs), spanText(exported.fromMs, exported.toMs));
  } else {
    const outside = [...read.digests].filter(([name]) => isOutsideProof(name));
    const found = digestOfMembers(Object.fromEntries(outside));
    const where = `${String(outside.length)} members`;
    const expected = `the members that were exported: ${exported.members}`;
    if (found !== exported.members) {
      findings.add('not-what-was-exported', 'authentic', where, found, expected);
    }
  }
  const at = new Map(read.entries.map((entry) => [entry.n, entry.at]));
  for (let n = first; n < next && n - first <= read.entries.length; n += 1) {
    if (!at.has(n)) differs(`entry ${String(n)}`, 'nothing', 'each entry of the period');
  }
  const before = at.get(first - 1) ?? (first === 0 ? -Infinity : Infinity);
  if (before >= fromMs) {
    differs(`entry ${String(first - 1)}`, timeOf(before), 'the last entry before the period');
  }
  const after = at.get(next) ?? -Infinity;
  if (after < toMs)
    differs(`entry ${String(next)}`, timeOf(after), 'the first entry after the period');
  checkLots(proof, read, findings);
}

const keptSchema = z.looseObject({ n: z.number() }).nullable().optional();

const periodFileSchema = z.looseObject({
  lots: z.array(
    z.looseObject({
      ...{ lot: z.string(), bundle: z.string(), verdict: z.string().nullable() },
      ...{ hold: keptSchema, dropped: keptSchema },
    }),
  ),
});

/** `period.json` is for programs and people: it must not say other than the lots' bundles do. */
function checkPeriodFile({ members, lots }: Read, findings: Findings): void {
  const file = parsed(members, 'period.json', periodFileSchema, findings);
  if (!file) return;
  const differs = (found: string, expected: string) =>
    findings.add('period-file-differs', 'complete', 'period.json', found, expected);
  const told = new Map(file.lots.map((each) => [each.bundle, each]));
  for (const { bundle } of file.lots) {
    if (!lots.some((each) => each.bundle === bundle)) differs(bundle, 'a bundle that is here');
  }
  for (const { lot, bundle, verdict, hold, dropped } of lots) {
    const said = told.get(bundle);
    if (said?.lot !== lot || said?.verdict !== verdict) {
      const found = said ? `${said.lot}: ${String(said.verdict)}` : `nothing of ${bundle}`;
      differs(found, `${String(lot)}: ${String(verdict)}, as its bundle says`);
    } else if (!isSaid(said.hold, hold) || !isSaid(said.dropped, dropped)) {
      differs(`${said.lot}: another hold or deletion`, 'what the lot’s entries say');
    }
  }
}

/** Early bundles say nothing of it. */
function isSaid(said: { n: number } | null | undefined, entry: { n: number } | null): boolean {
  return said === undefined || said?.n === entry?.n;
}

function checkLots({ first, next }: PeriodProof, read: Read, findings: Findings): void {
  for (const { n, leaf, lots, load } of read.entries) {
    const tellsOfLot = lots.length > 0 || (load !== null && read.loads.has(load));
    if (n < first || n >= next || !tellsOfLot) continue;
    const known = read.ofLots.get(n);
    if (known && isSame(known, leaf)) continue;
    const where = `entry ${String(n)}`;
    const expected = `the bundle of ${lots.length > 0 ? `lot ${lots.join(', ')}` : (load ?? '')}, with it`;
    findings.add('entry-missing', 'complete', where, 'in no lot’s bundle', expected);
  }
}

function spanText(fromMs: number, toMs: number): string {
  return `a period from ${timeOf(fromMs)} to before ${timeOf(toMs)}`;
}

function timeOf(ms: number): string {
  return timeText(ms) ?? 'no time';
}
