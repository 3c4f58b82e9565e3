import type Database from 'better-sqlite3';
import { openLosable } from '../losable-file.ts';
import type { Refused } from './delivery.ts';

/** For people to read: a day of one bad point at 1 Hz fits. Older ones go; the journal has them all. */
const mostRefused = 100_000;

const schemaVersion = 1;

const schema = `
CREATE TABLE cursor (target TEXT PRIMARY KEY, seq INTEGER NOT NULL) STRICT, WITHOUT ROWID;
CREATE TABLE refused (
  id INTEGER PRIMARY KEY, target TEXT NOT NULL, atMs INTEGER NOT NULL, line TEXT NOT NULL,
  says TEXT NOT NULL
) STRICT;
PRAGMA user_version = ${schemaVersion};
`;

export interface RefusedRow extends Refused {
  target: string;
  atMs: number;
}

/**
 * How far each target has come, and what it refused. Whoever deletes the file sends everything
 * again, which changes nothing there; so a damaged file is replaced.
 */
export class UplinkStore {
  readonly #db: Database.Database;
  readonly #statements;
  readonly #save;

  constructor(path: string) {
    this.#db = openLosable({ path, schema, version: schemaVersion });
    this.#statements = prepare(this.#db);
    this.#save = this.#db.transaction(
      (target: string, seq: number, refused: Refused[], atMs: number) => {
        this.#statements.move.run(target, seq);
        for (const { line, says } of refused) {
          const { lastInsertRowid } = this.#statements.refuse.run(target, atMs, line, says);
          this.#statements.forget.run(Number(lastInsertRowid) - mostRefused);
        }
      },
    );
  }

  /** Greatest batch number that has arrived there whole; 0 at first. */
  seq(target: string): number {
    return this.#statements.seq.get(target)?.seq ?? 0;
  }

  /** All up to this batch has arrived, but for what was refused. */
  save(target: string, seq: number, refused: Refused[], atMs: number): void {
    this.#save(target, seq, refused, atMs);
  }

  /** Newest first. */
  refused(limit: number): RefusedRow[] {
    return this.#statements.refused.all(limit);
  }

  close(): void {
    this.#db.close();
  }
}

function prepare(db: Database.Database) {
  return {
    seq: db.prepare<[string], { seq: number }>('SELECT seq FROM cursor WHERE target = ?'),
    move: db.prepare<[string, number]>(
      `INSERT INTO cursor (target, seq) VALUES (?, ?)
       ON CONFLICT (target) DO UPDATE SET seq = excluded.seq`,
    ),
    refuse: db.prepare('INSERT INTO refused (target, atMs, line, says) VALUES (?, ?, ?, ?)'),
    forget: db.prepare<[number]>('DELETE FROM refused WHERE id <= ?'),
    refused: db.prepare<[number], RefusedRow>(
      'SELECT target, atMs, line, says FROM refused ORDER BY id DESC LIMIT ?',
    ),
  };
}
