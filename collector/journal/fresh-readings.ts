import Database from 'better-sqlite3';
import { decodeBody, isEvent } from './batch-body.ts';
import { headOfJournal } from './schema.ts';
import type { Reading } from './shape.ts';

/** A reading of which the index does not know yet. */
export interface FreshReading {
  reading: Reading;
  /** Its batch, and when that was received [ms]. */
  seq: number;
  receivedMs: number;
}

const none: readonly FreshReading[] = [];

/**
 * The readings of the newest batches, which are not in the index yet: each row of it lies on a page of its
 * point's, and to write all of them at every commit costs the disk fifty times what came in.
 *
 * Each of them is newer than all of its point that came before it, so that they go on where the index ends,
 * in order, and none of them is in conflict. What the index covers stands beside it in `indexed`.
 */
export class FreshReadings {
  readonly #byPoint = new Map<string, FreshReading[]>();
  readonly #statements;
  /** What the index covers, and the last batch of those taken. */
  #indexedSeq = 0;
  #untilSeq = 0;
  #count = 0;
  #sinceMs = Infinity;

  constructor(db: Database.Database) {
    this.#statements = prepare(db);
  }

  get count(): number {
    return this.#count;
  }

  /** Receipt of the first [ms]; ∞ while there is none. */
  get sinceMs(): number {
    return this.#sinceMs;
  }

  of(point: string): readonly FreshReading[] {
    return this.#byPoint.get(point) ?? none;
  }

  points(): IterableIterator<[string, readonly FreshReading[]]> {
    return this.#byPoint.entries();
  }

  /** Takes in what has been committed since; inside the transaction in which the index is asked. */
  catchUp(): void {
    const indexedSeq = this.#statements.indexed.get()?.seq ?? 0;
    if (indexedSeq !== this.#indexedSeq) this.clear(indexedSeq);
    const head = this.#statements.head.get()?.seq ?? 0;
    for (let seq = this.#untilSeq + 1; seq <= head; seq += 1) this.#takeBatch(seq);
  }

  take(reading: Reading, seq: number, receivedMs: number): void {
    const fresh = { reading, seq, receivedMs };
    const before = this.#byPoint.get(reading.point);
    if (before === undefined) this.#byPoint.set(reading.point, [fresh]);
    else before.push(fresh);
    this.#count += 1;
    this.#sinceMs = Math.min(this.#sinceMs, receivedMs);
    this.#untilSeq = seq;
  }

  /** Whether everything up to a batch is in the index, and known to be. */
  covers(seq: number): boolean {
    return this.#indexedSeq === seq && this.#count === 0;
  }

  /** The index covers everything up to a batch. */
  clear(indexedSeq: number): void {
    this.#byPoint.clear();
    this.#count = 0;
    this.#sinceMs = Infinity;
    this.#indexedSeq = indexedSeq;
    this.#untilSeq = indexedSeq;
  }

  /** A damaged batch takes nothing else with it: the chain names it. */
  #takeBatch(seq: number): void {
    try {
      const row = this.#statements.batch.get(seq);
      if (row !== undefined) {
        const { receivedMs, items } = decodeBody(row.body);
        for (const item of items) {
          if (item !== null && !isEvent(item)) this.take(item, seq, receivedMs);
        }
      }
    } catch (error) {
      if (!(error instanceof Database.SqliteError || error instanceof SyntaxError)) throw error;
    }
    this.#untilSeq = seq;
  }
}

function prepare(db: Database.Database) {
  // In a file of before, which a reader leaves as it is, all of them are.
  const isKept = db.prepare(`SELECT 1 FROM sqlite_schema WHERE name = 'indexed'`).get();
  return {
    indexed: db.prepare<[], { seq: number }>(isKept ? 'SELECT seq FROM indexed' : headOfJournal),
    head: db.prepare<[], { seq: number }>(headOfJournal),
    batch: db.prepare<[number], { body: Buffer }>('SELECT body FROM batch WHERE seq = ?'),
  };
}
