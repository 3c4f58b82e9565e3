import type { LoadOpened } from '@setwell/shared-models/record/bodies';
import type { ScoredEvent } from '@setwell/shared-models/score/shape';
import type { Batch, JournalReader, StationEvent } from '../journal/shape.ts';
import type { JudgedLoad } from './judged-load.ts';
import { amendableMs, type RecentLoad } from './load-accounts.ts';
import { longestBeforeMs, onceKinds } from './said-before.ts';
import { isSaidOf, scoredEvent } from './scored-event.ts';
import { isMark, meansLoad } from './station-marks.ts';

/** So many batches at a time. */
const PAGE = 500;

/** What is done with the parts after their load has ended. */
const kindsAfterEnd: readonly ScoredEvent['event'][] = ['test-result', 'part-moved'];

/**
 * Whether what is said after a load's seal is evidence of it: whatever names the load; of its lot or its
 * parts what was so before it ended, and what was found of them or done with them after.
 */
export function isLateEvidence(event: StationEvent, opened: LoadOpened, endMs: number): boolean {
  const scored = scoredEvent(event);
  if (scored === null || !isSaidOf(event, opened)) return false;
  if (event.load !== null) return true;
  if (event.earliestMs > endMs) return kindsAfterEnd.includes(scored.event);
  const startMs = opened.marks.pressureOn.earliestMs;
  const isBefore = event.latestMs >= startMs - longestBeforeMs;
  // Said late of a whole lot, nobody knows of which of its loads: a load or its parts have to be named.
  const named = event.lot === null || !onceKinds.includes(scored.event);
  return isBefore && named;
}

/**
 * Says to a load that is looked at again what was said of it since its end: up to its seal as it was
 * heard then, afterwards what is evidence of it. All of it stands in the journal, so that no account
 * hangs on how long the judge has been running.
 *
 * @param byAct a person asks: then evidence that names the load counts however late it came
 */
export function hearAgain(
  load: JudgedLoad,
  { account, sealedAtMs, sealedUpTo }: RecentLoad,
  journal: JournalReader,
  untilSeq: number,
  byAct: boolean,
): void {
  const { ended, marks, opened } = account;
  const { endMs } = load;
  if (ended === null || endMs === null) return;
  let seq = ended.event.seq - 1;
  for (const batch of eventsBetween(journal, seq, untilSeq)) {
    if (batch.receivedMs > sealedAtMs + amendableMs) break;
    seq = batch.seq;
    for (const { index, event } of batch.events) {
      const isLater = seq > ended.event.seq || index > ended.event.index;
      if (!isLater) continue;
      if (seq > sealedUpTo) noteLate(load, event, endMs);
      else if (!isMark(event)) load.note(event);
      // What a person has put right stays so.
      else if (marks === null && meansLoad(event, load, [])) load.mark(event);
    }
  }
  if (!byAct) return;
  for (const batch of journal.batchesNaming(opened.load, seq, untilSeq)) {
    for (const { event } of batch.events) {
      if (event.load === opened.load) noteLate(load, event, endMs);
    }
  }
}

function noteLate(load: JudgedLoad, event: StationEvent, endMs: number): void {
  if (isLateEvidence(event, load.opened, endMs)) load.note(event);
}

/** Batches with events after one and up to another, oldest first. */
export function* eventsBetween(
  journal: JournalReader,
  fromSeq: number,
  untilSeq: number,
): Generator<Batch> {
  for (let seq = fromSeq; ;) {
    const page = journal.batchesWithEvents(seq, untilSeq, PAGE);
    yield* page;
    if (page.length < PAGE) return;
    seq = page.at(-1)?.seq ?? untilSeq;
  }
}
