import { join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { openJournalReader } from '@setwell/collector/journal/journal';
import type { JournalReader } from '@setwell/collector/journal/shape';
import { Documents } from '@setwell/collector/judge/documents';
import { Judge } from '@setwell/collector/judge/judge';
import { parsers } from '@setwell/collector/judge/parsers';
import { scoreModel } from '@setwell/collector/judge/score-model';
import type { PlantRevised, RecipeProposed } from '@setwell/shared-models/record/bodies';
import { openWorks, usualFaceC, type Works } from '../fixtures/press-plant/works.ts';

let works: Works;
beforeEach(() => {
  works = openWorks();
});
afterEach(() => works.end());

/** A judge that starts anew on what the works have recorded, and how many batches it reads for that. */
function resumed(): { judge: Judge; read: () => number } {
  const reader = openJournalReader(join(works.dataDir, 'journal.db'));
  let batches = 0;
  const counted = <T extends unknown[]>(all: T): T => {
    batches += all.length;
    return all;
  };
  const journal: JournalReader = {
    head: () => reader.head(),
    unreadable: () => reader.unreadable(),
    batchesAfter: (...asked) => counted(reader.batchesAfter(...asked)),
    batchesWithEvents: (...asked) => counted(reader.batchesWithEvents(...asked)),
    batchesNaming: (...asked) => counted(reader.batchesNaming(...asked)),
    firstEventSeq: (...asked) => reader.firstEventSeq(...asked),
    readings: (...asked) => reader.readings(...asked),
    sequenceHoles: (...asked) => reader.sequenceHoles(...asked),
    arrivedAfter: (...asked) => reader.arrivedAfter(...asked),
    lastReading: (...asked) => reader.lastReading(...asked),
    minutes: (...asked) => reader.minutes(...asked),
    minutesInSteps: (...asked) => reader.minutesInSteps(...asked),
    closing: (...asked) => reader.closing(...asked),
    rejects: (...asked) => reader.rejects(...asked),
    rejectsAfter: (...asked) => reader.rejectsAfter(...asked),
    close: () => reader.close(),
  };
  const documents = new Documents(parsers);
  const every = { judgeEveryMs: 60_000, forecastEveryMs: 60_000 };
  const judge = new Judge({ journal, documents, model: scoreModel, record: () => null, ...every });
  for (const entry of works.entries()) {
    const { sha256, recipe } = entry.body as Partial<PlantRevised & RecipeProposed>;
    const named = entry.kind === 'plant-revised' ? sha256 : recipe?.sha256;
    const bytes = named === undefined ? null : works.collector.ledger.blob(named);
    if (bytes) documents.add(bytes);
    judge.hear(entry);
  }
  judge.resume();
  return { judge, read: () => batches };
}

test('after a restart a load of many batches is what it was, read from the index', () => {
  works.event('load-start', { load: 'P1-1', lot: 'K-1', recipe: 'shell-13ply' });
  works.press(2, usualFaceC);
  works.event('pressure-on', { load: 'P1-1' });
  works.press(10, (min) => usualFaceC(min + 2));
  const { judge, read } = resumed();
  const nowMs = works.clock.nowMs();
  const step = judge.step(nowMs);
  expect(step.reachedHead).toBe(true);
  const [before] = works.collector.judgements();
  expect(step.judgements[0]).toMatchObject({
    places: before?.places,
    verdict: before?.verdict,
    startMs: before?.startMs,
  });
  // The batches of its start and its mark, and not the four dozen of readings.
  expect(works.collector.journal.head()).toBeGreaterThan(40);
  expect(read()).toBeLessThanOrEqual(2);
});

test('what came in while nothing judged is judged at the start', () => {
  works.event('load-start', { load: 'P1-1', lot: 'K-1', recipe: 'shell-13ply' });
  const { judge } = resumed();
  works.press(5, usualFaceC);
  works.event('load-end', { load: 'P1-1' });
  const kinds = judge.step(works.clock.nowMs()).proposals.map(({ kind }) => kind);
  expect(kinds).toContain('load-ended');
});
