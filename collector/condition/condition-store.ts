import type { Charge } from '@setwell/shared-models/condition/charge';
import type { FeatureRow } from '@setwell/shared-models/condition/feature';
import type { HeatUp } from '@setwell/shared-models/condition/heat-up';
import type Database from 'better-sqlite3';
import { openLosable } from '../losable-file.ts';

const schemaVersion = 2;

const schema = `
CREATE TABLE cursor (
  id INTEGER PRIMARY KEY CHECK (id = 0), seq INTEGER NOT NULL, edges TEXT NOT NULL
) STRICT;
CREATE TABLE quiet (station TEXT PRIMARY KEY, seq INTEGER NOT NULL, ms INTEGER NOT NULL) STRICT, WITHOUT ROWID;
CREATE TABLE mark (seq INTEGER PRIMARY KEY, receivedMs INTEGER NOT NULL) STRICT;
CREATE TABLE feature (
  station TEXT NOT NULL, feature TEXT NOT NULL, point TEXT NOT NULL, atMs INTEGER NOT NULL,
  value REAL NOT NULL, startC REAL, PRIMARY KEY (station, feature, point, atMs)
) STRICT, WITHOUT ROWID;
CREATE TABLE heat_up (
  station TEXT NOT NULL, point TEXT NOT NULL, startMs INTEGER NOT NULL, doc TEXT NOT NULL,
  PRIMARY KEY (station, point, startMs)
) STRICT, WITHOUT ROWID;
CREATE TABLE charge (
  station TEXT NOT NULL, point TEXT NOT NULL, atMs INTEGER NOT NULL, belowK TEXT NOT NULL,
  PRIMARY KEY (station, point, atMs)
) STRICT, WITHOUT ROWID;
CREATE TABLE closing (
  station TEXT NOT NULL, startMs INTEGER NOT NULL, startLatestMs INTEGER NOT NULL, endMs INTEGER,
  foundBy TEXT NOT NULL, PRIMARY KEY (station, startMs)
) STRICT, WITHOUT ROWID;
PRAGMA user_version = ${schemaVersion};
`;

export interface StoredClosing {
  startMs: number;
  startLatestMs: number;
  endMs: number | null;
  foundBy: string;
}

/** Up to where the journal has been read, and up to where each station's past is complete without it. */
export interface Standing {
  seq: number;
  quiet: Map<string, { seq: number; ms: number }>;
}

/** Everything found by one stretch of the journal. */
export interface Found {
  features: { station: string; row: FeatureRow }[];
  heatUps: { station: string; heatUp: HeatUp }[];
  charges: { station: string; charge: Charge }[];
  closings: { station: string; closing: StoredClosing }[];
}

/**
 * What the journal's readings say of the plant's condition. It is a fold of the journal: whoever deletes
 * the file has it made again, to the same rows; so a damaged one is replaced.
 */
export class ConditionStore {
  readonly #db: Database.Database;
  readonly #statements;
  readonly #changes = new Map<string, number>();

