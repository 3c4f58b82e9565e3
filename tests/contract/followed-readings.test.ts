import { EventEmitter } from 'node:events';
import type { ServerResponse } from 'node:http';
import { afterEach, beforeEach, expect, test, vi } from 'vitest';
import type { ReadingFrame } from '@setwell/shared-models/api/collector';
import type { JournalReader } from '@setwell/collector/journal/shape';
import { followRoutes } from '@setwell/collector/serve/follow-routes';
import { LiveReadings } from '@setwell/collector/serve/live-readings';
import type { Asked } from '@setwell/collector/serve/route';
import type { Served } from '@setwell/collector/serve/served';
import { smallPlant } from '../fixtures/small-plant.ts';

const emptyJournal = { lastReading: () => null, minutes: () => [] } as unknown as JournalReader;

class Answer extends EventEmitter {
  writableNeedDrain = false;
  readonly frames: ReadingFrame[] = [];
  writeHead() {}
  flushHeaders() {}
  write(lines: string) {
    for (const line of lines.split('\n').filter((one) => one !== '')) {
      this.frames.push(JSON.parse(line) as ReadingFrame);
    }
  }
  values() {
    return this.frames.map(({ points }) => points['p1-ul']?.v);
  }
}

const live = () => new LiveReadings(smallPlant(), emptyJournal);

function say(to: LiveReadings, v: number): void {
  const reading = { quality: 'good', deviceSeq: null, stamped: false, ahead: false } as const;
  const readings = [{ ...reading, point: 'p1-ul', t: v * 1000, v }];
  to.take({ seq: v, receivedMs: v * 1000, readings, events: [] });
}

function follow(readings: LiveReadings): Answer {
  const served = { live: readings, nowMs: () => 0 } as unknown as Served;
  const route = followRoutes(served).find(({ path }) => path === '/follow/readings');
  const answer = new Answer();
  if (route === undefined || !('follow' in route)) throw new Error('no such route');
  route.follow({} as Asked, answer as unknown as ServerResponse);
  return answer;
}

beforeEach(() => void vi.useFakeTimers());
afterEach(() => void vi.useRealTimers());

test('a value goes out behind its commit, and those of the next tenth of a second together', () => {
  const readings = live();
  say(readings, 1);
  const answer = follow(readings);
  expect(answer.values()).toEqual([1]);
  vi.advanceTimersByTime(5000);
  say(readings, 2);
  // The commit is acknowledged first.
  expect(answer.values()).toEqual([1]);
  vi.advanceTimersByTime(1);
  expect(answer.values()).toEqual([1, 2]);
  for (const v of [3, 4, 5]) say(readings, v);
  vi.advanceTimersByTime(98);
  expect(answer.values()).toEqual([1, 2]);
  vi.advanceTimersByTime(2);
  expect(answer.values()).toEqual([1, 2, 5]);
  vi.advanceTimersByTime(5000);
  expect(answer.values()).toEqual([1, 2, 5]);
});

test('one who is slow gets the newest as soon as he takes it, and one who has gone nothing', () => {
  const readings = live();
  const answer = follow(readings);
  answer.writableNeedDrain = true;
  for (const v of [1, 2]) {
    say(readings, v);
    vi.advanceTimersByTime(1000);
  }
  expect(answer.frames).toEqual([]);
  answer.writableNeedDrain = false;
  answer.emit('drain');
  expect(answer.values()).toEqual([2]);
  say(readings, 3);
  answer.emit('close');
  vi.advanceTimersByTime(1000);
  expect(answer.values()).toEqual([2]);
  expect(vi.getTimerCount()).toBe(0);
});
