import Database from 'better-sqlite3';
import { LedgerError } from './ledger-error.ts';
import { sha256 } from './sha256.ts';
import { TreeStore } from './tree-store.ts';

/** What nobody changes or removes, whoever opens the file. */
function frozen(tables: string[]): string {
  return tables
    .map(
      (table) => `
CREATE TRIGGER ${table}_no_update BEFORE UPDATE ON ${table}
  BEGIN SELECT RAISE(ABORT, 'what is recorded is never changed'); END;
CREATE TRIGGER ${table}_no_delete BEFORE DELETE ON ${table}
  BEGIN SELECT RAISE(ABORT, 'what is recorded is never removed'); END;`,
    )
    .join('');
}

/** Entries and what they name; the next entry is the only one that can be added. */
const first = `
CREATE TABLE entry (n INTEGER PRIMARY KEY, bytes BLOB NOT NULL, leaf BLOB NOT NULL) STRICT;
CREATE TABLE blob (sha256 TEXT PRIMARY KEY, bytes BLOB NOT NULL) STRICT, WITHOUT ROWID;
CREATE TABLE act (id TEXT PRIMARY KEY, n INTEGER NOT NULL) STRICT, WITHOUT ROWID;
CREATE TRIGGER entry_dense BEFORE INSERT ON entry
  WHEN NEW.n <> (SELECT coalesce(max(n), -1) + 1 FROM entry)
  BEGIN SELECT RAISE(ABORT, 'the next entry has the next number'); END;
${frozen(['entry', 'blob', 'act'])}
`;

/**
 * The tree's complete subtrees above the leaves, signed checkpoints, and the entries that name a key. A
 * checkpoint of the same size may be signed again, by another key.
 */
const second = `
CREATE TABLE node (level INTEGER NOT NULL, i INTEGER NOT NULL, hash BLOB NOT NULL,
  PRIMARY KEY (level, i)) STRICT, WITHOUT ROWID;
CREATE TABLE checkpoint (size INTEGER NOT NULL, note TEXT NOT NULL, atMs INTEGER NOT NULL,
  PRIMARY KEY (size, note)) STRICT, WITHOUT ROWID;
CREATE TABLE key (n INTEGER PRIMARY KEY, vkey TEXT NOT NULL) STRICT;
${frozen(['node', 'checkpoint', 'key'])}
`;

const schemaVersion = 2;

/** @throws LedgerError when the file is no ledger of this version or cannot be opened */
export function openLedgerDatabase(path: string): Database.Database {
  let db: Database.Database;
  try {
    db = new Database(path);
  } catch (error) {
    throw new LedgerError('disk', `${path}: ${String(error)}`, error);
  }
  try {
    const version = db.pragma('user_version', { simple: true }) as number;
    if (version > schemaVersion) {
      throw new LedgerError('damaged', `${path}: ledger version ${String(version)}`);
    }
    db.pragma('journal_mode = WAL');
    // A WAL connection opens with NORMAL, which syncs at checkpoints only.
    db.pragma('synchronous = FULL');
    if (db.pragma('synchronous', { simple: true }) !== 2) {
      throw new LedgerError('disk', `${path}: the connection does not sync each commit`);
    }
    // Else REPLACE would remove a row without its trigger.
    db.pragma('recursive_triggers = ON');
    if (version < schemaVersion) db.transaction(() => migrate(db, version)).immediate();
    return db;
  } catch (error) {
    db.close();
    if (error instanceof Database.SqliteError) {
      throw new LedgerError('damaged', `${path}: ${error.message}`, error);
    }
    throw error;
  }
}

/** From any earlier version to this one, all or nothing. */
function migrate(db: Database.Database, version: number): void {
  if (version === 0) db.exec(first);
  db.exec(second);
  const leaves = db.prepare<[], { n: number; leaf: Buffer }>(
    'SELECT n, leaf FROM entry ORDER BY n',
  );
  const tree = new TreeStore(db, sha256);
  for (const { n, leaf } of leaves.all()) tree.add(n, leaf);
  db.pragma(`user_version = ${String(schemaVersion)}`);
}
