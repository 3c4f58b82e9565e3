import { createHash } from 'node:crypto';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import fc from 'fast-check';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { checkChain } from '@setwell/collector/journal/chain';
import { FreeSpace, usedShare } from '@setwell/collector/journal/free-space';
import {
  JournalError,
  openJournal,
  openJournalReader,
  type Journal,
  type Rejected,
} from '@setwell/collector/journal/journal';
import type { JournalReader, Reading, StationEvent } from '@setwell/collector/journal/shape';
import { readingSeries } from '@setwell/collector/serve/reading-series';

const startMs = 1_772_431_200_000;
let folder: string;
let path: string;
let journal: Journal;
let reader: JournalReader;

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'journal-'));
  path = join(folder, 'journal.db');
  journal = openJournal(path);
  reader = openJournalReader(path);
});

afterEach(() => {
  reader.close();
  journal.close();
  rmSync(folder, { recursive: true });
});

function reading(point: string, s: number, v: number, more: Partial<Reading> = {}): Reading {
  const t = startMs + s * 1000;
  return { point, t, v, quality: 'good', deviceSeq: null, stamped: false, ahead: false, ...more };
}

function event(kind: string, more: Partial<StationEvent> = {}): StationEvent {
  return {
    station: 'press-1',
    event: kind,
    earliestMs: startMs,
    latestMs: startMs,
    load: 'P1-00231',
    lot: 'K-118',
    recipe: 'shell-13ply',
    zones: ['left'],
    opening: null,
    parts: [],
    by: null,
    act: null,
    more: {},
    ...more,
  };
}

function append(items: (Reading | StationEvent)[], receivedMs = startMs) {
  return journal.append({ receivedMs, items, rejects: [] });
}

function rows(table: string): unknown[] {
  const db = new Database(path, { readonly: true });
  const all = db.prepare(`SELECT * FROM ${table}`).all();
  db.close();
  return all;
}

const index = () => ['point', 'reading', 'conflict', 'minute', 'event'].map(rows);

