import { keyKinds, membersOutside, type BundleProof } from '@setwell/shared-models/record/bundle';
import {
  checkpointText,
  logOfOrigin,
  type Checkpoint,
} from '@setwell/shared-models/record/checkpoint';
import { isConsistent, isSame, rootOfInclusion } from '@setwell/shared-models/record/tree';
import { digestOfMembers } from '../export/lot-bundle.ts';
import {
  heldCheckpoint,
  signedCheckpoint,
  type HeldCheckpoint,
} from '../ledger/held-checkpoint.ts';
import { sha256, sha256Hex } from '../ledger/sha256.ts';
import { isSignedBy, parseVerifierKey, type VerifierKey } from '../ledger/signed-note.ts';
import type { Bundle, BundleLine } from './bundle.ts';
import type { Findings } from './finding.ts';

/** What the auditor brings along. */
export interface Brought {
  /** The line of a verifier key; null: the bundle's own is taken, and the answer says so. */
  key: string | null;
  /** An older checkpoint: its signed note, or as it was copied from a sheet. */
  since: string | null;
  /** The clock of the machine that verifies [ms]. */
  nowMs: number;
}

/** A clock a day ahead is a clock; more is a forged time. */
const aheadMs = 86_400_000;

/** What is signed, and the entries by which its key is known. */
export interface Sealed {
  proof: Pick<BundleProof, 'checkpoint' | 'key' | 'since'>;
  lines: readonly BundleLine[];
}

/** Whether every member is what the signed log says. @returns the checkpoint where it can be read */
export function checkAuthentic(
  bundle: Bundle,
  brought: Brought,
  findings: Findings,
): { checkpoint: Checkpoint | null; key: VerifierKey | null } {
  checkMembers(bundle, findings);
  checkTimes(bundle.lines, brought.nowMs, findings);
  const { checkpoint, key } = checkCheckpoint(bundle, brought, findings);
  if (checkpoint) {
    checkInclusion(bundle, checkpoint, findings);
    checkExported(bundle, findings);
  }
  return { checkpoint, key };
}

/** The checkpoint, its signature by the right key, and older checkpoints as its beginning. */
export function checkCheckpoint(
  sealed: Sealed,
  brought: Brought,
  findings: Findings,
): { checkpoint: Checkpoint | null; key: VerifierKey | null } {
  const signed = signedCheckpoint(sealed.proof.checkpoint);
  if (!signed || logOfOrigin(signed.checkpoint.origin) === null) {
    const expected = 'a signed checkpoint of a log of Setwell';
    findings.add('bad-checkpoint', 'authentic', 'proof.json', 'something else', expected);
    return { checkpoint: null, key: null };
  }
  const { checkpoint, note } = signed;
  const key = checkKey(sealed, checkpoint, brought, findings);
  if (key && !isSignedBy(note, key)) {
    const expected = `a signature by ${key.name}+${key.id}`;
    findings.add('bad-signature', 'authentic', 'proof.json', 'none that is right', expected);
  }
  checkSince(sealed, checkpoint, brought, findings);
  return { checkpoint, key };
}

/** Each member has the digest that proof.json lists, and none that it lists is missing. */
export function checkMembers({ proof, members }: Bundle, findings: Findings): void {
  const digests = [...members].map(([name, bytes]) => [name, sha256Hex(bytes)] as const);
  checkDigests(proof.members, new Map(digests), findings);
}

/** @param found SHA-256 of each member that is there */
export function checkDigests(
  listed: Readonly<Record<string, string>>,
  found: ReadonlyMap<string, string>,
  findings: Findings,
): void {
  for (const [name, digest] of found) {
    if (name === 'proof.json' || listed[name] === digest) continue;
    const expected = listed[name] ?? 'none';
    findings.add('member-changed', 'authentic', name, `SHA-256 ${digest}`, expected);
  }
  for (const name of Object.keys(listed)) {
    if (found.has(name)) continue;
    const expected = 'the member that proof.json lists';
    findings.add('missing-member', 'authentic', name, 'nothing', expected);
  }
}

export function checkTimes(lines: readonly BundleLine[], nowMs: number, findings: Findings): void {
  for (const { entry } of lines) {
    if (entry.at <= nowMs + aheadMs && entry.at >= 0) continue;
    const found = timeOf(entry.at);
    const expected = `a time before ${timeOf(nowMs)}`;
    findings.add('future-time', 'authentic', `entry ${String(entry.n)}`, found, expected);
  }
}

function timeOf(ms: number): string {
  const date = new Date(ms);
  return Number.isNaN(date.getTime()) ? `${String(ms)} ms` : date.toISOString();
}

/** The key that is to be right: the one brought along, else the bundle's, which its log must name. */
function checkKey(
  { proof, lines }: Sealed,
  { origin, size }: Checkpoint,
  brought: Brought,
  findings: Findings,
): VerifierKey | null {
  const own = parseVerifierKey(proof.key);
  const key = brought.key === null ? own : parseVerifierKey(brought.key);
  if (!key || !own || own.name !== origin) {
    const found = key ? proof.key : 'no verifier key';
    findings.add('other-key', 'authentic', 'proof.json', found, `the key of ${origin}`);
    return key;
  }
  if (key.text !== own.text) {
    const found = `signed by ${own.name}+${own.id}`;
    const expected = `the key brought along, ${key.name}+${key.id}`;
    findings.add('other-key', 'authentic', 'proof.json', found, expected);
  }
  const namedLast = lines
    .filter(({ entry }) => keyKinds.includes(entry.kind) && entry.n < size)
    .map(({ entry }) => entry.body as { key?: unknown; to?: unknown })
    .map(({ key: begun, to }) => to ?? begun)
    .filter((text) => typeof text === 'string')
    .at(-1);
  if (namedLast !== own.text) {
    const found = namedLast ?? 'no key';
    findings.add(
      'key-not-in-log',
      'authentic',
      'ledger.jsonl',
      found,
      `the log's key: ${own.text}`,
    );
  }
  return key;
}

