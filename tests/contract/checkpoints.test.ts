import { createHash } from 'node:crypto';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { afterEach, beforeEach, expect, it } from 'vitest';
import { createCollector } from '@setwell/collector/collector';
import type { Bus, BusStatus } from '@setwell/collector/intake/bus';
import { isSignedBy, parseNote, parseVerifierKey } from '@setwell/collector/ledger/signed-note';
import { parseCheckpointText } from '@setwell/shared-models/record/checkpoint';
import type { JournalClosed, LogStarted } from '@setwell/shared-models/record/bodies';
import { openWorks, plantFile, usualFaceC, type Works } from '../fixtures/press-plant/works.ts';

let works: Works;
beforeEach(() => {
  works = openWorks();
});
afterEach(() => works.end());

/** From 09:40, so that two full hours end: at 10:00 and at 11:00. */
const overTwoHours = () => works.press(85, usualFaceC);

it('binds each full hour of the journal into the ledger, and signs it', () => {
  overTwoHours();
  const hours = works.entries('journal-closed').map(({ body }) => body as JournalClosed);
  expect(hours.map(({ beforeMs }) => new Date(beforeMs).toISOString())).toEqual([
    '2026-03-02T09:00:00.000Z',
    '2026-03-02T10:00:00.000Z',
  ]);
  const [first, second] = hours;
  expect([first?.fromSeq, second?.fromSeq]).toEqual([1, first!.toSeq + 1]);
  // Two faces every 5 s; what is received on the hour belongs to the next one.
  expect([first?.readings, second?.readings]).toEqual([2 * 12 * 20 - 6, 2 * 12 * 60]);
  // The chained hash of the last batch, computed again from the bodies in the file.
  const db = new Database(join(works.dataDir, 'journal.db'), { readonly: true });
  const bodies = db
    .prepare<[number], Buffer>('SELECT body FROM batch WHERE seq <= ? ORDER BY seq')
    .pluck()
    .all(second!.toSeq) as unknown as Buffer[];
  db.close();
  const chained = bodies.reduce(
    (previous, body) => createHash('sha256').update(previous).update(body).digest(),
    Buffer.alloc(32),
  );
  expect(second?.lastHash).toBe(chained.toString('hex'));
  const last = works.entries('journal-closed').at(-1);
  expect(works.collector.ledger.checkpoint()?.size).toBe(last!.n + 1);
});

it('binds an hour once, over a restart', () => {
  overTwoHours();
  works.restart();
  works.press(1, usualFaceC);
  expect(works.entries('journal-closed')).toHaveLength(2);
});

it('goes on each hour after a clock that was ahead is set back, with what came in meanwhile, over a restart', () => {
  const hours = () => works.entries('journal-closed').map(({ body }) => body as JournalClosed);
  const dayMs = 86_400_000;
  works.press(5, usualFaceC);
  // At 09:45 somebody sets it a day ahead, and at 09:55 back.
  works.clock.wallStepMs(dayMs);
  works.press(10, usualFaceC);
  works.clock.wallStepMs(-dayMs);
  works.press(10, usualFaceC);
  works.restart();
  works.press(60, usualFaceC);
  expect(hours().map(({ beforeMs }) => new Date(beforeMs).toISOString())).toEqual([
    // The first look of the day ahead binds in what was there.
    '2026-03-03T08:00:00.000Z',
    '2026-03-02T09:00:00.000Z',
    '2026-03-02T10:00:00.000Z',
  ]);
  const [ahead, back, next] = hours();
  expect([back?.fromSeq, next?.fromSeq]).toEqual([ahead!.toSeq + 1, back!.toSeq + 1]);
  const head = works.collector.journal.head();
  const counted = works.collector.journal.batchesAfter(0, head);
  const between = counted.filter(({ seq }) => seq >= back!.fromSeq && seq <= back!.toSeq);
  expect(new Set(between.map(({ receivedMs }) => receivedMs > Date.parse('2026-03-03')))).toEqual(
    new Set([true, false]),
  );
});

it('counts conflicts and what was set aside', () => {
  const odd = (v: unknown) => ({
    topic: 'plant/press-1/p1-ul',
    payload: Buffer.from(JSON.stringify({ t: works.clock.nowMs() - 1000, v })),
    ...{ retained: false, queued: false, act: null },
  });
  works.collector.accept([odd(138), odd(139), odd('warm')]);
  overTwoHours();
  const { body } = works.entries('journal-closed')[0]!;
  expect(body).toMatchObject({ conflicts: 1, rejects: 1 });
});

it('puts each checkpoint outside at once, retained, and the newest again when the broker is back', async () => {
  await works.collector.stop();
  const published: { topic: string; payload: string; retain: boolean }[] = [];
  let tell: (status: BusStatus) => void = () => {};
  const status: BusStatus = { connected: false, sinceMs: null, url: '', faults: [] };
  const bus: Bus = {
    status: () => status,
    onStatus: (listener) => {
      tell = listener;
      return () => {};
    },
    publish: (topic, payload, { retain }) => void published.push({ topic, payload, retain }),
    close: () => Promise.resolve(),
  } as Bus;
  const collector = createCollector({
    plantFile,
    dataDir: works.dataDir,
    keyDir: join(works.dataDir, 'keys'),
    clock: works.clock,
    clockSetting: { originMs: 0, wallOriginMs: 0, rate: 1 },
    judge: 'inline',
    version: 'test',
    bus: () => bus,
  });
  await collector.start();
  const posted = () => published.filter(({ topic }) => topic === 'setwell/c1/checkpoint');
  const notes = () => posted().map(({ payload }) => payload);
  const before = notes().length;
  const body = { lot: 'K-1', revision: 1 };
  collector.append([{ kind: 'lot-filed', by: 'collector', about: { lots: ['K-1'] }, body }]);
  expect(notes()).toHaveLength(before + 1);
  tell({ ...status, connected: true });
  expect(notes().slice(before)).toEqual([notes().at(-1), notes().at(-1)]);
  expect(posted().every(({ retain }) => retain)).toBe(true);
  const note = parseNote(notes().at(-1)!)!;
  const { key } = collector.ledger.entry(0)?.body as LogStarted;
  expect(isSignedBy(note, parseVerifierKey(key!)!)).toBe(true);
  expect(parseCheckpointText(note.text)).toMatchObject({
    origin: 'setwell/test-works/c1/1',
    size: collector.ledger.size(),
  });
  await collector.stop();
});
