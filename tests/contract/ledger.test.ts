import { createHash } from 'node:crypto';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { LedgerError, leafHash, openLedger } from '@setwell/collector/ledger/ledger';
import type { Ledger, Proposal, StoredEntry } from '@setwell/collector/ledger/shape';
import { SteppedClock } from '@setwell/collector/stepped-clock';

const log = 'works/c1/1';
let folder: string;
let path: string;
let ledger: Ledger;

const raised = (point: string): Proposal => ({
  kind: 'call-raised',
  by: 'collector',
  about: { sensor: point },
  body: { kind: 'sensor-silent', point },
});

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'ledger-'));
  path = join(folder, 'ledger.db');
  ledger = openLedger(path, log, new SteppedClock(1_772_431_330_412));
});

afterEach(() => {
  ledger.close();
  rmSync(folder, { recursive: true });
});

function openedWithout(statement: string): () => Ledger {
  ledger.close();
  const db = new Database(path);
  for (const what of ['update', 'delete']) db.exec(`DROP TRIGGER entry_no_${what}`);
  db.exec(statement);
  db.close();
  return () => openLedger(path, log, new SteppedClock(0));
}

describe('ledger', () => {
  it('begins with the start of its log, and numbers entries without a hole', () => {
    const [first, second] = ledger.append([raised('p1'), raised('p2')]);
    expect(ledger.entry(0)?.kind).toBe('log-started');
    expect([first?.n, second?.n, ledger.size()]).toEqual([1, 2, 3]);
    expect(ledger.entry(2)).toEqual({
      v: 1,
      log,
      n: 2,
      at: 1_772_431_330_412,
      kind: 'call-raised',
      by: 'collector',
      about: { sensor: 'p2' },
      cites: [],
      body: { kind: 'sensor-silent', point: 'p2' },
    });
  });

  it('keeps canonical bytes, and their leaf hash beside them', () => {
    ledger.append([raised('p1')]);
    const stored = ledger.entriesAfter(0, 10)[0];
    expect(stored?.bytes.toString()).toBe(
      '{"about":{"sensor":"p1"},"at":1772431330412,"body":{"kind":"sensor-silent","point":"p1"},' +
        '"by":"collector","cites":[],"kind":"call-raised","log":"works/c1/1","n":1,"v":1}',
    );
    expect(stored?.leaf).toBe(leafHash(stored?.bytes ?? Buffer.alloc(0)).toString('hex'));
  });

  it('hashes the empty entry as the published tree does', () => {
    // SHA-256 of the single byte 0: the leaf of empty data in the test vectors of Certificate
    // Transparency (RFC 6962, 2.1), from memory.
    expect(leafHash(Buffer.alloc(0)).toString('hex')).toBe(
      '6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d',
    );
  });

  it('answers the same act with the same entry, within a group and after a restart', () => {
    const act = { ...raised('p1'), act: '3f1c' };
    const [once, twice] = ledger.append([act, act]);
    expect(twice).toEqual(once);
    ledger.close();
    ledger = openLedger(path, log, new SteppedClock(0));
    expect(ledger.append([act])[0]).toEqual(once);
    expect(ledger.ofAct('3f1c')).toEqual(once);
    expect(ledger.ofAct('4e00')).toBeNull();
    expect(ledger.size()).toBe(2);
  });

  it('appends all of a group or nothing', () => {
    const tooLong: Proposal = { ...raised('p2'), body: { text: 'x'.repeat(65_536) } };
    expect(() => ledger.append([raised('p1'), tooLong])).toThrow(/at most 65536: use a blob/);
    expect(ledger.size()).toBe(1);
    expect(ledger.entriesAfter(-1, 10)).toHaveLength(1);
    expect(ledger.append([raised('p1')])[0]?.n).toBe(1);
  });

  it('keeps documents by their digest', () => {
    const document = Buffer.from('id: shell-13ply\n');
    ledger.append([{ ...raised('p1'), blobs: [document, document] }]);
    expect(ledger.blob('00')).toBeNull();
    const sha256 = createHash('sha256').update(document).digest('hex');
    expect(ledger.blob(sha256)).toEqual(document);
  });

  it('tells its listeners what was committed, until they leave', () => {
    const heard: StoredEntry[][] = [];
    const leave = ledger.onAppend((entries) => heard.push(entries));
    ledger.append([raised('p1'), raised('p2')]);
    leave();
    ledger.append([raised('p3')]);
    expect(heard.map((group) => group.map((entry) => entry.n))).toEqual([[1, 2]]);
  });

  it.each([
    ["UPDATE entry SET bytes = x'00'", 'never changed'],
    ['DELETE FROM entry', 'never removed'],
    ["REPLACE INTO entry (n, bytes, leaf) VALUES (0, x'00', x'00')", 'next number'],
    ["INSERT INTO entry (n, bytes, leaf) VALUES (7, x'00', x'00')", 'next number'],
    ['DELETE FROM act', 'never removed'],
    ["UPDATE blob SET bytes = x'00'", 'never changed'],
  ])('refuses %s from whoever opens the file', (statement, because) => {
    ledger.append([{ ...raised('p1'), act: '3f1c', blobs: [Buffer.from('x')] }]);
    const db = new Database(path);
    expect(() => db.exec(statement)).toThrow(because);
    db.close();
  });

  it('refuses a file with an entry missing', () => {
    ledger.append([raised('p1'), raised('p2')]);
    expect(openedWithout('DELETE FROM entry WHERE n = 1')).toThrow(/some are missing/);
  });

  it('refuses a file whose last entry was changed', () => {
    ledger.append([raised('p1')]);
    const reopened = openedWithout("UPDATE entry SET bytes = x'7b7d' WHERE n = 1");
    expect(reopened).toThrow(/entry 1 is not what was recorded/);
  });

  it('refuses the file of another log', () => {
    ledger.close();
    expect(() => openLedger(path, 'works/c2/1', new SteppedClock(0))).toThrow(LedgerError);
  });
});
