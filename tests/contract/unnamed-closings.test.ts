import { randomUUID } from 'node:crypto';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { createCollector, type Collector } from '@setwell/collector/collector';
import { SteppedClock } from '@setwell/collector/stepped-clock';
import type {
  CallCleared,
  CallRaised,
  LoadEnded,
  LoadOpened,
  LoadSealed,
} from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';
import { plantWithGauge } from '../fixtures/press-plant/gauge.ts';
import { startMs, usualFaceC } from '../fixtures/press-plant/works.ts';

const minuteMs = 60_000;
let dataDir: string;
let plantFile: string;
let clock: SteppedClock;
let collector: Collector;
let url: string;
let token: string;

async function start(): Promise<void> {
  collector = createCollector({
    ...{ plantFile, dataDir, clock, judge: 'inline', serve: {}, version: 'test' },
    clockSetting: { originMs: 0, wallOriginMs: 0, rate: 1 },
    judgeEveryMs: 30_000,
  });
  const started = await collector.start();
  url = String(started.url);
  token = readFileSync(String(started.tokenFile), 'utf8').trim();
}

beforeEach(async () => {
  plantFile = plantWithGauge();
  dataDir = mkdtempSync(join(tmpdir(), 'unnamed-closings-'));
  clock = new SteppedClock(startMs);
  await start();
  press(4, false);
});

afterEach(async () => {
  await collector.stop();
  rmSync(dataDir, { recursive: true });
  rmSync(dirname(plantFile), { recursive: true });
});

async function act(kind: string, about: object, body: object) {
  const given = { id: randomUUID(), kind, by: 'p-1', about, body };
  const answer = await fetch(`${url}/acts`, {
    method: 'POST',
    headers: { authorization: `Bearer ${token}` },
    body: JSON.stringify(given),
  });
  const told = (await answer.json()) as { entry?: Entry; code?: string };
  return { status: answer.status, ...told };
}

function entries(kind: string): Entry[] {
  return collector.ledger
    .entriesAfter(-1, 100_000)
    .map(({ bytes }) => JSON.parse(bytes.toString('utf8')) as Entry)
    .filter((entry) => entry.kind === kind);
}

function publish(...told: [topic: string, value: object][]): void {
  collector.accept(
    told.map(([topic, value]) => {
      const payload = Buffer.from(JSON.stringify(value));
      return {
        topic: `plant/press-1/${topic}`,
        payload,
        retained: false,
        queued: false,
        act: null,
      };
    }),
  );
}

/** Both faces and the gauge, every 5 s; a charge is as cold as the usual one, or there is none. */
function press(minutes: number, isClosed: boolean, isCharged = isClosed): void {
  for (let s = 0; s < minutes * 60; s += 30) {
    const fromMs = clock.nowMs();
    clock.advance(30_000);
    const rows = (valueAt: (second: number) => number) =>
      [5, 10, 15, 20, 25, 30].map((s5) => ({ t: fromMs + s5 * 1000, v: valueAt(s + s5) }));
    const faceC = (second: number) => (isCharged ? usualFaceC(second / 60) : 138);
    const bar = rows(() => (isClosed ? 160 : 0));
    publish(['p1-ul', rows(faceC)], ['p1-ll', rows(faceC)], ['p1-bar', bar]);
    collector.step();
  }
}

const unnamed = () =>
  entries('call-raised').filter(({ body }) => (body as CallRaised).kind === 'closing-unnamed');

const up = () => {
  const over = new Set(entries('call-cleared').map(({ about }) => about.call));
  return unnamed().filter(({ about }) => !over.has(about.call));
};

const name = (call: Entry, lot: string) => {
  const { startEarliestMs, startLatestMs } = (call.body as CallRaised).values;
  const times = { t: startLatestMs, earliest: startEarliestMs, latest: startLatestMs };
  const body = { ...times, lot, recipe: 'shell-13ply', closing: call.about.call };
  return act('load-start', { station: 'press-1' }, body);
};