  /** @param edges what the plant is made of, for this fold: rows of another plant are made anew */
  constructor(path: string, edges: string) {
    this.#db = openLosable({ path, schema, version: schemaVersion });
    this.#statements = prepare(this.#db);
    const known = this.#statements.cursor.get();
    if (known !== undefined && known.edges === edges) return;
    this.#db.transaction(() => {
      for (const table of ['quiet', 'mark', 'feature', 'heat_up', 'charge', 'closing', 'cursor'])
        this.#db.exec(`DELETE FROM ${table}`);
      this.#statements.begin.run(edges);
    })();
  }

  standing(): Standing {
    const quiet = this.#statements.quiet.all().map(({ station, seq, ms }) => {
      return [station, { seq, ms }] as const;
    });
    return { seq: this.#statements.cursor.get()?.seq ?? 0, quiet: new Map(quiet) };
  }

  /** Greatest batch received before a moment, so far as it was marked; 0 where none was. */
  seqBefore(receivedMs: number): number {
    return this.#statements.seqBefore.get(receivedMs)?.seq ?? 0;
  }

  /** All of one stretch, or nothing of it. */
  save(found: Found, standing: Standing, receivedMs: number | null): void {
    this.#db.transaction(() => {
      for (const { station, row } of found.features) {
        const { feature, point, atMs, value, startC } = row;
        this.#statements.feature.run(station, feature, point, Math.round(atMs), value, startC);
        this.#hasChanged(station);
      }
      // One that was interrupted comes without a value.
      for (const { station, heatUp } of found.heatUps) {
        this.#hasChanged(station);
        const { point, startMs } = heatUp;
        this.#statements.heatUp.run(station, point, Math.round(startMs), JSON.stringify(heatUp));
      }
      for (const { station, charge } of found.charges) {
        const { point, atMs, belowK } = charge;
        const halves = belowK.map((k) => (k === null ? null : Math.round(k * 100) / 100));
        this.#statements.charge.run(station, point, Math.round(atMs), JSON.stringify(halves));
      }
      for (const { station, closing } of found.closings) {
        const { startMs, startLatestMs, endMs, foundBy } = closing;
        const latest = Math.round(startLatestMs);
        const end = endMs === null ? null : Math.round(endMs);
        this.#statements.closing.run(station, Math.round(startMs), latest, end, foundBy);
      }
      for (const [station, { seq, ms }] of standing.quiet) {
        this.#statements.setQuiet.run(station, seq, Math.round(ms));
      }
      if (receivedMs !== null) this.#statements.mark.run(standing.seq, Math.round(receivedMs));
      this.#statements.move.run(standing.seq);
    })();
  }

  #hasChanged(station: string): void {
    this.#changes.set(station, this.changesOf(station) + 1);
  }

  /** Grows with every value and heat-up of a station. */
  changesOf(station: string): number {
    return this.#changes.get(station) ?? 0;
  }

  /** In order of time. */
  features(station: string, sinceMs: number): FeatureRow[] {
    return this.#statements.features.all(station, sinceMs) as FeatureRow[];
  }

  /** By start. */
  heatUps(station: string, sinceMs: number): HeatUp[] {
    return this.#statements.heatUps
      .all(station, sinceMs)
      .map(({ doc }) => JSON.parse(doc) as HeatUp);
  }

  /** Newest charges of one face, in order of time. */
  charges(station: string, point: string, limit: number): Charge[] {
    return this.#statements.charges
      .all(station, point, limit)
      .map(({ atMs, belowK }) => ({ point, atMs, belowK: JSON.parse(belowK) as Charge['belowK'] }))
      .reverse();
  }

  /** Newest first. */
  closings(station: string, limit: number): StoredClosing[] {
    return this.#statements.closings.all(station, limit);
  }

  close(): void {
    this.#db.close();
  }
}

function prepare(db: Database.Database) {
  return {
    cursor: db.prepare<[], { seq: number; edges: string }>('SELECT seq, edges FROM cursor'),
    begin: db.prepare<[string]>('INSERT INTO cursor (id, seq, edges) VALUES (0, 0, ?)'),
    move: db.prepare<[number]>('UPDATE cursor SET seq = ?'),
    quiet: db.prepare<[], { station: string; seq: number; ms: number }>('SELECT * FROM quiet'),
    setQuiet: db.prepare('INSERT OR REPLACE INTO quiet VALUES (?, ?, ?)'),
    mark: db.prepare('INSERT OR REPLACE INTO mark VALUES (?, ?)'),
    seqBefore: db.prepare<[number], { seq: number | null }>(
      'SELECT max(seq) AS seq FROM mark WHERE receivedMs < ?',
    ),
    feature: db.prepare('INSERT OR REPLACE INTO feature VALUES (?, ?, ?, ?, ?, ?)'),
    heatUp: db.prepare('INSERT OR REPLACE INTO heat_up VALUES (?, ?, ?, ?)'),
    charge: db.prepare('INSERT OR REPLACE INTO charge VALUES (?, ?, ?, ?)'),
    charges: db.prepare<[string, string, number], { atMs: number; belowK: string }>(
      `SELECT atMs, belowK FROM charge WHERE station = ? AND point = ?
       ORDER BY atMs DESC LIMIT ?`,
    ),
    closing: db.prepare('INSERT OR REPLACE INTO closing VALUES (?, ?, ?, ?, ?)'),
    features: db.prepare<[string, number], object>(
      `SELECT feature, point, atMs, value, startC FROM feature WHERE station = ? AND atMs >= ?
       ORDER BY feature, point, atMs`,
    ),
    heatUps: db.prepare<[string, number], { doc: string }>(
      'SELECT doc FROM heat_up WHERE station = ? AND startMs >= ? ORDER BY startMs, point',
    ),
    closings: db.prepare<[string, number], StoredClosing>(
      `SELECT startMs, startLatestMs, endMs, foundBy FROM closing WHERE station = ?
       ORDER BY startMs DESC LIMIT ?`,
    ),
  };
}
