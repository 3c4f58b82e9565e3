import {
  closeSync,
  copyFileSync,
  mkdtempSync,
  openSync,
  rmSync,
  statSync,
  writeSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { checkChain } from '@setwell/collector/journal/chain';
import { JournalError, openJournal } from '@setwell/collector/journal/journal';
import { Chance } from '../simulation/day/chance.ts';

const batches = 60;
let whole: { path: string; bodies: string[] } | null = null;

/**
 * A journal with some bytes overwritten anywhere: it cannot be opened, or every batch that is not what was
 * committed is named, and every other one is still read.
 */
export function readDamagedJournal(seed: number): void {
  whole ??= wholeJournal();
  const chance = new Chance(seed);
  const folder = mkdtempSync(join(tmpdir(), 'damaged-bytes-'));
  const path = join(folder, 'journal.db');
  try {
    copyFileSync(whole.path, path);
    const file = openSync(path, 'r+');
    for (let i = chance.below(40); i >= 0; i -= 1) {
      writeSync(file, Buffer.from([chance.below(256)]), 0, 1, chance.below(statSync(path).size));
    }
    closeSync(file);
    const named = namedIn(path);
    if (named === null) return;
    const db = new Database(path, { readonly: true });
    for (let seq = 1; seq <= batches; seq += 1) {
      if (named.has(seq) || named.has(seq - 1)) continue;
      const body = bodyOf(db, seq);
      if (body !== whole.bodies[seq - 1]) throw new Error(`batch ${seq} is damaged and not named`);
    }
    db.close();
  } finally {
    rmSync(folder, { recursive: true });
  }
}

function namedIn(path: string): Set<number> | null {
  try {
    const { head, faults } = checkChain(path, batches);
    // A last batch that is gone leaves no trace in the chain; the ledger's hourly entry knows it.
    const named = new Set(faults.map(({ seq }) => seq));
    for (let seq = head + 1; seq <= batches; seq += 1) named.add(seq);
    return named;
  } catch (error) {
    if (error instanceof JournalError || error instanceof Database.SqliteError) return null;
    throw error;
  }
}

function bodyOf(db: Database.Database, seq: number): string | null {
  const row = db
    .prepare<[number], { body: Buffer }>('SELECT body FROM batch WHERE seq = ?')
    .get(seq);
  return row?.body.toString('hex') ?? null;
}

function wholeJournal(): { path: string; bodies: string[] } {
  const folder = mkdtempSync(join(tmpdir(), 'damaged-bytes-'));
  process.once('exit', () => rmSync(folder, { recursive: true, force: true }));
  const path = join(folder, 'journal.db');
  const journal = openJournal(path);
  for (let i = 0; i < batches; i += 1) {
    const common = { quality: 'good', deviceSeq: null, stamped: false, ahead: false } as const;
    const items = Array.from({ length: 40 }, (_, j) => ({
      ...{ point: `p${j % 7}`, t: 1_772_431_200_000 + i * 1000 + j, v: i + j / 8, ...common },
    }));
    journal.append({ receivedMs: i, items, rejects: [] });
  }
  journal.close();
  const db = new Database(path, { readonly: true });
  const bodies = Array.from({ length: batches }, (_, i) => bodyOf(db, i + 1) ?? '');
  db.close();
  return { path, bodies };
}
