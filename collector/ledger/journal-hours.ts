import type { JournalClosed } from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';
import type { Collected, Part } from '../part.ts';

const hourMs = 3_600_000;
/** Batches counted in one look: an hour of a large plant is counted over some seconds, and nobody waits. */
const countedAtOnce = 200;

interface Counted {
  toSeq: number;
  readings: number;
}

/**
 * Binds the journal into the ledger: each full UTC hour's batches, by their last chained hash. Before that
 * the readings of the hour are protected by the machine alone.
 */
export class JournalHours implements Part {
  readonly #collected: Collected;
  /** Last batch that an entry binds in. */
  #closedSeq = 0;
  /** Hours up to here are bound in, or were empty [ms]. */
  #closedMs = 0;
  #counted: Counted | null = null;

  constructor(collected: Collected) {
    this.#collected = collected;
  }

  hear(entries: Entry[]): void {
    for (const { kind, body } of entries) {
      if (kind !== 'journal-closed') continue;
      const { toSeq, beforeMs } = body as JournalClosed;
      this.#closedSeq = toSeq;
      this.#closedMs = beforeMs;
    }
  }

  look(): void {
    const { clock, ledger, journal, append } = this.#collected;
    const nowMs = clock.nowMs();
    const beforeMs = hourMs * Math.floor(nowMs / hourMs);
    // The clock was ahead when that hour was bound in: the hours since are hours all the same.
    if (this.#closedMs > nowMs) this.#closedMs = beforeMs;
    if (beforeMs <= this.#closedMs) return;
    const counted = this.#count(beforeMs, nowMs);
    if (!counted) return;
    this.#counted = null;
    this.#closedMs = beforeMs;
    if (counted.toSeq === this.#closedSeq) {
      // Nothing came in; whatever else was said in the hour is signed all the same.
      ledger.sign();
      return;
    }
    const fromSeq = this.#closedSeq + 1;
    const { toSeq, readings } = counted;
    const body: JournalClosed = {
      ...{ beforeMs, fromSeq, toSeq, readings },
      ...journal.closing(fromSeq, toSeq),
    };
    append([{ kind: 'journal-closed', by: 'collector', about: {}, body }]);
  }

  /**
   * Goes on counting; null while there is more to count. What was received later than now was received
   * while the clock was ahead, before what is behind it.
   */
  #count(beforeMs: number, nowMs: number): Counted | null {
    const counted = (this.#counted ??= { toSeq: this.#closedSeq, readings: 0 });
    const batches = this.#collected.journal.batchesAfter(counted.toSeq, countedAtOnce);
    for (const { seq, receivedMs, readings } of batches) {
      if (receivedMs >= beforeMs && receivedMs <= nowMs) return counted;
      counted.toSeq = seq;
      counted.readings += readings.length;
    }
    return batches.length < countedAtOnce ? counted : null;
  }
}
