import type Database from 'better-sqlite3';
import {
  decodeBody,
  encodeBody,
  isEvent,
  type BatchContent,
  type JournalItem,
} from './batch-body.ts';
import { countedFlags, minuteMs, minuteOf, minutesOfReadings } from './reading-index.ts';

/** What is to go: readings before a whole hour, but for those that something still needs. */
export interface Dropping {
  /** A whole hour [ms]. */
  untilMs: number;
  /** From when on a point's readings must stay [ms]; null where nothing needs them. */
  neededFromMs(point: string): number | null;
  /** Points that it is about; absent: all. */
  points?: ReadonlySet<string>;
}

/** What is there to be dropped. */
export interface Droppable {
  readings: number;
  points: number;
  /** Time of the oldest [ms]. */
  oldestMs: number;
}

/** Each in one step, so that intake waits milliseconds: a plant's day is millions of readings. */
const [countedAtOnce, readingsAtOnce, batchesAtOnce, pagesAtOnce] = [20_000, 2_000, 50, 500];

/**
 * Takes old readings out of the journal slice by slice, first out of the index. Minutes and events stay. A batch that has lost readings keeps its place in the chain; it cannot be held against it
 * any more, the one after it can.
 */
export class DroppedReadings {
  readonly #db: Database.Database;
  readonly #statements;
  readonly #keptFromMs = new Map<string, number>();

  constructor(db: Database.Database) {
    this.#db = db;
    this.#statements = prepare(db);
    for (const { point, keptFromMs } of this.#statements.horizons.all()) {
      this.#keptFromMs.set(point, keptFromMs);
    }
  }

  /** From when on a point's readings are kept [ms]; 0 where all are. */
  keptFromMs(point: string): number {
    return this.#keptFromMs.get(point) ?? 0;
  }

  /** Time of the oldest reading that may go [ms]; null where there is none. */
  oldestMs(dropping: Dropping): number | null {
    const times = this.#pointsOf(dropping).flatMap(({ id, untilMs }) => {
      const row = this.#statements.oldest.get(id, untilMs);
      return row === undefined ? [] : [row.t];
    });
    return times.length === 0 ? null : Math.min(...times);
  }

  /**
   * @param say hears what goes before any of it is gone
   * @returns after each step, so that whoever calls lets others have their turn in between
   */
  *drop(dropping: Dropping, say: (found: Droppable) => void): Generator<void> {
    const points = this.#pointsOf(dropping);
    const found = yield* this.#counted(points);
    if (found !== null) say(found);
    this.#db.transaction(() => this.#setHorizons(points)).immediate();
    yield;
    for (const { id, untilMs } of points) {
      this.#statements.dropConflicts.run(id, untilMs);
      while (this.#statements.dropReadings.run(id, id, untilMs, readingsAtOnce).changes > 0) yield;
    }
    yield* this.#slices((after) => this.#dropFromBatches(after, dropping.untilMs));
    yield* this.#slices((after) => this.#dropEmptyBatches(after));
    for (;;) {
      const free = Number(this.#db.pragma('freelist_count', { simple: true }));
      if (free === 0) break;
      this.#db.pragma(`incremental_vacuum(${String(pagesAtOnce)})`);
      yield;
    }
    this.#db.pragma('wal_checkpoint(TRUNCATE)');
  }

  /** @param take a slice of batches after a number, and answers the last it has seen; null at the end */
  *#slices(take: (after: number) => number | null): Generator<void> {
    for (let after: number | null = 0; ;) {
      after = this.#db.transaction(take).immediate(after);
      if (after === null) return;
      yield;
    }
  }

  *#counted(points: DueOf[]): Generator<void, Droppable | null> {
    const found = { readings: 0, points: 0, oldestMs: Infinity };
    for (const { id, untilMs } of points) {
      let fromMs = this.#statements.oldest.get(id, untilMs)?.t;
      if (fromMs === undefined) continue;
      found.points += 1;
      found.oldestMs = Math.min(found.oldestMs, fromMs);
      while (fromMs !== undefined) {
        const row = this.#statements.count.get(id, fromMs, untilMs, countedAtOnce);
        found.readings += row?.readings ?? 0;
        fromMs = row?.readings === countedAtOnce ? row.lastMs + 1 : undefined;
        yield;
      }
    }
    return found.points === 0 ? null : found;
  }

  /** From here on what is older counts as gone: a crash leaves rows that nobody asks for. */
  #setHorizons(points: DueOf[]): void {
    for (const { id, name, untilMs } of points) {
      this.#keepMinutes(id, untilMs);
      if (untilMs <= this.keptFromMs(name)) continue;
      this.#statements.setHorizon.run(name, untilMs);
      this.#keptFromMs.set(name, untilMs);
    }
  }

  /** The open minute of a point that has fallen silent was never rolled up. */
  #keepMinutes(point: number, untilMs: number): void {
    const newest = this.#statements.newest.get(point)?.t;
    if (newest === undefined || newest >= untilMs) return;
    const fromMs = minuteOf(newest);
    this.#statements.addMinutes.run({ point, fromMs, toMs: fromMs + minuteMs });
  }

  #dropFromBatches(after: number, untilMs: number): number | null {
    const rows = this.#statements.batches.all(after, untilMs, batchesAtOnce);
    for (const { seq, body } of rows) {
      const content = readableBody(body);
      if (content === null) continue;
      const { receivedMs, items, by } = content;
      const kept = items.map((item) => (this.#isKept(item) ? item : null));
      const gone = kept.filter((item, i) => item === null && items[i] !== null).length;
      if (gone > 0) this.#statements.thin.run(encodeBody(receivedMs, kept, by), gone, seq);
    }
    return rows.at(-1)?.seq ?? null;
  }

  #isKept(item: JournalItem | null): boolean {
    return item === null || isEvent(item) || item.t >= this.keptFromMs(item.point);
  }

  /** Of each run of batches that goes, the chain needs the hash of the last. */
  #dropEmptyBatches(after: number): number | null {
    const rows = this.#statements.emptied.all(after, batchesAtOnce);
    for (const { seq, body, hash } of rows) {
      if (readableBody(body)?.items.some((item) => item !== null) !== false) continue;
      this.#statements.dropAnchor.run(seq - 1);
      this.#statements.setAnchor.run(seq, hash);
      this.#statements.dropBatch.run(seq);
    }
    return rows.at(-1)?.seq ?? null;
  }

  #pointsOf({ untilMs, neededFromMs, points }: Dropping): DueOf[] {
    return this.#statements.points
      .all()
      .filter(({ name }) => points === undefined || points.has(name))
      .map(({ id, name }) => ({
        id,
        name,
        untilMs: Math.min(untilMs, hourOf(neededFromMs(name) ?? Infinity)),
      }));
  }
}

