import Database from 'better-sqlite3';
import { chainHash } from './journal.ts';
import { JournalError } from './journal-error.ts';
import { headOfJournal } from './schema.ts';

export interface ChainFault {
  /** The batch. */
  seq: number;
  what: 'missing' | 'changed' | 'unreadable';
}

/**
 * Reads every batch of a journal and says which are not what was committed. What is whole stays
 * readable: a damaged batch takes nothing else with it.
 *
 * @param stopAfter faults; a destroyed file has them everywhere
 * @throws JournalError when the file cannot be opened at all, or does not say how long it is
 */
export function checkChain(path: string, stopAfter = 100): { head: number; faults: ChainFault[] } {
  const db = opened(path);
  try {
    const head = headOf(db, path);
    const batch = db.prepare<[number], { body: Buffer; hash: Buffer; dropped: number }>(
      'SELECT body, hash, dropped FROM batch WHERE seq = ?',
    );
    const anchor = db.prepare<[number], { seq: number; hash: Buffer }>(
      'SELECT seq, hash FROM anchor WHERE seq >= ? ORDER BY seq LIMIT 1',
    );
    const next = db.prepare<[number], { seq: number }>(
      'SELECT seq FROM batch WHERE seq > ? ORDER BY seq LIMIT 1',
    );
    const faults: ChainFault[] = [];
    let previous: Buffer | null = Buffer.alloc(32);
    for (let seq = 1; seq <= head && faults.length < stopAfter; seq += 1) {
      const row = hashedRowOf(() => batch.get(seq));
      if (row === 'missing') {
        // Dropped in order: the last of the run has left its hash.
        const there = rowOf(() => next.get(seq));
        const last = hashedRowOf(() => anchor.get(seq));
        if (typeof there === 'object' && typeof last === 'object' && last.seq < there.seq) {
          previous = last.hash;
          seq = last.seq;
          continue;
        }
      }
      if (typeof row === 'string') {
        faults.push({ seq, what: row });
        // The next batch cannot be held against what is not there.
        previous = null;
        continue;
      }
      // What readings were taken out of is no longer what was hashed; the next still follows it.
      const isWhole =
        previous === null || row.dropped > 0 || chainHash(previous, row.body).equals(row.hash);
      if (!isWhole) faults.push({ seq, what: 'changed' });
      previous = row.hash;
    }
    return { head, faults };
  } finally {
    db.close();
  }
}

function rowOf<Row>(get: () => Row | undefined): Row | 'missing' | 'unreadable' {
  try {
    return get() ?? 'missing';
  } catch (error) {
    if (error instanceof Database.SqliteError) return 'unreadable';
    throw error;
  }
}

/** A row whose bytes are bytes: a damaged record can be of another type than it was stored as. */
function hashedRowOf<Row extends { hash: Buffer; body?: Buffer }>(
  get: () => Row | undefined,
): Row | 'missing' | 'unreadable' {
  const row = rowOf(get);
  if (typeof row === 'string') return row;
  const { hash, body = hash } = row;
  return Buffer.isBuffer(hash) && Buffer.isBuffer(body) ? row : 'unreadable';
}

function opened(path: string): Database.Database {
  try {
    return new Database(path, { readonly: true, fileMustExist: true });
  } catch (error) {
    throw JournalError.of(error, path);
  }
}

function headOf(db: Database.Database, path: string): number {
  try {
    return db.prepare<[], { seq: number }>(headOfJournal).get()?.seq ?? 0;
  } catch (error) {
    throw JournalError.of(error, path);
  }
}
