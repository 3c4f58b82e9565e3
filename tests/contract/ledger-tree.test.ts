import { mkdtempSync, readdirSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { KeyFolder } from '@setwell/collector/ledger/key-folder';
import { openLedger } from '@setwell/collector/ledger/ledger';
import { sha256 } from '@setwell/collector/ledger/sha256';
import type { Ledger, Proposal, SignedCheckpoint } from '@setwell/collector/ledger/shape';
import { isSignedBy, parseNote, parseVerifierKey } from '@setwell/collector/ledger/signed-note';
import { SteppedClock } from '@setwell/collector/stepped-clock';
import { isConsistent, rootOfInclusion } from '@setwell/shared-models/record/tree';

const log = 'works/c1/1';
let folder: string;
let path: string;
let keys: KeyFolder;
let ledger: Ledger;

const said = (point: string): Proposal => ({
  kind: 'call-raised',
  by: 'collector',
  about: { sensor: point },
  body: { kind: 'sensor-silent', point },
});
const filed: Proposal = { kind: 'lot-filed', by: 'collector', about: { lots: ['K-1'] }, body: {} };

const opened = () => openLedger(path, log, new SteppedClock(1_772_431_330_412), keys);

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'ledger-tree-'));
  path = join(folder, 'ledger.db');
  keys = new KeyFolder(join(folder, 'keys'));
  ledger = opened();
});

afterEach(() => {
  ledger.close();
  rmSync(folder, { recursive: true });
});

/** Changes the closed file behind the ledger's back, its guards removed. */
function behindItsBack(statement: string): void {
  ledger.close();
  const db = new Database(path);
  for (const table of ['entry', 'node', 'checkpoint', 'key']) {
    for (const what of ['update', 'delete']) db.exec(`DROP TRIGGER ${table}_no_${what}`);
  }
  db.exec(statement);
  db.close();
}

const isRight = ({ note, key }: SignedCheckpoint) =>
  isSignedBy(parseNote(note)!, parseVerifierKey(key)!);

describe('the tree in the file', () => {
  it('shows each entry in the root of the newest checkpoint, and each size in each later one', () => {
    for (let n = 0; n < 20; n++) ledger.append([said(`p${n}`), said('q')]);
    ledger.append([filed]);
    const size = ledger.size();
    const root = ledger.tree.root(size);
    expect(ledger.checkpoint()?.root).toBe(root.toString('base64'));
    for (const { n, leaf } of ledger.entriesAfter(-1, 100)) {
      const path = ledger.tree.inclusion(n, size);
      const found = rootOfInclusion(sha256, Buffer.from(leaf, 'hex'), n, size, path);
      expect(found && Buffer.from(found)).toEqual(root);
    }
    for (let earlier = 1; earlier <= size; earlier++) {
      const first = { size: earlier, root: ledger.tree.root(earlier) };
      const path = ledger.tree.consistency(earlier, size);
      expect(isConsistent(sha256, first, { size, root }, path)).toBe(true);
    }
  });

  it('is made for a ledger from before it, which then goes on, and is signed from there', () => {
    ledger.append([said('p1'), said('p2'), filed]);
    const root = ledger.tree.root(3);
    ledger.close();
    const db = new Database(path);
    for (const later of ['node', 'checkpoint', 'key', 'dropped']) db.exec(`DROP TABLE ${later}`);
    db.pragma('user_version = 1');
    db.close();
    ledger = opened();
    expect(ledger.tree.root(3)).toEqual(root);
    expect(ledger.entry(4)).toMatchObject({
      kind: 'key-changed',
      body: { from: null, because: 'first' },
    });
    expect(ledger.checkpoint()).toMatchObject({ size: 5, origin: 'setwell/works/c1/1' });
  });

  it.each([
    ['a node changed', "UPDATE node SET hash = x'00' WHERE level = 2", /signed/],
    ['the tail cut', 'DELETE FROM entry WHERE n > 4', /the last are missing/],
    ['a hole', 'DELETE FROM entry WHERE n = 3', /some are missing/],
  ])('with %s is refused at the start', (_what, statement, because) => {
    ledger.append([said('p1'), said('p2'), said('p3'), said('p4'), filed]);
    behindItsBack(statement);
    expect(opened).toThrow(because);
  });
});

describe('checkpoints', () => {
  it('are signed with what they seal, told at once, and kept over a restart', () => {
    const told: SignedCheckpoint[] = [];
    ledger.onCheckpoint((checkpoint) => told.push(checkpoint));
    ledger.append([said('p1')]);
    expect(told).toEqual([]);
    ledger.append([said('p2'), filed]);
    expect(told.map(({ size }) => size)).toEqual([4]);
    expect(told.every(isRight)).toBe(true);
    ledger.close();
    ledger = opened();
    expect(ledger.checkpoint()).toEqual(told[0]);
    expect(ledger.entry(0)?.body).toEqual({ key: told[0]?.key });
  });

  it('are signed when asked for, where anything is new', () => {
    ledger.append([said('p1')]);
    const first = ledger.sign();
    expect(first).toMatchObject({ size: 2 });
    expect(ledger.sign()).toEqual(first);
  });

  it('lie under keys that nobody else can read', () => {
    const [file] = readdirSync(join(folder, 'keys'));
    expect(statSync(join(folder, 'keys', file!)).mode & 0o777).toBe(0o600);
    expect(statSync(join(folder, 'keys')).mode & 0o777).toBe(0o700);
  });

  it('go on under another key when the first is lost, and the ledger says so', () => {
    const before = ledger.sign()!;
    ledger.close();
    rmSync(join(folder, 'keys'), { recursive: true });
    ledger = opened();
    const after = ledger.checkpoint()!;
    expect(ledger.entry(1)).toMatchObject({
      kind: 'key-changed',
      body: { from: before.key, to: after.key, because: 'missing' },
    });
    expect([isRight(before), isRight(after)]).toEqual([true, true]);
    expect(after.key).not.toBe(before.key);
    expect(ledger.keys().map(({ vkey }) => vkey)).toEqual([before.key, after.key]);
  });
});

describe('lives', () => {
  it('go on in one tree, each with its own key, and say how far the earlier one was seen', () => {
    ledger.append([said('p1'), filed]);
    const old = ledger.checkpoint()!;
    const seen = { size: 9, root: 'ab'.repeat(32) };
    const continued = ledger.continueAs('restored', seen);
    expect(continued).toMatchObject({
      log: 'works/c1/2',
      n: 3,
      body: {
        from: { log: 'works/c1/1', size: 3, root: ledger.tree.root(3).toString('hex') },
        seenOutside: seen,
        because: 'restored',
      },
    });
    const now = ledger.checkpoint()!;
    expect(now).toMatchObject({ origin: 'setwell/works/c1/2', size: 4 });
    expect([isRight(now), now.key === old.key]).toEqual([true, false]);
    const root = (checkpoint: SignedCheckpoint) => ({
      size: checkpoint.size,
      root: Buffer.from(checkpoint.root, 'base64'),
    });
    const proof = ledger.tree.consistency(old.size, now.size);
    expect(isConsistent(sha256, root(old), root(now), proof)).toBe(true);
    ledger.close();
    ledger = opened();
    expect(ledger.append([said('p2')])[0]).toMatchObject({ log: 'works/c1/2', n: 4 });
  });
});
