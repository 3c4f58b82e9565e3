import Database from 'better-sqlite3';
import type { Entry } from '@setwell/shared-models/record/entry';
import { LedgerError } from './ledger-error.ts';
import type { Ledger, StoredEntry } from './shape.ts';

/** A ledger as those see it who only read: an export while no collector runs. */
export type LedgerReader = Pick<
  Ledger,
  'log' | 'entry' | 'entriesAfter' | 'blob' | 'ofAct' | 'close'
>;

/** @throws LedgerError when there is no ledger */
export function openLedgerReader(path: string): LedgerReader {
  try {
    const db = new Database(path, { readonly: true, fileMustExist: true });
    const all = db.prepare<[number, number], { n: number; bytes: Buffer; leaf: Buffer }>(
      'SELECT n, bytes, leaf FROM entry WHERE n > ? ORDER BY n LIMIT ?',
    );
    const blobs = db.prepare<[string], { bytes: Buffer }>(
      'SELECT bytes FROM blob WHERE sha256 = ?',
    );
    const acts = db.prepare<[string], number>('SELECT n FROM act WHERE id = ?').pluck();
    const entriesAfter = (n: number, limit: number): StoredEntry[] =>
      all.all(n, limit).map((row) => ({ ...row, leaf: row.leaf.toString('hex') }));
    const entry = (n: number): Entry | null => {
      const [stored] = entriesAfter(n - 1, 1);
      return stored?.n === n ? (JSON.parse(stored.bytes.toString('utf8')) as Entry) : null;
    };
    return {
      log: entry(0)?.log ?? '',
      entry,
      entriesAfter,
      blob: (sha256) => blobs.get(sha256)?.bytes ?? null,
      ofAct: (id) => entry(acts.get(id) ?? -1),
      close: () => void db.close(),
    };
  } catch (error) {
    throw new LedgerError('damaged', `${path}: ${String(error)}`, error);
  }
}
