import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { checkChain } from '@setwell/collector/journal/chain';
import type { Droppable } from '@setwell/collector/journal/dropping';
import { FreeSpace } from '@setwell/collector/journal/free-space';
import { mostFresh } from '@setwell/collector/journal/reading-index';
import { openJournal, openJournalReader, type Journal } from '@setwell/collector/journal/journal';
import type { JournalReader, Reading, StationEvent } from '@setwell/collector/journal/shape';

const startMs = Date.parse('2026-03-02T06:00:00Z');
const hourMs = 3_600_000;
let folder: string;
let path: string;
let journal: Journal;
let reader: JournalReader;

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'keeping-'));
  path = join(folder, 'journal.db');
  journal = openJournal(path, new FreeSpace(path, () => 0.5));
  reader = openJournalReader(path);
});

afterEach(() => {
  reader.close();
  journal.close();
  rmSync(folder, { recursive: true });
});

function reading(point: string, t: number, v = 20): Reading {
  return { point, t, v, quality: 'good', deviceSeq: null, stamped: false, ahead: false };
}

const start: StationEvent = {
  ...{ station: 'press-1', event: 'load-start', earliestMs: startMs, latestMs: startMs },
  ...{ load: 'P1-1', lot: null, recipe: null, zones: null, opening: null, parts: [] },
  ...{ by: null, act: null, more: {} },
};

/** Two points, a reading a minute each, for so many hours; an event in the first batch. */
function fill(hours: number, more = 0): void {
  for (let min = 0; min < hours * 60; min += 1) {
    const t = startMs + min * 60_000;
    const items = [reading('p1', t, min), reading('store', t, min), ...(min === 0 ? [start] : [])];
    for (let i = 1; i <= more; i += 1) items.push(reading('p1', t + i, i));
    journal.append({ receivedMs: t, items, rejects: [] });
  }
}

/** @returns what was said of it before it went, and in how many steps it did */
function drop(untilMs: number, storeFromMs: number | null = null) {
  const neededFromMs = (point: string) => (point === 'store' ? storeFromMs : null);
  let said: Droppable | null = null;
  const steps = journal.drop({ untilMs, neededFromMs }, (found) => (said = found));
  let count = 0;
  while (!steps.next().done) count += 1;
  return { said: said as Droppable | null, count };
}

const all = (point: string) => reader.readings(point, 0, 5e12).readings.length;

function index(): unknown[] {
  const db = new Database(path, { readonly: true });
  const tables = ['point', 'reading', 'conflict', 'minute', 'event'];
  const rows = tables.map((table) => db.prepare(`SELECT * FROM ${table}`).all());
  db.close();
  return rows;
}

test('old readings go; minutes, events and what is newer stay, and the chain is whole', () => {
  fill(4);
  const minutes = reader.minutes('p1', startMs, startMs + 4 * hourMs);
  const dropping = { untilMs: startMs + 2 * hourMs, neededFromMs: () => null };
  expect(journal.oldestMs(dropping)).toBe(startMs);
  const { said } = drop(startMs + 2 * hourMs);
  expect(said).toEqual({ readings: 240, points: 2, oldestMs: startMs });
  expect(journal.oldestMs(dropping)).toBeNull();
  expect([all('p1'), all('store')]).toEqual([120, 120]);
  expect(reader.minutes('p1', startMs, startMs + 4 * hourMs)).toEqual(minutes);
  expect(reader.batchesWithEvents(0, 240, 10)).toMatchObject([
    { seq: 1, readings: [], events: [{ index: 2 }] },
  ]);
  expect(checkChain(path)).toEqual({ head: 240, faults: [] });
});

test('what an unsealed load needs stays, in the midst of what goes', () => {
  fill(4);
  drop(startMs + 3 * hourMs, startMs + hourMs + 20 * 60_000);
  expect([all('p1'), all('store')]).toEqual([60, 180]);
  expect(journal.keptFromMs('p1')).toBe(startMs + 3 * hourMs);
  expect(journal.keptFromMs('store')).toBe(startMs + hourMs);
  expect(checkChain(path).faults).toEqual([]);
});

