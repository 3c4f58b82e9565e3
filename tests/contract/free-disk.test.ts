import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { createCollector, type Collector } from '@setwell/collector/collector';
import { SteppedClock } from '@setwell/collector/stepped-clock';
import type { ReadingsDropped } from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';
import { plantFile, startMs } from '../fixtures/press-plant/works.ts';

const hourMs = 3_600_000;
let dataDir: string;
let clock: SteppedClock;
let collector: Collector;
let used: number;

beforeEach(async () => {
  dataDir = mkdtempSync(join(tmpdir(), 'free-disk-'));
  clock = new SteppedClock(startMs);
  used = 0.5;
  collector = createCollector({
    ...{ plantFile, dataDir, clock, judge: 'inline', version: 'test' },
    ...{ stepEveryMs: hourMs, usedShare: () => used },
    clockSetting: { originMs: 0, wallOriginMs: 0, rate: 1 },
  });
  await collector.start();
  say('plant/rack-a/event', { t: startMs, event: 'load-start', load: 'A-1', lot: 'K-1' });
  // A load without a recipe is judged by nothing, and its readings are needed all the same.
  for (let hour = 0; hour < 8; hour += 1) {
    for (let min = 0; min < 60; min += 10) {
      for (const topic of ['plant/press-1/p1-ul', 'plant/rack-a/ra-1']) {
        say(topic, { t: clock.nowMs(), v: 20 });
      }
      clock.advance(10 * 60_000);
    }
    collector.step();
  }
});

afterEach(async () => {
  await collector.stop();
  rmSync(dataDir, { recursive: true });
});

function say(topic: string, value: object): void {
  const payload = Buffer.from(JSON.stringify(value));
  collector.accept([{ topic, payload, retained: false, queued: false, act: null }]);
}

function dropped(): ReadingsDropped[] {
  return collector.ledger
    .entriesAfter(-1, 10_000)
    .map(({ bytes }) => JSON.parse(bytes.toString('utf8')) as Entry<ReadingsDropped>)
    .filter(({ kind }) => kind === 'readings-dropped')
    .map(({ body }) => body);
}

const count = (point: string) => collector.journal.readings(point, 0, 5e12).readings.length;

test('above 92 % the oldest readings go, but none that an unsealed load needs, and it is recorded', () => {
  clock.advance(5 * 60_000);
  expect(dropped()).toEqual([]);
  used = 0.92;
  clock.advance(5 * 60_000);
  expect(count('ra-1')).toBe(48);
  expect(count('p1-ul')).toBe(10);
  expect(dropped().every(({ because, points }) => because === 'space' && points === 1)).toBe(true);
  expect(dropped().reduce((sum, { readings }) => sum + readings, 0)).toBe(38);
});

test('it ends as soon as there is room', () => {
  used = 0.93;
  clock.advance(59_000);
  used = 0.5;
  clock.advance(10 * 60_000);
  expect(count('p1-ul')).toBe(48);
});

test('a clock that was set ahead makes nothing old', () => {
  used = 0.93;
  clock.wallStepMs(400 * 86_400_000);
  clock.advance(2 * 60_000);
  expect(count('p1-ul')).toBeGreaterThanOrEqual(10);
  const newest = collector.journal.readings('p1-ul', 0, 5e12).readings.at(-1);
  expect(newest?.t).toBe(startMs + 8 * hourMs - 10 * 60_000);
});

test('above 97 % nothing is stored, the bus gets an error, and what was there stays', () => {
  used = 0.97;
  clock.advance(61_000);
  expect(() => say('plant/press-1/p1-ul', { t: clock.nowMs(), v: 21 })).toThrow(/97.0 % full/);
  used = 0.9;
  say('plant/press-1/p1-ul', { t: clock.nowMs(), v: 21 });
  expect(collector.journal.lastReading('p1-ul')?.v).toBe(21);
});