test('ten cards scanned in 40 s: the clocks stay with the closings, and so do their ends', async () => {
  const cards = 10;
  const closings: { fromMs: number; toMs: number }[] = [];
  for (let i = 0; i < cards; i += 1) {
    const fromMs = clock.nowMs();
    press(24, true);
    closings.push({ fromMs, toMs: clock.nowMs() });
    press(3, false);
  }
  const calls = unnamed();
  expect(calls.map(({ body }) => (body as CallRaised).values['charge'])).toEqual(
    Array.from({ length: cards }, () => 'seen'),
  );
  // Each is called while it is in: long before the next shift asks.
  calls.forEach((call, i) => expect(call.at - closings[i]!.fromMs).toBeLessThan(5 * minuteMs));
  const scannedMs = clock.nowMs();
  for (const [i, call] of calls.entries()) {
    clock.advance(40_000 / cards);
    expect(await name(call, `K-${String(118 + i)}`)).toMatchObject({ status: 200 });
  }
  collector.step();
  const opened = entries('load-opened');
  const ended = entries('load-ended');
  opened.forEach(({ at, body, by }, i) => {
    const { marks, lot, closing } = body as LoadOpened;
    expect(lot).toBe(`K-${String(118 + i)}`);
    expect(Math.abs(marks.pressureOn.latestMs - closings[i]!.fromMs)).toBeLessThanOrEqual(10_000);
    expect(closing?.foundBy).toBe('pressure');
    // When it was said, and by whom, stays as it was.
    expect(by).toBe('p-1');
    expect(at).toBeGreaterThan(scannedMs);
  });
  expect(ended).toHaveLength(cards);
  ended.forEach(({ body }, i) => {
    const { endMs } = body as LoadEnded;
    expect(Math.abs(endMs - closings[i]!.toMs)).toBeLessThanOrEqual(10_000);
  });
  clock.advance(3 * minuteMs);
  collector.step();
  expect(entries('load-sealed').map(({ body }) => (body as LoadSealed).verdict)).toEqual(
    Array.from({ length: cards }, () => 'in-window'),
  );
  expect(up()).toEqual([]);
  const because = entries('call-cleared').map(({ body }) => (body as CallCleared).because);
  expect(because.filter((each) => each === 'decided')).toHaveLength(cards);
});

test('a closing named while it lasts ends when its gauge says so', async () => {
  const fromMs = clock.nowMs();
  press(5, true);
  const [call] = up();
  expect(call!.about.call).toMatch(/^closing-unnamed\.press-1\./);
  expect(await name(call!, 'K-118')).toMatchObject({ status: 200 });
  press(19, true, false);
  expect(entries('load-ended')).toEqual([]);
  const openedMs = clock.nowMs();
  press(2, false);
  const [ended] = entries('load-ended');
  expect(ended?.by).toBe('plant');
  const { endMs } = ended!.body as LoadEnded;
  expect(Math.abs(endMs - openedMs)).toBeLessThanOrEqual(10_000);
  const { marks } = entries('load-opened')[0]!.body as LoadOpened;
  expect(Math.abs(marks.pressureOn.latestMs - fromMs)).toBeLessThanOrEqual(10_000);
});

test('a closing without a cold charge is asked after later, and a person says that it was empty', async () => {
  press(4, true, false);
  expect(up()).toEqual([]);
  press(6, true, false);
  const [call] = up();
  expect((call!.body as CallRaised).values['charge']).toBe('not-seen');
  const about = { station: 'press-1', call: call!.about.call };
  expect(await act('closing-voided', about, {})).toMatchObject({ status: 422 });
  const reason = 'closed over the break';
  expect(await act('closing-voided', about, { reason })).toMatchObject({ status: 200 });
  press(5, true, false);
  expect(up()).toEqual([]);
  await collector.stop();
  await start();
  press(5, true, false);
  expect(unnamed()).toHaveLength(1);
  expect(await act('closing-voided', about, { reason })).toMatchObject({ status: 422 });
});

test('an event names the closing it is sent with: nobody is called, before or after a restart', async () => {
  const event = { event: 'load-start', load: 'P1-1', lot: 'K-118', recipe: 'shell-13ply' };
  publish(['event', { t: clock.nowMs(), ...event }]);
  press(10, true);
  await collector.stop();
  await start();
  press(10, true, false);
  publish(['event', { t: clock.nowMs(), event: 'load-end', load: 'P1-1' }]);
  press(3, false);
  expect(unnamed()).toEqual([]);
  // And a start that was taken back leaves its closing without a name again.
  publish(['event', { t: clock.nowMs(), ...event, load: 'P1-2' }]);
  press(5, true);
  const taken = { reason: 'wrong press', change: { what: 'void' } };
  expect(await act('load-corrected', { load: 'P1-2' }, taken)).toMatchObject({ status: 200 });
  press(2, true, false);
  expect(up()).toHaveLength(1);
});

test('after a restart in mid-closing the same closing is not asked after twice', async () => {
  press(10, true);
  expect(up()).toHaveLength(1);
  await collector.stop();
  await start();
  press(10, true, false);
  press(3, false);
  expect(unnamed()).toHaveLength(1);
  expect(await name(up()[0]!, 'K-118')).toMatchObject({ status: 200 });
  collector.step();
  expect(entries('load-ended')).toHaveLength(1);
});

test('a press that is out of service closes without a question', async () => {
  const set = { state: 'planned-stop', reason: 'new seals' };
  await act('station-set', { station: 'press-1' }, set);
  press(10, true);
  expect(unnamed()).toEqual([]);
});
