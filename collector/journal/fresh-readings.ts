import Database from 'better-sqlite3';
import { decodeBody, isEvent } from './batch-body.ts';
import { allParts, indexParts, partOf } from './index-part.ts';
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

/** What is fresh of the points of one part of the index. */
class FreshPart {
  readonly byPoint = new Map<string, FreshReading[]>();
  /** The index covers the part up to this batch. */
  indexedSeq = 0;
  count = 0;
  /** Receipt of the first [ms]; ∞ while there is none. */
  sinceMs = Infinity;

  take(fresh: FreshReading): void {
    const { point } = fresh.reading;
    const before = this.byPoint.get(point);
    if (before === undefined) this.byPoint.set(point, [fresh]);
    else before.push(fresh);
    this.count += 1;
    this.sinceMs = Math.min(this.sinceMs, fresh.receivedMs);
  }

  /** The index covers everything up to a batch; what has come after it stays. */
  cover(indexedSeq: number): void {
    const later = [...this.byPoint.values()].flatMap((all) =>
      all.filter(({ seq }) => seq > indexedSeq),
    );
    this.clear(indexedSeq);
    for (const fresh of later) this.take(fresh);
  }

  clear(indexedSeq: number): void {
    this.byPoint.clear();
    this.indexedSeq = indexedSeq;
    this.count = 0;
    this.sinceMs = Infinity;
  }
}

/**
 * The readings of the newest batches, which are not in the index yet: each row of it lies on a page of its
 * point's, and to write all of them at every commit costs the disk fifty times what came in.
 *
 * Each of them is newer than all of its point that came before it, so that they go on where the index ends,
 * in order, and none of them is in conflict. What the index covers of each part stands beside it in `indexed`.
 */
export class FreshReadings {
  readonly #parts = Array.from({ length: indexParts }, () => new FreshPart());
  readonly #statements;
  /** The last batch of those taken; 0 where nothing is known. */
  #untilSeq = 0;

  constructor(db: Database.Database) {
    this.#statements = prepare(db);
  }

  get count(): number {
    return this.#parts.reduce((sum, { count }) => sum + count, 0);
  }

  of(point: string): readonly FreshReading[] {
    return this.#parts[partOf(point)]!.byPoint.get(point) ?? none;
  }

  countOf(part: number): number {
    return this.#parts[part]!.count;
  }

  pointsOf(part: number): ReadonlyMap<string, readonly FreshReading[]> {
    return this.#parts[part]!.byPoint;
  }

  /** The part with the most in it. */
  fullest(): number {
    return this.#first((one, other) => one.count > other.count);
  }

  /** The part with the oldest in it, and its receipt [ms]; ∞ where nothing is fresh. */
  oldest(): { part: number; sinceMs: number } {
    const part = this.#first((one, other) => one.sinceMs < other.sinceMs);
    return { part, sinceMs: this.#parts[part]!.sinceMs };
  }

  #first(isBefore: (one: FreshPart, other: FreshPart) => boolean): number {
    let first = 0;
    for (let part = 1; part < indexParts; part += 1) {
      if (isBefore(this.#parts[part]!, this.#parts[first]!)) first = part;
    }
    return first;
  }

  /** Takes in what has been committed since; inside the transaction in which the index is asked. */
  catchUp(): void {
    for (const { part, seq } of this.#statements.indexed.all()) {
      const own = this.#parts[part]!;
      if (own.indexedSeq !== seq) own.cover(seq);
    }
    const covered = Math.min(...this.#parts.map(({ indexedSeq }) => indexedSeq));
    const head = this.#statements.head.get()?.seq ?? 0;
    const from = Math.max(covered, this.#untilSeq);
    for (let seq = from + 1; seq <= head; seq += 1) this.#takeBatch(seq);
    this.#untilSeq = Math.max(from, head);
  }

  take(reading: Reading, seq: number, receivedMs: number): void {
    this.#parts[partOf(reading.point)]!.take({ reading, seq, receivedMs });
    this.#untilSeq = seq;
  }

  /** Whether all of a part up to a batch is in the index, and known to be. */
  covers(part: number, seq: number): boolean {
    const { indexedSeq, count } = this.#parts[part]!;
    return indexedSeq === seq && count === 0;
  }

  /** The index covers everything of a part, up to a batch. */
  clear(part: number, indexedSeq: number): void {
    this.#parts[part]!.clear(indexedSeq);
  }

  /** Nothing is known any more. */
  forget(): void {
    for (const part of this.#parts) part.clear(0);
    this.#untilSeq = 0;
  }

  /** A damaged batch takes nothing else with it: the chain names it. */
  #takeBatch(seq: number): void {
    try {
      const row = this.#statements.batch.get(seq);
      if (row === undefined) return;
      const { receivedMs, items } = decodeBody(row.body);
      for (const item of items) {
        if (item === null || isEvent(item)) continue;
        const part = this.#parts[partOf(item.point)]!;
        if (seq > part.indexedSeq) part.take({ reading: item, seq, receivedMs });
      }
    } catch (error) {
      if (!(error instanceof Database.SqliteError || error instanceof SyntaxError)) throw error;
    }
  }
}

function prepare(db: Database.Database) {
  return {
    indexed: db.prepare<[], { part: number; seq: number }>(indexedOf(db)),
    head: db.prepare<[], { seq: number }>(headOfJournal),
    batch: db.prepare<[number], { body: Buffer }>('SELECT body FROM batch WHERE seq = ?'),
  };
}

/** A file of before, which a reader leaves as it is, covers all parts alike: to one batch, or whole. */
function indexedOf(db: Database.Database): string {
  const columns = db
    .prepare<[], { name: string }>(`SELECT name FROM pragma_table_info('indexed')`)
    .all()
    .map(({ name }) => name);
  if (columns.includes('part')) return 'SELECT part, seq FROM indexed';
  const whole = columns.length > 0 ? 'SELECT seq FROM indexed' : headOfJournal;
  return `${allParts} SELECT part.part, whole.seq FROM part, (${whole}) AS whole`;
}
