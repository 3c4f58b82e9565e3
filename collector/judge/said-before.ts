import { canonicalJson } from '@setwell/shared-models/record/canonical';
import type { LoadOpened } from '@setwell/shared-models/record/bodies';
import type { ScoredEvent } from '@setwell/shared-models/score/shape';
import type { JournalReader, StationEvent } from '../journal/shape.ts';
import { isSaidOf, scoredEvent, withEvent } from './scored-event.ts';

/** Two shifts' events of a plant; the oldest go. */
const mostKept = 5000;

/** After a restart so many batches are looked through. */
const batchesBack = 50_000;

/** Older evidence is of another load [ms]. */
export const longestBeforeMs = 36 * 3_600_000;

/** What one load's opening may hold beside the names of its parts: its entry ends at 64 KiB [bytes]. */
const mostBytesOfLoad = 20 * 1024;

/** One load's doings: said of a lot they are the next load's, and no later one's. */
export const onceKinds: readonly ScoredEvent['event'][] = [
  ...(['spread', 'assembled', 'coat', 'flash-off-start', 'abraded'] as const),
];

/** What was said of loads that have not begun: spread, mixed, measured. */
export class SaidBefore {
  #events: StationEvent[] = [];
  readonly #had = new Map<string, number>();

  add(event: StationEvent): void {
    if (scoredEvent(event) === null) return;
    this.#events.push(event);
    if (this.#events.length > 2 * mostKept) this.#events = this.#events.slice(-mostKept);
  }

  /** What had been said up to a batch. */
  readBack(journal: JournalReader, untilSeq: number): void {
    const found = journal.batchesWithEvents(
      Math.max(0, untilSeq - batchesBack),
      untilSeq,
      mostKept,
    );
    for (const batch of found) for (const { event } of batch.events) this.add(event);
  }

  /** A load has begun with these. */
  hadBy(events: readonly ScoredEvent[]): void {
    for (const event of events) {
      if (onceKinds.includes(event.event)) this.#had.set(canonicalJson(event), event.latestMs);
    }
    if (this.#had.size <= mostKept) return;
    const newest = Math.max(...this.#had.values());
    for (const [key, ms] of this.#had) if (ms < newest - longestBeforeMs) this.#had.delete(key);
  }

  /** What names a load, its lot or its parts, by time. */
  of(opened: LoadOpened): ScoredEvent[] {
    const startMs = opened.marks.pressureOn.earliestMs;
    let said: ScoredEvent[] = [];
    // The newest first: what there is no room for is the oldest.
    for (const event of [...this.#events].reverse()) {
      if (!isSaidOf(event, opened) || event.latestMs < startMs - longestBeforeMs) continue;
      const scored = scoredEvent(event);
      if (scored === null) continue;
      const isOthers = event.load === null && this.#had.has(canonicalJson(scored));
      if (isOthers) continue;
      const more = withEvent(said, scored, mostBytesOfLoad);
      if (more === null) break;
      said = more;
    }
    return said;
  }
}
