import Database from 'better-sqlite3';
import { JournalError } from './journal-error.ts';

/**
 * `batch` and `reject` are what came in. Everything else is an index of `batch`, written in the
 * same transaction, which may be dropped and is rebuilt to the same rows.
 *
 * `reading.flags` is the quality's place in its list (bits 0–2), 8 stamped, 16 ahead.
 */
const tables = `
CREATE TABLE batch (
  seq INTEGER PRIMARY KEY, receivedMs INTEGER NOT NULL, body BLOB NOT NULL, hash BLOB NOT NULL
) STRICT;
CREATE TABLE reject (
  id INTEGER PRIMARY KEY AUTOINCREMENT, receivedMs INTEGER NOT NULL, topic TEXT NOT NULL,
  code TEXT NOT NULL, found TEXT NOT NULL, expected TEXT NOT NULL,
  payload BLOB NOT NULL, payloadBytes INTEGER NOT NULL
) STRICT;
`;

const indexTables = `
CREATE TABLE point (id INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE) STRICT;
CREATE TABLE reading (
  point INTEGER NOT NULL, t INTEGER NOT NULL, v REAL NOT NULL, flags INTEGER NOT NULL,
  seq INTEGER NOT NULL, deviceSeq INTEGER, PRIMARY KEY (point, t)
) STRICT, WITHOUT ROWID;
CREATE TABLE conflict (
  point INTEGER NOT NULL, t INTEGER NOT NULL, v REAL NOT NULL, seq INTEGER NOT NULL,
  PRIMARY KEY (point, t, v)
) STRICT, WITHOUT ROWID;
CREATE TABLE minute (
  point INTEGER NOT NULL, t INTEGER NOT NULL, min REAL NOT NULL, max REAL NOT NULL,
  sum REAL NOT NULL, count INTEGER NOT NULL, PRIMARY KEY (point, t)
) STRICT, WITHOUT ROWID;
CREATE TABLE event (
  station TEXT NOT NULL, earliestMs INTEGER NOT NULL, event TEXT NOT NULL, load TEXT NOT NULL,
  digest BLOB NOT NULL, seq INTEGER NOT NULL, position INTEGER NOT NULL,
  PRIMARY KEY (station, earliestMs, event, load, digest)
) STRICT, WITHOUT ROWID;
CREATE INDEX eventBySeq ON event (seq);
`;

export const indexTableNames = ['point', 'reading', 'conflict', 'minute', 'event'] as const;

/** A stranger's lock must not stop the collector: the commit fails, and the broker sends again. */
const busyTimeoutMs = 250;

/** Raised when the tables change; a journal of another version is refused, never guessed at. */
const schemaVersion = 1;

/**
 * Opens the writing connection, making the tables of a new journal.
 *
 * @throws JournalError when the file is no journal of this version or cannot be opened
 */
export function openJournalDatabase(path: string): Database.Database {
  const db = openFile(path);
  try {
    const version = db.pragma('user_version', { simple: true });
    if (version === 0) {
      // Vacuum mode counts only before the first table, and WAL makes the first page.
      db.pragma('auto_vacuum = INCREMENTAL');
      db.pragma('journal_mode = WAL');
      db.exec(`BEGIN; ${tables} ${indexTables} PRAGMA user_version = ${schemaVersion}; COMMIT;`);
    } else if (version !== schemaVersion) {
      throw new JournalError('wrong-version', `${path}: journal version ${String(version)}`, false);
    }
    db.pragma('journal_mode = WAL');
    setSynchronousFull(db, path);
    return db;
  } catch (error) {
    db.close();
    throw error;
  }
}

function openFile(path: string): Database.Database {
  try {
    return new Database(path, { timeout: busyTimeoutMs });
  } catch (error) {
    throw JournalError.of(error, path);
  }
}

/** A WAL connection opens with NORMAL, which syncs at checkpoints only: every commit must sync. */
function setSynchronousFull(db: Database.Database, path: string): void {
  db.pragma('synchronous = FULL');
  const synchronous = db.pragma('synchronous', { simple: true });
  if (synchronous !== 2) {
    throw new JournalError(
      'not-synchronous',
      `${path}: synchronous = ${String(synchronous)}`,
      false,
    );
  }
}

export function dropIndex(db: Database.Database): void {
  for (const name of indexTableNames) db.exec(`DROP TABLE ${name}`);
  db.exec(indexTables);
}
