import Database from 'better-sqlite3';
import { allParts } from './index-part.ts';
import { JournalError } from './journal-error.ts';

/**
 * `batch` and `reject` are what came in. `anchor` has the hash of the last of each run of batches
 * that were dropped whole, so that the chain goes on behind it; `horizon` says from when on a point's readings are kept; `batch.dropped` counts
 * the readings that were taken out of a batch later. Everything else is an index of `batch`, which may be
 * dropped and is rebuilt to the same rows; minutes before a horizon are all that is left of their readings,
 * and stay. `indexed` says for each part of its points up to which batch the readings are in it.
 *
 * `reading.flags` is the quality's place in its list (bits 0–2), 8 stamped, 16 ahead.
 */
const tables = `
CREATE TABLE batch (
  seq INTEGER PRIMARY KEY, receivedMs INTEGER NOT NULL, body BLOB NOT NULL, hash BLOB NOT NULL,
  dropped INTEGER NOT NULL DEFAULT 0
) STRICT;
CREATE TABLE reject (
  id INTEGER PRIMARY KEY AUTOINCREMENT, receivedMs INTEGER NOT NULL, topic TEXT NOT NULL,
  code TEXT NOT NULL, found TEXT NOT NULL, expected TEXT NOT NULL,
  payload BLOB NOT NULL, payloadBytes INTEGER NOT NULL
) STRICT;
`;

const droppedTables = `
CREATE TABLE anchor (seq INTEGER PRIMARY KEY, hash BLOB NOT NULL) STRICT;
CREATE TABLE horizon (point TEXT PRIMARY KEY, keptFromMs INTEGER NOT NULL) STRICT, WITHOUT ROWID;
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

/** Greatest batch number there was, dropped ones included; 0 while empty. */
export const headOfJournal = `
SELECT max(coalesce((SELECT max(seq) FROM batch), 0), coalesce((SELECT max(seq) FROM anchor), 0))
  AS seq`;

/** With a journal of before, whose index was written with each batch. */
const indexedTable = `
CREATE TABLE indexed (part INTEGER PRIMARY KEY, seq INTEGER NOT NULL) STRICT;
${allParts} INSERT INTO indexed SELECT part.part, head.seq FROM part, (${headOfJournal}) AS head;
`;

/** Before, all parts were written together. */
const indexedByPart = `
ALTER TABLE indexed RENAME TO indexedTogether;
CREATE TABLE indexed (part INTEGER PRIMARY KEY, seq INTEGER NOT NULL) STRICT;
${allParts} INSERT INTO indexed SELECT part.part, indexedTogether.seq FROM part, indexedTogether;
DROP TABLE indexedTogether;
`;

export const indexTableNames = ['point', 'reading', 'conflict', 'minute', 'event'] as const;

/** A stranger's lock must not stop the collector: the commit fails, and the broker sends again. */
export const busyTimeoutMs = 250;

/** 16 MiB of log: pages that are written at each commit go into the file itself the seldomer. */
export const checkpointPages = 4096;

/** Raised when the tables change; a journal of another version is refused, never guessed at. */
const schemaVersion = 4;

/** What brings a journal of an older version to the next one. */
const upgrades: Record<number, string> = {
  1: `
ALTER TABLE batch ADD COLUMN dropped INTEGER NOT NULL DEFAULT 0;
CREATE INDEX IF NOT EXISTS eventBySeq ON event (seq);
${droppedTables}`,
  2: `
CREATE TABLE indexed (seq INTEGER NOT NULL) STRICT;
INSERT INTO indexed ${headOfJournal};`,
  3: indexedByPart,
};

/**
 * Opens the writing connection, making the tables of a new journal.
 *
 * @throws JournalError when the file is no journal of this version or cannot be opened
 */
export function openJournalDatabase(path: string): Database.Database {
  const db = openFile(path);
  try {
    const version = Number(db.pragma('user_version', { simple: true }));
    if (version === 0) {
      // Vacuum mode counts only before the first table, and WAL makes the first page.
      db.pragma('auto_vacuum = INCREMENTAL');
      db.pragma('journal_mode = WAL');
      inOneGo(db, `${tables} ${droppedTables} ${indexTables} ${indexedTable}`);
    } else if (version !== schemaVersion) {
      if (upgrades[version] === undefined) {
        const found = `journal version ${version}, later than ${schemaVersion}`;
        throw new JournalError('wrong-version', `${path}: ${found}`, false);
      }
      const steps = Array.from(
        { length: schemaVersion - version },
        (_, i) => upgrades[version + i],
      );
      inOneGo(db, steps.join(''));
    }
    db.pragma('journal_mode = WAL');
    setSynchronousFull(db, path);
    db.pragma(`wal_autocheckpoint = ${checkpointPages}`);
    return db;
  } catch (error) {
    db.close();
    throw error;
  }
}

function inOneGo(db: Database.Database, steps: string): void {
  db.exec(`BEGIN; ${steps} PRAGMA user_version = ${schemaVersion}; COMMIT;`);
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

/** Empties the index, but for minutes whose readings are gone. */
export function dropIndex(db: Database.Database): void {
  db.exec(`
CREATE TEMP TABLE oldMinute AS
  SELECT point.name, minute.* FROM minute JOIN point ON point.id = minute.point
  JOIN horizon ON horizon.point = point.name WHERE minute.t < horizon.keptFromMs
  ORDER BY point.id;`);
  for (const name of indexTableNames) db.exec(`DROP TABLE ${name}`);
  db.exec(`${indexTables}
INSERT INTO point (id, name) SELECT DISTINCT point, name FROM oldMinute;
INSERT INTO minute (point, t, min, max, sum, count)
  SELECT point, t, min, max, sum, count FROM oldMinute;
DROP TABLE oldMinute;
UPDATE indexed SET seq = (${headOfJournal});`);
}
