import Database from 'better-sqlite3';
import { LedgerError } from './ledger-error.ts';

const frozen = ['entry', 'blob', 'act'];

/** No statement changes or removes a row; the next entry is the only one that can be added. */
const schema = `
CREATE TABLE entry (n INTEGER PRIMARY KEY, bytes BLOB NOT NULL, leaf BLOB NOT NULL) STRICT;
CREATE TABLE blob (sha256 TEXT PRIMARY KEY, bytes BLOB NOT NULL) STRICT, WITHOUT ROWID;
CREATE TABLE act (id TEXT PRIMARY KEY, n INTEGER NOT NULL) STRICT, WITHOUT ROWID;
CREATE TRIGGER entry_dense BEFORE INSERT ON entry
  WHEN NEW.n <> (SELECT coalesce(max(n), -1) + 1 FROM entry)
  BEGIN SELECT RAISE(ABORT, 'the next entry has the next number'); END;
${frozen
  .map(
    (table) => `
CREATE TRIGGER ${table}_no_update BEFORE UPDATE ON ${table}
  BEGIN SELECT RAISE(ABORT, 'what is recorded is never changed'); END;
CREATE TRIGGER ${table}_no_delete BEFORE DELETE ON ${table}
  BEGIN SELECT RAISE(ABORT, 'what is recorded is never removed'); END;`,
  )
  .join('')}
`;

const schemaVersion = 1;

/** @throws LedgerError when the file is no ledger of this version or cannot be opened */
export function openLedgerDatabase(path: string): Database.Database {
  let db: Database.Database;
  try {
    db = new Database(path);
  } catch (error) {
    throw new LedgerError('disk', `${path}: ${String(error)}`, error);
  }
  try {
    const version = db.pragma('user_version', { simple: true });
    if (version !== 0 && version !== schemaVersion) {
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
    if (version === 0) {
      db.exec(`BEGIN; ${schema} PRAGMA user_version = ${schemaVersion}; COMMIT;`);
    }
    return db;
  } catch (error) {
    db.close();
    if (error instanceof Database.SqliteError) {
      throw new LedgerError('damaged', `${path}: ${error.message}`, error);
    }
    throw error;
  }
}
