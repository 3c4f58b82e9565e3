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

/** A document may be removed once an entry has said so; what says it stays. */
const third = `
CREATE TABLE dropped (sha256 TEXT NOT NULL, n INTEGER NOT NULL, PRIMARY KEY (sha256, n))
  STRICT, WITHOUT ROWID;
${frozen(['dropped'])}
DROP TRIGGER blob_no_delete;
CREATE TRIGGER blob_no_delete BEFORE DELETE ON blob
  WHEN NOT EXISTS (SELECT 1 FROM dropped WHERE sha256 = OLD.sha256)
  BEGIN SELECT RAISE(ABORT, 'what is recorded is never removed'); END;
`;

const schemaVersion = 3;

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
      const found = `ledger version ${String(version)}, later than ${String(schemaVersion)}`;
      throw new LedgerError('wrong-version', `${path}: ${found}`);
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
  if (version < 2) {
    db.exec(second);
    growTree(db);
  }
  db.exec(third);
  db.pragma(`user_version = ${String(schemaVersion)}`);
}

/** A ledger of before its tree: every leaf is there. */
function growTree(db: Database.Database): void {
  const leaves = db.prepare<[], { n: number; leaf: Buffer }>(
    'SELECT n, leaf FROM entry ORDER BY n',
  );
  const tree = new TreeStore(db, sha256);
  for (const { n, leaf } of leaves.all()) tree.add(n, leaf);
}
