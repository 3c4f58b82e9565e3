import type { Batch, JournalReader } from '../journal/shape.ts';

/** So many batches a step at most: a long backlog is worked off in steps that can be watched. */
const mostBatches = 500;

/** How far the judge has read. */
export class JournalCursor {
  readonly #journal: JournalReader;
  #seq = 0;
  /** Up to here readings are asked of the index, by point. */
  #indexedSeq = 0;
  #wasAtHead = false;

  constructor(journal: JournalReader) {
    this.#journal = journal;
  }

  /** Everything up to this batch has been read. */
  get seq(): number {
    return this.#seq;
  }

  /**
   * Whether the last reading on found the journal's end. Where readings come all the time there is a newer
   * batch by the time a look is done, and yet nothing is late.
   */
  get wasAtHead(): boolean {
    return this.#wasAtHead;
  }

  /**
   * After a restart: batches with events are read once more from there, for marks of running loads
   * come between their start and now. The readings of all of them, weeks of a store's load, are in the
   * index.
   */
  resume(fromSeq: number): void {
    this.#indexedSeq = this.#journal.head();
    this.#seq = Math.max(0, Math.min(this.#indexedSeq, fromSeq) - 1);
  }

  *next(): Generator<Batch> {
    this.#wasAtHead = false;
    if (this.#seq < this.#indexedSeq) {
      const past = this.#journal.batchesWithEvents(this.#seq, this.#indexedSeq, mostBatches);
      yield* this.#passing(past);
      if (past.length === mostBatches) return;
      this.#seq = this.#indexedSeq;
    }
    const batches = this.#journal.batchesAfter(this.#seq, mostBatches);
    yield* this.#passing(batches);
    this.#wasAtHead = batches.length < mostBatches;
  }

  *#passing(batches: Batch[]): Generator<Batch> {
    for (const batch of batches) {
      yield batch;
      this.#seq = batch.seq;
    }
  }
}