function checkInclusion({ proof, lines }: Bundle, checkpoint: Checkpoint, findings: Findings) {
  const { size } = checkpoint;
  const root = Buffer.from(checkpoint.root, 'base64');
  const life = collectorOf(logOfOrigin(checkpoint.origin) ?? '');
  if (proof.entries.length !== lines.length) {
    const found = `${String(lines.length)} entries`;
    const expected = `the ${String(proof.entries.length)} that proof.json has paths for`;
    findings.add('not-in-checkpoint', 'authentic', 'ledger.jsonl', found, expected);
  }
  let before = -1;
  for (const [index, { entry, leaf }] of lines.entries()) {
    const where = `entry ${String(entry.n)}`;
    const proved = proof.entries[index];
    const path = (proved?.path ?? []).map((text) => Buffer.from(text, 'base64'));
    const found = rootOfInclusion(sha256, leaf, entry.n, size, path);
    const isExact = proved?.path.every((text, at) => path[at]?.toString('base64') === text);
    const isIn = found !== null && isSame(found, root) && proved?.n === entry.n && isExact;
    if (!isIn || entry.n <= before) {
      const expected = `the entry of the checkpoint of ${String(size)} entries`;
      findings.add('not-in-checkpoint', 'authentic', where, 'bytes that are not in it', expected);
    }
    if (collectorOf(entry.log) !== life) {
      findings.add('other-log', 'authentic', where, entry.log, `a life of ${life}`);
    }
    before = entry.n;
  }
}

function collectorOf(log: string): string {
  return log.slice(0, log.lastIndexOf('/'));
}

/** From an older checkpoint to this one: the bundle's own, and the one brought along. */
function checkSince(
  { proof, lines }: Sealed,
  checkpoint: Checkpoint,
  { since, key }: Brought,
  findings: Findings,
): void {
  const keys = lines
    .filter(({ entry }) => keyKinds.includes(entry.kind))
    .map(({ entry }) => entry.body as { key?: unknown; to?: unknown })
    .flatMap(({ key: begun, to }) => [to, begun])
    .concat(key ?? [])
    .flatMap((text) => (typeof text === 'string' ? (parseVerifierKey(text) ?? []) : []));
  const now = { size: checkpoint.size, root: Buffer.from(checkpoint.root, 'base64') };
  const shown = (told: HeldCheckpoint | null, path: readonly string[]): string | null => {
    if (!told) return 'something that is no checkpoint';
    const { note, checkpoint: older } = told;
    if (note && !keys.some((each) => isSignedBy(note, each))) return foreignSignature;
    const first = { size: older.size, root: Buffer.from(older.root, 'base64') };
    const hashes = path.map((each) => Buffer.from(each, 'base64'));
    if (isConsistent(sha256, first, now, hashes)) return null;
    return older.size > now.size
      ? `a checkpoint of ${String(older.size)} entries: this bundle is older`
      : `a log of which the ${String(older.size)} entries of the older checkpoint are not the beginning`;
  };
  const expected = 'the older checkpoint as the beginning of this log';
  if (proof.since) {
    const fault = shown(signedCheckpoint(proof.since.checkpoint), proof.since.path);
    if (fault !== null) findings.add('since-broken', 'authentic', 'proof.json', fault, expected);
  }
  if (since === null) return;
  const held = heldCheckpoint(since);
  const older = held?.checkpoint;
  const tied = proof.since && signedCheckpoint(proof.since.checkpoint)?.checkpoint;
  if (tied && older && checkpointText(tied) === checkpointText(older)) return;
  // The same size needs no path, and a younger one of the auditor's is found out without any.
  const fault = shown(held, []);
  if (fault === null) return;
  if (older && older.size > 0 && older.size < now.size && fault !== foreignSignature) {
    const found = proof.since ? 'a path from another checkpoint' : 'no path from it';
    const ask = 'one from it: setwell export lot … --since with that checkpoint';
    findings.add('since-not-shown', 'authentic', 'proof.json', found, ask);
  } else {
    findings.add('since-broken', 'authentic', 'proof.json', fault, expected);
  }
}

const foreignSignature = 'a signature by no key of this log';

/** The export's own entry fixes the members outside the proof. */
function checkExported({ proof, lines }: Bundle, findings: Findings): void {
  const exported = lines.at(-1)?.entry;
  if (exported?.kind !== 'record-exported') return;
  const { members } = exported.body as { members?: unknown };
  const found = digestOfMembers(proof.members);
  if (members === found) return;
  const listed = Object.keys(proof.members).filter((name) => !membersOutside.includes(name));
  const where = `${String(listed.length)} members`;
  const expected = `the members that were exported: ${String(members ?? 'none named')}`;
  findings.add('not-what-was-exported', 'authentic', where, found, expected);
}