/** Until when the readings of a point go. */
interface DueOf {
  id: number;
  name: string;
  untilMs: number;
}

/** A damaged batch is left as it is; null. */
function readableBody(body: Buffer): BatchContent | null {
  try {
    return decodeBody(body);
  } catch (error) {
    if (error instanceof SyntaxError) return null;
    throw error;
  }
}

const hourMs = 3_600_000;

/** The hour that a time lies in: nothing of it is dropped. */
function hourOf(ms: number): number {
  return Number.isFinite(ms) ? ms - (ms % hourMs) : ms;
}

function prepare(db: Database.Database) {
  return {
    horizons: db.prepare<[], { point: string; keptFromMs: number }>('SELECT * FROM horizon'),
    setHorizon: db.prepare('INSERT OR REPLACE INTO horizon (point, keptFromMs) VALUES (?, ?)'),
    points: db.prepare<[], { id: number; name: string }>('SELECT id, name FROM point'),
    oldest: db.prepare<[number, number], { t: number }>(
      'SELECT t FROM reading WHERE point = ? AND t < ? ORDER BY t LIMIT 1',
    ),
    count: db.prepare<[number, number, number, number], { readings: number; lastMs: number }>(
      `SELECT count(*) AS readings, max(t) AS lastMs FROM
         (SELECT t FROM reading WHERE point = ? AND t >= ? AND t < ? ORDER BY t LIMIT ?)`,
    ),
    newest: db.prepare<[number], { t: number }>(
      `SELECT t FROM reading WHERE point = ? AND ${countedFlags} ORDER BY t DESC LIMIT 1`,
    ),
    addMinutes: db.prepare(
      `INSERT OR REPLACE INTO minute (point, t, min, max, sum, count) ${minutesOfReadings}`,
    ),
    dropReadings: db.prepare(
      `DELETE FROM reading WHERE point = ? AND t IN
         (SELECT t FROM reading WHERE point = ? AND t < ? ORDER BY t LIMIT ?)`,
    ),
    dropConflicts: db.prepare('DELETE FROM conflict WHERE point = ? AND t < ?'),
    // The shorter ones are empty already.
    batches: db.prepare<[number, number, number], { seq: number; body: Buffer }>(
      `SELECT seq, body FROM batch WHERE seq > ? AND receivedMs < ? AND length(body) > 66
       ORDER BY seq LIMIT ?`,
    ),
    thin: db.prepare('UPDATE batch SET body = ?, dropped = dropped + ? WHERE seq = ?'),
    // The last one stays, for the next is chained to it.
    emptied: db.prepare<[number, number], { seq: number; body: Buffer; hash: Buffer }>(
      `SELECT seq, body, hash FROM batch
       WHERE seq > ? AND dropped > 0 AND seq < (SELECT max(seq) FROM batch) ORDER BY seq LIMIT ?`,
    ),
    dropAnchor: db.prepare('DELETE FROM anchor WHERE seq = ?'),
    setAnchor: db.prepare('INSERT INTO anchor (seq, hash) VALUES (?, ?)'),
    dropBatch: db.prepare('DELETE FROM batch WHERE seq = ?'),
  };
}
