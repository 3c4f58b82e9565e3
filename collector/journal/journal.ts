import { createHash } from 'node:crypto';
import type { Worker } from 'node:worker_threads';
import type Database from 'better-sqlite3';
import { batchOf, decodeBody, encodeBody, isEvent, type JournalItem } from './batch-body.ts';
import { DroppedReadings, type Droppable, type Dropping } from './dropping.ts';
import { FreeSpace } from './free-space.ts';
import { JournalError } from './journal-error.ts';
import { LogMover, logThread } from './log-mover.ts';
import { mostFresh, ReadingIndex } from './reading-index.ts';
import { dropIndex, openJournalDatabase } from './schema.ts';
import type { Batch } from './shape.ts';

export { openJournalReader } from './reader.ts';
export { JournalError } from './journal-error.ts';
export type { JournalItem } from './batch-body.ts';

/** A payload, or a part of one, that cannot be stored as what it claims to be. */
export interface Rejected {
  topic: string;
  code: string;
  found: string;
  expected: string;
  payload: Buffer;
}

/** One group commit, as it comes from intake: in order of arrival. */
export interface NewBatch {
  receivedMs: number;
  items: JournalItem[];
  rejects: Rejected[];
  /** Who brought it in by hand; absent for what a bus brought. */
  by?: string;
  /** Rejects that it makes good: they go with its commit. */
  settled?: number[];
}

/** A reject as it is tried again. */
export interface StoredReject {
  id: number;
  receivedMs: number;
  topic: string;
  code: string;
  payload: Buffer;
  /** Whether all of its payload was kept. */
  isWhole: boolean;
}

export interface Appended {
  /** Null where nothing in the batch was new. */
  batch: Batch | null;
  /** Where each item stands in the batch, in the order given; null for what was there already. */
  places: (number | null)[];
  duplicates: number;
  conflicts: number;
  /** Which of the items given are in conflict with what was there. */
  conflicting: number[];
}

/** Rejects are for people to read and mend: a month of a misnamed topic at one a minute fits. */
const mostRejects = 100_000;

/** Enough of a payload to see what is wrong with it, and all of an ordinary one to try it again. */
const mostRejectBytes = 4096;

const noHash = Buffer.alloc(32);

/**
 * Opens a journal for writing, making it where there is none. One process, one writer.
 *
 * @param most readings that may lie in their batches alone before they are written into the index
 */
export function openJournal(path: string, space = new FreeSpace(path), most = mostFresh): Journal {
  return new Journal(path, openJournalDatabase(path), space, most);
}

/** The same, with a thread beside that moves the log, which no commit waits for. */
export function openWriter(path: string, space: FreeSpace, log: (line: string) => void): Journal {
  const journal = openJournal(path, space);
  journal.moveLogBy(logThread(path), log);
  return journal;
}

/** The one writer of the journal. What `append` has answered is on the disk. */
export class Journal {
  readonly path: string;
  readonly #db: Database.Database;
  readonly #space: FreeSpace;
  readonly #index: ReadingIndex;
  readonly #dropped: DroppedReadings;
  readonly #statements;
  readonly #transaction: (inputs: readonly NewBatch[]) => Appended[];
  #logMover: LogMover | null = null;
  #head: number;
  #hash: Buffer;