test('a journal that has lost readings goes on, is opened again, and rebuilds to the same rows', () => {
  fill(3);
  drop(startMs + 3 * hourMs);
  expect(all('p1')).toBe(0);
  journal.close();
  journal = openJournal(path, new FreeSpace(path, () => 0.5));
  expect(journal.head()).toBe(180);
  expect(journal.keptFromMs('p1')).toBe(startMs + 3 * hourMs);
  const t = startMs + 3 * hourMs;
  const { batch } = journal.append({ receivedMs: t, items: [reading('p1', t, 7)], rejects: [] });
  expect(batch?.seq).toBe(181);
  // Asked what may go, it has all in its index.
  journal.oldestMs({ untilMs: 0, neededFromMs: () => null });
  const before = index();
  journal.rebuildIndex();
  expect(index()).toEqual(before);
  expect(reader.minutes('p1', startMs, t)).toHaveLength(181);
  expect(checkChain(path)).toEqual({ head: 181, faults: [] });
});

test('a batch that was changed after something before it was dropped is found all the same', () => {
  fill(3);
  drop(startMs + hourMs);
  const db = new Database(path);
  db.exec(`UPDATE batch SET body = CAST(replace(body, '149', '148') AS BLOB) WHERE seq = 150`);
  db.close();
  expect(checkChain(path).faults).toEqual([{ seq: 150, what: 'changed' }]);
});

test('many readings go in steps that intake does not wait for, and none is left', () => {
  fill(6, 100);
  const { said, count } = drop(startMs + 6 * hourMs);
  expect(said?.readings).toBe(360 * 102);
  // Two thousand at most a step.
  expect(count).toBeGreaterThan(said!.readings / 2000);
  expect([all('p1'), all('store')]).toEqual([0, 0]);
});

test('the file gives its pages back to the disk', () => {
  const pages = () => {
    const db = new Database(path, { readonly: true });
    const count = Number(db.pragma('page_count', { simple: true }));
    db.close();
    return count;
  };
  fill(6, 50);
  const before = pages();
  drop(startMs + 6 * hourMs);
  expect(pages()).toBeLessThan(before / 2);
});

const stepsBack: Record<number, string> = {
  3: `CREATE TABLE together (seq INTEGER NOT NULL) STRICT;
    INSERT INTO together SELECT min(seq) FROM indexed; DROP TABLE indexed;
    ALTER TABLE together RENAME TO indexed; PRAGMA user_version = 3`,
  2: 'DROP TABLE indexed; PRAGMA user_version = 2',
  1: `DROP TABLE indexed; DROP TABLE anchor; DROP TABLE horizon;
    ALTER TABLE batch DROP COLUMN dropped; DROP INDEX eventBySeq; PRAGMA user_version = 1`,
};

test.each([2, 3])('whoever only reads a journal of version %d leaves it as it is', (version) => {
  journal.close();
  rmSync(path);
  journal = openJournal(path, new FreeSpace(path, () => 0.5), 0);
  fill(1);
  reader.close();
  const db = new Database(path);
  db.exec(stepsBack[version]!);
  reader = openJournalReader(path);
  expect(all('p1')).toBe(60);
  expect(db.pragma('user_version', { simple: true })).toBe(version);
  db.close();
});

test.each([1, 2, 3])(
  'a journal of version %d is brought up to this one with all it holds',
  (version) => {
    journal.close();
    rmSync(path);
    // Before the third all was in the index.
    journal = openJournal(path, new FreeSpace(path, () => 0.5), version < 3 ? 0 : mostFresh);
    fill(1);
    journal.close();
    reader.close();
    const db = new Database(path);
    db.exec(stepsBack[version]!);
    db.close();
    journal = openJournal(path, new FreeSpace(path, () => 0.5));
    reader = openJournalReader(path);
    expect(all('p1')).toBe(60);
    drop(startMs + hourMs);
    expect(all('p1')).toBe(0);
  },
);
