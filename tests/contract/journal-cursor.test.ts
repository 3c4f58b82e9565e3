import { expect, test } from 'vitest';
import type { Batch, JournalReader } from '@setwell/collector/journal/shape';
import { JournalCursor } from '@setwell/collector/judge/journal-cursor';

const batch = (seq: number): Batch => ({ seq, receivedMs: seq, readings: [], events: [] });

/** A journal of so many batches, to which another comes with each batch that is read. */
class BusyJournal {
  size: number;
  readonly #grows: boolean;

  constructor(size: number, grows: boolean) {
    this.size = size;
    this.#grows = grows;
  }

  head(): number {
    return this.size;
  }

  batchesAfter(seq: number, limit: number): Batch[] {
    const count = Math.max(0, Math.min(limit, this.size - seq));
    if (this.#grows) this.size += 1;
    return Array.from({ length: count }, (_, i) => batch(seq + 1 + i));
  }

  batchesWithEvents(): Batch[] {
    return [];
  }
}

function cursorOn(journal: BusyJournal): JournalCursor {
  return new JournalCursor(journal as unknown as JournalReader);
}

test('where readings come all the time a look that has read all there was is at the head', () => {
  const journal = new BusyJournal(3, true);
  const cursor = cursorOn(journal);
  expect(cursor.wasAtHead).toBe(false);
  for (let look = 0; look < 3; look += 1) {
    const read = [...cursor.next()];
    expect(read.length).toBeGreaterThan(0);
    expect(cursor.seq).toBeLessThan(journal.head());
    expect(cursor.wasAtHead).toBe(true);
  }
});

test('a backlog is not at the head before its end, after a restart neither', () => {
  const journal = new BusyJournal(1200, false);
  const cursor = cursorOn(journal);
  const looks = Array.from({ length: 3 }, () => [[...cursor.next()].length, cursor.wasAtHead]);
  expect(looks).toEqual([
    [500, false],
    [500, false],
    [200, true],
  ]);
  cursor.resume(1);
  journal.size += 600;
  expect([[...cursor.next()].length, cursor.wasAtHead]).toEqual([500, false]);
  expect([[...cursor.next()].length, cursor.wasAtHead]).toEqual([100, true]);
});