describe('journal', () => {
  it('gives back a batch as it came in, in order of arrival', () => {
    const items = [
      reading('p1-ul', 0, 135.2),
      event('load-start', { more: { note: 'x' } }),
      reading('p1-ll', 0, -0.5, { quality: 'late', deviceSeq: 41, stamped: true, ahead: true }),
    ];
    append(items, startMs + 7);
    expect(reader.batchesAfter(0, 10)).toEqual([
      {
        seq: 1,
        receivedMs: startMs + 7,
        readings: [items[0], items[2]],
        events: [{ index: 1, event: items[1] }],
      },
    ]);
    expect(reader.head()).toBe(1);
  });

  it('chains each batch to the one before', () => {
    append([reading('p1', 0, 1)]);
    append([reading('p1', 1, 2)]);
    const [first, second] = rows('batch') as { body: Buffer; hash: Buffer }[];
    const chained = createHash('sha256')
      .update(first?.hash ?? '')
      .update(second?.body ?? '');
    expect(second?.hash).toEqual(chained.digest());
  });

  it('goes on where it stopped', () => {
    append([reading('p1', 0, 1)]);
    journal.close();
    journal = openJournal(path);
    expect(append([reading('p1', 0, 1), reading('p2', 1, 2)])).toMatchObject({
      batch: { seq: 2, readings: [{ point: 'p2' }] },
      duplicates: 1,
    });
  });

  it('stores the same reading once, and makes no batch of nothing new', () => {
    append([reading('p1', 0, 1), reading('p1', 0, 1)]);
    expect(append([reading('p1', 0, 1)])).toMatchObject({ batch: null, duplicates: 1 });
    expect(reader.readings('p1', startMs, startMs).readings).toHaveLength(1);
    expect(reader.head()).toBe(1);
  });

  it('keeps both values of a conflict, and gives neither', () => {
    append([reading('p1', 0, 1), reading('p1', 1, 5)]);
    expect(append([reading('p1', 0, 2)])).toMatchObject({ conflicts: 1, batch: { seq: 2 } });
    expect(append([reading('p1', 0, 2)])).toMatchObject({ conflicts: 0, duplicates: 1 });
    const { readings, conflicts } = reader.readings('p1', startMs, startMs + 5000);
    expect(readings.map((one) => one.v)).toEqual([5]);
    expect(conflicts).toBe(1);
    expect(reader.minutes('p1', startMs, startMs)).toEqual([
      { t: startMs, min: 5, max: 5, mean: 5, count: 1 },
    ]);
  });

  it('takes an event once, and two that differ twice', () => {
    append([event('load-start')]);
    expect(append([event('load-start', { act: '3f1c' })]).duplicates).toBe(1);
    expect(append([event('load-start', { zones: ['right'] })]).batch?.events).toHaveLength(1);
  });

  it('rolls minutes up across batches, without what is ahead or doubtful', () => {
    append([reading('p1', 0, 10), reading('p1', 59, 20), reading('p1', 60, 50)]);
    append([
      reading('p1', 30, 30),
      reading('p1', 31, 999, { ahead: true }),
      reading('p1', 32, 999, { quality: 'doubtful' }),
    ]);
    expect(reader.minutes('p1', startMs, startMs + 60_000)).toEqual([
      { t: startMs, min: 10, max: 30, mean: 20, count: 3 },
      { t: startMs + 60_000, min: 50, max: 50, mean: 50, count: 1 },
    ]);
  });

  it('puts minutes together in steps of a chart, from wherever it begins', async () => {
    const perMin = 6;
    append(Array.from({ length: 90 * perMin }, (_, i) => reading('p1', i * 10, (i * 7) % 100)));
    const fromMs = startMs + 90_000;
    const sources = { journal: reader, keptFromMs: () => 0, history: null };
    const toMs = startMs + 5_400_000 - 1;
    const series = await readingSeries(sources, { point: 'p1', fromMs, toMs, points: 9 });
    const stepMs = series.steps[1]!.t - series.steps[0]!.t;
    expect(stepMs).toBeGreaterThan(300_000);
    const { readings } = reader.readings('p1', 0, 5e12);
    for (const step of series.steps) {
      // A chart's step takes a minute whole, in the step where the minute begins.
      const within = readings
        .filter(({ t }) => {
          const minuteMs = t - (t % 60_000);
          return minuteMs >= step.t && minuteMs < step.t + stepMs && minuteMs >= fromMs;
        })
        .map(({ v }) => v);
      const sum = within.reduce((a, b) => a + b, 0);
      expect(step).toMatchObject({ min: Math.min(...within), max: Math.max(...within) });
      expect(step.mean).toBeCloseTo(sum / within.length, 9);
    }
  });

  it('knows the newest value, which one from the future is not', () => {
    append([reading('p1', 9, 9), reading('p1', 3, 3), reading('p1', 9999, 1, { ahead: true })], 1);
    expect(reader.lastReading('p1')).toEqual({ ...reading('p1', 9, 9), receivedMs: 1 });
    expect(reader.lastReading('p2')).toBeNull();
  });

  it('keeps rejects with their payload, and only the newest hundred thousand', () => {
    const reject = { code: 'not-json', found: 'x', expected: 'JSON', payload: Buffer.from('{"t"') };
    journal.append({ receivedMs: 1, items: [], rejects: [{ topic: 'oldest', ...reject }] });
    const many = Array.from({ length: 100_000 }, () => ({ topic: 'many', ...reject }));
    journal.append({ receivedMs: 2, items: [], rejects: many });
    expect(reader.rejects(200_000)).toHaveLength(100_000);
    expect(reader.rejects(1)).toEqual([
      { receivedMs: 2, topic: 'many', ...reject, payload: '{"t"' },
    ]);
    expect(reader.head()).toBe(0);
  });

  const points = ['p1', 'p2', 'p3'];
  const oneBatch = (() => {
    const quality = fc.constantFrom<Reading['quality']>('good', 'late', 'doubtful');
    const oneReading = fc
      .tuple(
        fc.constantFrom(...points),
        fc.nat(150),
        fc.integer({ min: -3, max: 3 }),
        quality,
        fc.boolean(),
      )
      .map(([name, s, v, how, ahead]) =>
        reading(name, s, v / 7, { quality: how, ahead, deviceSeq: s }),
      );
    const oneEvent = fc
      .constantFrom('load-start', 'load-end', 'note')
      .map((kind) => event(kind) as Reading | StationEvent);
    return fc.array(fc.oneof({ weight: 9, arbitrary: oneReading }, oneEvent));
  })();

  it('rebuilds its index from the batches to the same rows', () => {
    journal.close();
    journal = openJournal(path, new FreeSpace(path), 0);
    fc.assert(
      fc.property(fc.array(oneBatch, { maxLength: 12 }), (all) => {
        for (const items of all) append(items);
        const before = index();
        journal.rebuildIndex();
        expect(index()).toEqual(before);
      }),
      { numRuns: 40, seed: 11 },
    );
    expect(append([reading('p1', 0, 77)]).conflicts).toBe(1);
  });

  it('answers the same whether readings lie in the index or in their batches alone', () => {
    // Mostly onwards in time, as devices speak; now and then one comes late, again, or otherwise.
    const later = fc.array(fc.tuple(oneBatch, fc.constantFrom(0, 40, 90, 200, 200, 200)), {
      minLength: 2,
      maxLength: 14,
    });
    const answers = (from: JournalReader) =>
      points.map((point) => ({
        ...{ all: from.readings(point, 0, 5e12), last: from.lastReading(point) },
        some: from.readings(point, startMs + 333_000, startMs + 911_000),
        holes: from.sequenceHoles(point, 0, 5e12),
        arrived: [0, 2, 5].map((seq) => from.arrivedAfter(seq, point, startMs, startMs + 700_000)),
        minutes: from.minutes(point, startMs + 60_000, startMs + 900_000),
        everyMinute: from.minutes(point, 0, 5e12),
      }));
    let runs = 0;
    fc.assert(
      fc.property(later, fc.constantFrom(2, 5, 20, 40, 10_000), (all, most) => {
        runs += 1;
        const [here, there] = [`here-${runs}.db`, `there-${runs}.db`].map((name) =>
          join(folder, name),
        );
        let fresh = openJournal(here!, new FreeSpace(here!), most);
        const atOnce = openJournal(there!, new FreeSpace(there!), 0);
        const readers = [openJournalReader(here!), openJournalReader(there!)];
        let shiftMs = 0;
        all.forEach(([items, onS], n) => {
          shiftMs += onS * 1000;
          const moved = items.map((item) =>
            't' in item ? { ...item, t: item.t + shiftMs } : item,
          );
          moved.sort((a, b) => ('t' in a && 't' in b ? a.t - b.t : 0));
          const batch = { receivedMs: startMs + n * 7000, items: moved, rejects: [] };
          expect(fresh.append(batch)).toEqual(atOnce.append(batch));
          expect(answers(readers[0]!)).toEqual(answers(readers[1]!));
          if (n % 5 !== 4) return;
          // As after a crash: nothing is handed over in memory.
          fresh.close();
          fresh = openJournal(here!, new FreeSpace(here!), most);
        });
        fresh.rebuildIndex();
        expect(answers(readers[0]!)).toEqual(answers(readers[1]!));
        for (const one of [fresh, atOnce, ...readers]) one.close();
      }),
      { numRuns: 100, seed: 12 },
    );
  });

  it('keeps what goes on in its batches alone until a minute or thousands have come together, a part at a time', () => {
    const indexed = () => rows('reading').length;
    append([reading('p1', 0, 1), reading('p2', 0, 1)]);
    append([reading('p1', 1, 2)], startMs + 60_000);
    expect(indexed()).toBe(0);
    // Both parts are a minute old: one goes in with each batch.
    append([reading('p1', 2, 3)], startMs + 60_001);
    append([reading('p1', 3, 4)], startMs + 60_002);
    expect(indexed()).toBe(3);
    append(
      Array.from({ length: 5_999 }, (_, i) => reading('p1', 4 + i, i)),
      startMs + 61_000,
    );
    expect(indexed()).toBe(5);
    // What does not go on takes its own part with it.
    append([reading('p2', -1, 1)], startMs + 61_000);
    expect(indexed()).toBe(6);
    append([reading('p1', -1, 1)], startMs + 61_000);
    expect(indexed()).toBe(6_006);
    expect(reader.readings('p1', 0, 5e12).readings).toHaveLength(6_004);
  });

  it('serves what is whole where a batch that the index does not cover is damaged', () => {
    append([reading('p1', 0, 1)]);
    append([reading('p1', 1, 2)]);
    append([reading('p1', 2, 3)]);
    const db = new Database(path);
    db.exec(`UPDATE batch SET body = CAST('{' AS BLOB) WHERE seq = 2`);
    db.close();
    journal.close();
    journal = openJournal(path);
    const later = openJournalReader(path);
    expect(later.readings('p1', 0, 5e12).readings.map(({ v }) => v)).toEqual([1, 3]);
    later.close();
    expect(append([reading('p1', 3, 4)]).batch?.seq).toBe(4);
  });

  it('syncs every commit, and vacuums by steps', () => {
    const db = new Database(path);
    expect(db.pragma('auto_vacuum', { simple: true })).toBe(2);
    expect(db.pragma('journal_mode', { simple: true })).toBe('wal');
    db.close();
  });

  it('stores nothing of a batch that the disk refuses, and goes on with the next', () => {
    const other = new Database(path);
    other.pragma('busy_timeout = 0');
    other.exec('BEGIN IMMEDIATE');
    expect(() => append([reading('new-point', 0, 1)])).toThrow(/locked/);
    other.exec('ROLLBACK');
    other.close();
    append([reading('other-point', 0, 2)]);
    expect(reader.readings('new-point', 0, startMs * 2).readings).toEqual([]);
    expect(reader.readings('other-point', 0, startMs * 2).readings).toHaveLength(1);
  });

  it('stores batches that came together all or none, one chained to the other', () => {
    const batch = (s: number) => ({
      receivedMs: startMs,
      items: [reading('p1', s, s)],
      rejects: [] as Rejected[],
    });
    const fault = { code: 'not-json', found: '', expected: '', payload: Buffer.alloc(1) };
    // What the database itself refuses, in the middle of them.
    const refused = [{ ...fault, topic: null as unknown as string }];
    expect(() => journal.appendAll([batch(0), { ...batch(1), rejects: refused }])).toThrow(
      JournalError,
    );
    expect(reader.head()).toBe(0);
    expect(journal.appendAll([batch(0), batch(1)]).map((one) => one.batch?.seq)).toEqual([1, 2]);
    expect(checkChain(path)).toEqual({ head: 2, faults: [] });
    expect(reader.readings('p1', 0, 5e12).readings.map(({ v }) => v)).toEqual([0, 1]);
  });

  it('stores nothing on a disk that is 97 % full, and goes on as soon as there is room', () => {
    let used = 0.969;
    const looked: string[] = [];
    const other = join(folder, 'other.db');
    const space = new FreeSpace(other, (path) => {
      looked.push(path);
      return used;
    });
    const full = openJournal(other, space);
    const one = (s: number) =>
      full.append({ receivedMs: startMs, items: [reading('p1', s, 1)], rejects: [] });
    one(0);
    used = 0.97;
    for (let s = 1; s < 64; s++) one(s);
    expect(() => one(64)).toThrow(/other.db: the disk is 97.0 % full/);
    expect(() => one(64)).toThrow(JournalError);
    used = 0.5;
    expect(one(64).batch?.seq).toBe(65);
    expect(new Set(looked)).toEqual(new Set([other]));
    full.close();
  });

  it('sees how full a disk is', () => {
    expect(usedShare(path)).toBeGreaterThan(0);
    expect(usedShare(path)).toBeLessThan(1);
  });

  it('refuses a file that is no journal of its version', () => {
    const wrong = join(folder, 'wrong.db');
    const db = new Database(wrong);
    db.pragma('user_version = 99');
    db.close();
    expect(() => openJournal(wrong)).toThrow(/journal version 99/);
    expect(() => openJournalReader(join(folder, 'none.db'))).toThrow(/unable to open/);
  });
});
