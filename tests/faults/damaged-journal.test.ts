import { closeSync, mkdtempSync, openSync, rmSync, statSync, writeSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { checkChain } from '@setwell/collector/journal/chain';
import { JournalError, openJournal } from '@setwell/collector/journal/journal';
import { readDamagedJournal } from './damaged-bytes.ts';

const batches = 200;
let folder: string;
let path: string;

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'damaged-'));
  path = join(folder, 'journal.db');
  const journal = openJournal(path);
  for (let i = 0; i < batches; i++) {
    const items = Array.from({ length: 100 }, (_, j) => ({
      point: `p${j % 7}`,
      t: 1_772_431_200_000 + i * 1000 + j,
      v: i + j / 8,
      quality: 'good' as const,
      deviceSeq: null,
      stamped: false,
      ahead: false,
    }));
    journal.append({ receivedMs: i, items, rejects: [] });
  }
  journal.close();
});

afterEach(() => rmSync(folder, { recursive: true }));

function tampered(statement: string): void {
  const db = new Database(path);
  db.exec(statement);
  db.close();
}

describe('a journal', () => {
  it('that is whole has no faults', () => {
    expect(checkChain(path)).toEqual({ head: batches, faults: [] });
  });

  it.each([
    [
      "UPDATE batch SET body = CAST(replace(body, '3', '4') AS BLOB) WHERE seq = 7",
      [{ seq: 7, what: 'changed' }],
    ],
    ["UPDATE batch SET hash = x'00' WHERE seq = 200", [{ seq: 200, what: 'changed' }]],
    ['DELETE FROM batch WHERE seq = 9', [{ seq: 9, what: 'missing' }]],
    [
      'UPDATE batch SET body = (SELECT body FROM batch b WHERE b.seq = 7) WHERE seq = 6',
      [{ seq: 6, what: 'changed' }],
    ],
  ])('in which somebody has changed something names the batch: %s', (statement, faults) => {
    tampered(statement);
    expect(checkChain(path).faults).toEqual(faults);
  });

  it('with pages overwritten anywhere is never taken for whole where a batch is hit', () => {
    // Every sixteenth page from the second on: batches, index and free pages alike.
    const pages = Math.floor(statSync(path).size / 4096);
    const file = openSync(path, 'r+');
    for (let page = 1; page < pages; page += 16) {
      writeSync(file, Buffer.alloc(4096, 0xa5), 0, 4096, page * 4096);
    }
    closeSync(file);
    let found: number;
    try {
      found = checkChain(path, batches).faults.length;
    } catch (error) {
      expect(error).toBeInstanceOf(JournalError);
      return;
    }
    expect(found).toBeGreaterThan(0);
  });

  it('whose bytes have come to say that they are a number names the batch', () => {
    // The seed by which a record's own header was hit.
    expect(() => readDamagedJournal(888)).not.toThrow();
  });

  it('that is none says so', () => {
    expect(() => checkChain(join(folder, 'none.db'))).toThrow(JournalError);
  });
});