  constructor(path: string, db: Database.Database, space: FreeSpace, most: number) {
    this.path = path;
    this.#space = space;
    this.#db = db;
    this.#index = new ReadingIndex(db, most);
    this.#dropped = new DroppedReadings(db);
    this.#statements = {
      batch: db.prepare('INSERT INTO batch (seq, receivedMs, body, hash) VALUES (?, ?, ?, ?)'),
      reject: db.prepare(
        `INSERT INTO reject (receivedMs, topic, code, found, expected, payload, payloadBytes)
         VALUES (?, ?, ?, ?, ?, ?, ?)`,
      ),
      settle: db.prepare('DELETE FROM reject WHERE id = ?'),
      dropRejects: db.prepare('DELETE FROM reject WHERE id <= ?'),
    };
    this.#transaction = db.transaction((inputs: readonly NewBatch[]) =>
      inputs.map((input) => this.#write(input)),
    ).immediate;
    const last = db
      .prepare<[], { seq: number; hash: Buffer }>(
        `SELECT seq, hash FROM batch UNION ALL SELECT seq, hash FROM anchor
         ORDER BY seq DESC LIMIT 1`,
      )
      .get();
    this.#head = last?.seq ?? 0;
    this.#hash = last?.hash ?? noHash;
  }

  /** Greatest batch number; 0 while empty. */
  head(): number {
    return this.#head;
  }

  /** How full its disk is [1], as of the last look. */
  used(): number {
    return this.#space.used();
  }

  /** From when on a point's readings are kept [ms]; 0 where all are. */
  keptFromMs(point: string): number {
    return this.#dropped.keptFromMs(point);
  }

  /** Time of the oldest reading that may go [ms]; null where there is none. @throws JournalError */
  oldestMs(dropping: Dropping): number | null {
    this.#writeIndex();
    return this.#dropped.oldestMs(dropping);
  }

  /**
   * Takes old readings out, step by step; others may have their turn after each.
   *
   * @param say hears what goes before any of it is gone
   * @throws JournalError
   */
  *drop(dropping: Dropping, say: (found: Droppable) => void): Generator<void> {
    try {
      this.#writeIndex();
      yield* this.#dropped.drop(dropping, say);
    } catch (error) {
      throw JournalError.of(error, this.path);
    } finally {
      this.#index.forget();
    }
  }

  /** {@link appendAll} of one. */
  append(input: NewBatch): Appended {
    return this.appendAll([input])[0]!;
  }

  /**
   * Stores batches and their index in one transaction, and returns when it is synced.
   *
   * @throws JournalError when the disk refuses; then nothing of them is stored
   */
  appendAll(inputs: readonly NewBatch[]): Appended[] {
    this.#space.assert();
    const appended = this.#stored(inputs);
    this.#logMover?.committed();
    return appended;
  }

  #stored(inputs: readonly NewBatch[]): Appended[] {
    const [head, hash] = [this.#head, this.#hash];
    try {
      return this.#transaction(inputs);
    } catch (error) {
      this.#head = head;
      this.#hash = hash;
      this.#index.forget();
      throw JournalError.of(error, this.path);
    }
  }

  #write(input: NewBatch): Appended {
    const seq = this.#head + 1;
    const fresh: JournalItem[] = [];
    const places: (number | null)[] = [];
    const conflicting: number[] = [];
    let duplicates = 0;
    this.#index.begin(input.items, input.receivedMs, this.#head);
    for (const [i, item] of input.items.entries()) {
      const { novelty, kept } = this.#index.add(item, seq, fresh.length);
      if (novelty === 'conflict') conflicting.push(i);
      if (novelty === 'duplicate') {
        duplicates += 1;
        places.push(null);
      } else {
        places.push(fresh.push(kept) - 1);
      }
    }
    this.#index.end(fresh.length === 0 ? this.#head : seq);
    for (const reject of input.rejects) this.#reject(input.receivedMs, reject);
    for (const id of input.settled ?? []) this.#statements.settle.run(id);
    const counts = { places, duplicates, conflicts: conflicting.length, conflicting };
    if (fresh.length === 0) return { batch: null, ...counts };
    const body = encodeBody(input.receivedMs, fresh, input.by);
    const hash = chainHash(this.#hash, body);
    this.#statements.batch.run(seq, input.receivedMs, body, hash);
    this.#head = seq;
    this.#hash = hash;
    const batch = batchOf(seq, { receivedMs: input.receivedMs, items: fresh, by: input.by });
    return { batch, ...counts };
  }

  #reject(receivedMs: number, { topic, code, found, expected, payload }: Rejected): void {
    const { lastInsertRowid } = this.#statements.reject.run(
      receivedMs,
      topic,
      code,
      found,
      expected,
      payload.subarray(0, mostRejectBytes),
      payload.length,
    );
    this.#statements.dropRejects.run(Number(lastInsertRowid) - mostRejects);
  }

  /** What goes by the tables alone begins with all in them. */
  #writeIndex(): void {
    try {
      this.#db.transaction(() => this.#index.writeFresh(this.#head)).immediate();
    } catch (error) {
      this.#index.forget();
      throw JournalError.of(error, this.path);
    }
  }

  /** Drops the index and makes it again from the batches: to the same rows. */
  rebuildIndex(): void {
    this.#db.transaction(() => {
      dropIndex(this.#db);
      const index = new ReadingIndex(this.#db);
      const bodies = this.#db.prepare<[], { seq: number; body: Buffer }>(
        'SELECT seq, body FROM batch ORDER BY seq',
      );
      for (const { seq, body } of bodies.all()) {
        decodeBody(body).items.forEach((item, position) => {
          // A late one may have outlived in its batch what was dropped around it.
          if (item === null || (!isEvent(item) && item.t < this.keptFromMs(item.point))) return;
          index.add(item, seq, position);
        });
        index.end(this.#head);
      }
    })();
    this.#index.forget();
  }

  /** The log goes into the file by a thread from now on, not by a commit; `stop` ends it. */
  moveLogBy(thread: Worker, log: (line: string) => void): void {
    this.#logMover = new LogMover(this.#db, thread, log);
  }

  /** Closes behind the thread: whoever closes last leaves all of the log in the file. */
  async stop(): Promise<void> {
    await this.#logMover?.end();
    this.close();
  }

  close(): void {
    this.#db.close();
  }
}

/** SHA-256(previous ‖ body): whoever changes a batch changes every hash after it. */
export function chainHash(previous: Buffer, body: Buffer): Buffer {
  return createHash('sha256').update(previous).update(body).digest();
}
