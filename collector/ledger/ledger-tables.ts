export const schemaVersion = 3;

/**
 * Lots and loads get numbers of their own, for their names stand in millions of rows. `named` has the
 * entries that name a lot and are of none of its loads; `lot_load` the loads that are in it, or were
 * (`until` their last entry there); `doneN` the entry that sealed a load or took it back; `last` the
 * entry up to which all this is known.
 *
 * What a start hears of long ago: `standing`, the entries of calls that are up, the last load of each
 * zone that has left warm tools, and the hour that was `closed` last. `answered` is the journal's greatest
 * place that an entry names; the entry itself may tell of what is over. `day` has the first entry of a day.
 */
export const schema = `
CREATE TABLE last (one INTEGER PRIMARY KEY CHECK (one = 1), n INTEGER NOT NULL, leaf TEXT NOT NULL,
  atMs INTEGER NOT NULL) STRICT;
CREATE TABLE foundation (n INTEGER PRIMARY KEY) STRICT;
CREATE TABLE standing (n INTEGER PRIMARY KEY) STRICT;
CREATE TABLE closed (one INTEGER PRIMARY KEY CHECK (one = 1), n INTEGER NOT NULL) STRICT;
CREATE TABLE answered (one INTEGER PRIMARY KEY CHECK (one = 1), seq INTEGER NOT NULL, place INTEGER NOT NULL)
  STRICT;
CREATE TABLE day (day INTEGER PRIMARY KEY, n INTEGER NOT NULL) STRICT;
CREATE TABLE call (id TEXT NOT NULL, n INTEGER NOT NULL, PRIMARY KEY (id, n)) STRICT, WITHOUT ROWID;
CREATE TABLE carried (station TEXT NOT NULL, opening TEXT NOT NULL, zone TEXT NOT NULL, load INTEGER NOT NULL,
  PRIMARY KEY (station, opening, zone)) STRICT, WITHOUT ROWID;
CREATE TABLE lot (id INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE,
  newestMs INTEGER, isDropped INTEGER NOT NULL DEFAULT 0,
  revision INTEGER NOT NULL DEFAULT 0, because TEXT, after INTEGER) STRICT;
CREATE INDEX owed ON lot (after) WHERE after IS NOT NULL;
CREATE INDEX kept ON lot (newestMs) WHERE isDropped = 0;
CREATE TABLE load (id INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE, lot INTEGER NOT NULL,
  station TEXT NOT NULL, opening TEXT NOT NULL, doneN INTEGER) STRICT;
CREATE INDEX done ON load (doneN);
CREATE TABLE named (lot INTEGER NOT NULL, n INTEGER NOT NULL, PRIMARY KEY (lot, n)) STRICT, WITHOUT ROWID;
CREATE TABLE load_entry (load INTEGER NOT NULL, n INTEGER NOT NULL, PRIMARY KEY (load, n))
  STRICT, WITHOUT ROWID;
CREATE TABLE lot_load (lot INTEGER NOT NULL, load INTEGER NOT NULL, since INTEGER NOT NULL, until INTEGER,
  PRIMARY KEY (lot, load)) STRICT, WITHOUT ROWID;
CREATE INDEX lots_of_load ON lot_load (load);
PRAGMA user_version = ${String(schemaVersion)};
`;
