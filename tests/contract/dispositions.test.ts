import { randomUUID } from 'node:crypto';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { createCollector, type Collector } from '@setwell/collector/collector';
import { LedgerFold } from '@setwell/collector/judge/ledger-fold';
import { SteppedClock } from '@setwell/collector/stepped-clock';
import type { Entry } from '@setwell/shared-models/record/entry';
import { plantFile, startMs, usualFaceC } from '../fixtures/press-plant/works.ts';

let dataDir: string;
let clock: SteppedClock;
let collector: Collector;
let url: string;
let token: string;

beforeEach(async () => {
  dataDir = mkdtempSync(join(tmpdir(), 'dispositions-'));
  clock = new SteppedClock(startMs);
  collector = createCollector({
    ...{ plantFile, dataDir, clock, judge: 'inline', serve: {}, version: 'test' },
    clockSetting: { originMs: 0, wallOriginMs: 0, rate: 1 },
    judgeEveryMs: 60_000,
  });
  const started = await collector.start();
  url = String(started.url);
  token = readFileSync(String(started.tokenFile), 'utf8').trim();
});

afterEach(async () => {
  await collector.stop();
  rmSync(dataDir, { recursive: true });
});

async function act(kind: string, about: object, body: object, more: object = {}) {
  const given = { id: randomUUID(), kind, by: 'p-1', about, body, ...more };
  const answer = await fetch(`${url}/acts`, {
    method: 'POST',
    // While the judge computes for seconds the server lets an idle connection go.
    headers: { authorization: `Bearer ${token}`, connection: 'close' },
    body: JSON.stringify(given),
  });
  const told = (await answer.json()) as { entry?: Entry; field?: string; code?: string };
  return { status: answer.status, ...told };
}

const about = { load: 'P1-1' };
const decide = (decision: string, more: object = {}, by = 'p-1') =>
  act('disposition', about, { decision, reason: 'looked at', ...more }, { by });

function entries(kind: string): Entry[] {
  return collector.ledger
    .entriesAfter(-1, 100_000)
    .map(({ bytes }) => JSON.parse(bytes.toString('utf8')) as Entry)
    .filter((entry) => entry.kind === kind);
}

function press(minutes: number, fromMin = 0): void {
  for (let s = 0; s < minutes * 60; s += 15) {
    clock.advance(15_000);
    const t = clock.nowMs();
    const payload = Buffer.from(JSON.stringify({ t, v: usualFaceC(fromMin + s / 60) }));
    collector.accept(
      ['p1-ul', 'p1-ll'].map((face) => ({
        topic: `plant/press-1/${face}`,
        ...{ payload, retained: false, queued: false, act: null },
      })),
    );
    collector.step();
  }
}

async function load(minutes: number): Promise<void> {
  const body = { load: 'P1-1', lot: 'K-1', recipe: 'shell-13ply', parts: ['K-1-01', 'K-1-02'] };
  expect((await act('load-start', { station: 'press-1' }, body)).status).toBe(200);
  press(minutes);
  await act('load-end', { station: 'press-1' }, { load: 'P1-1' });
  press(1, minutes);
  expect(entries('load-sealed')).toHaveLength(1);
}

test('a short load is held by rule; letting it go takes two people, on the account that counts', async () => {
  await load(12);
  expect(entries('disposition')[0]).toMatchObject({
    by: 'collector',
    body: { decision: 'hold', rule: 'short', onRevision: null },
  });
  expect(await decide('release')).toMatchObject({ status: 422, field: 'body.onRevision' });
  expect(await decide('release', { onRevision: 2 })).toMatchObject({ status: 422 });
  const first = await decide('release', { onRevision: 1 });
  expect(first.entry?.body).toMatchObject({ needsSecond: true, seconds: null });
  expect(await decide('release', { onRevision: 1 })).toMatchObject({
    ...{ status: 422, field: 'by', code: 'second-person' },
  });
  const second = await decide('release', { onRevision: 1 }, 'p-2');
  expect(second.entry?.body).toMatchObject({ needsSecond: true, seconds: first.entry?.n });
  expect(second.entry?.cites).toMatchObject([{ n: first.entry?.n }]);
  collector.step();
  const held = entries('call-cleared').filter(({ about: { call } }) => call === 'ended-short.P1-1');
  expect(held.map(({ body }) => body)).toEqual([{ because: 'decided' }]);
});

test('two agree only on the same parts; letting go of one part leaves the hold on the others', async () => {
  await load(12);
  const decisions = () => {
    const fold = new LedgerFold();
    const stored = collector.ledger.entriesAfter(-1, 100_000);
    fold.hear(stored.map(({ bytes }) => JSON.parse(bytes.toString('utf8')) as Entry));
    return fold.accounts.finished('P1-1')!.decisions;
  };
  const release = (by: string, parts: string[]) =>
    decide('release', { onRevision: 1, parts }, by).then(({ entry }) => entry);
  await release('p-1', ['K-1-01']);
  // Of the whole load nobody else has said it yet.
  expect((await release('p-2', []))?.body).toMatchObject({ seconds: null });
  const first = await release('p-1', ['K-1-01']);
  expect((await release('p-2', ['K-1-01']))?.body).toMatchObject({ seconds: first?.n });
  collector.step();
  expect(decisions()).toMatchObject({ hold: { rule: 'short', parts: ['K-1-02'] } });
  expect(collector.lot('K-1')?.state).toBe('held');
  const open = entries('call-cleared').map(({ about: { call } }) => call);
  expect(open).not.toContain('ended-short.P1-1');
  await release('p-1', ['K-1-02']);
  await release('p-3', ['K-1-02']);
  collector.step();
  expect(decisions()).toMatchObject({ hold: null, gone: [] });
  expect(collector.lot('K-1')?.state).toBe('released');
  const cleared = entries('call-cleared').map(({ about: { call } }) => call);
  expect(cleared).toContain('ended-short.P1-1');
});

test('a load in its window is let go by one person; of parts that are not its own nothing is decided', async () => {
  await load(24);
  expect(entries('disposition')).toEqual([]);
  expect(await decide('release', { onRevision: 1, parts: ['K-9-01'] })).toMatchObject({
    ...{ status: 422, field: 'body.parts' },
  });
  const released = await decide('release', { onRevision: 1, parts: ['K-1-01'] });
  expect(released.entry?.body).toMatchObject({ needsSecond: false });
});

test('kept closed for longer only while the pressure was never let off, and for a time to come', async () => {
  const body = { load: 'P1-1', lot: 'K-1', recipe: 'shell-13ply' };
  await act('load-start', { station: 'press-1' }, body);
  press(2);
  const untilMs = clock.nowMs() + 600_000;
  expect(await decide('extend', { untilMs: clock.nowMs() })).toMatchObject({
    ...{ status: 422, field: 'body.untilMs' },
  });
  expect((await decide('extend', { untilMs })).status).toBe(200);
  expect(await decide('release')).toMatchObject({ status: 422, code: 'open' });
  const t = clock.nowMs();
  const payload = Buffer.from(JSON.stringify({ t, event: 'release-start' }));
  const topic = 'plant/press-1/event';
  collector.accept([{ topic, payload, retained: false, queued: false, act: null }]);
  clock.advance(60_000);
  collector.step();
  expect(await decide('extend', { untilMs })).toMatchObject({ status: 422, code: 'released' });
});

test('pressed again only if no line may have passed the bound; this recipe names none', async () => {
  await load(12);
  expect(await decide('re-press', { onRevision: 1 })).toMatchObject({
    ...{ status: 422, code: 'no-return' },
  });
});

test('nothing is decided of a load nobody knows', async () => {
  const unknown = await act('disposition', { load: 'Z' }, { decision: 'hold', reason: 'x' });
  expect(unknown).toMatchObject({ status: 422, field: 'about.load', code: 'unknown-load' });
});

test('a start is taken back within a minute without a reason, later with one; its name is not used again', async () => {
  const body = { load: 'P1-1', lot: 'K-1', recipe: 'shell-13ply' };
  const taken = { change: { what: 'void' } };
  await act('load-start', { station: 'press-1' }, body);
  clock.advance(60_000);
  expect((await act('load-corrected', about, taken)).status).toBe(200);
  collector.step();
  expect(collector.judgements()).toEqual([]);
  expect(await act('load-start', { station: 'press-1' }, body)).toMatchObject({
    ...{ status: 422, code: 'load-exists' },
  });
  const other = { ...about, load: 'P1-2' };
  await act('load-start', { station: 'press-1' }, { ...body, load: 'P1-2' });
  clock.advance(60_001);
  expect(await act('load-corrected', other, taken)).toMatchObject({
    ...{ status: 422, field: 'body.reason' },
  });
  const reason = 'wrong card';
  expect((await act('load-corrected', other, { ...taken, reason })).status).toBe(200);
});

test('a call is put aside for a time, evaluated on, and comes back by itself', async () => {
  await load(12);
  const call = 'ended-short.P1-1';
  const raised = entries('call-raised').find((entry) => entry.about.call === call);
  const on = { n: raised?.n };
  const untilMs = clock.nowMs() + 600_000;
  const shelve = (body: object) => act('call-shelved', { call }, body, { on });
  expect(await shelve({ reason: '', untilMs })).toMatchObject({
    status: 422,
    field: 'body.reason',
  });
  expect(await shelve({ reason: 'x', untilMs: clock.nowMs() + 25 * 3_600_000 })).toMatchObject({
    ...{ status: 422, field: 'body.untilMs' },
  });
  expect((await shelve({ reason: 'test piece', untilMs })).status).toBe(200);
  expect(await shelve({ reason: 'again', untilMs })).toMatchObject({ status: 409 });
  clock.advance(600_000);
  collector.step();
  expect(entries('call-unshelved')).toMatchObject([{ body: { because: 'ended' } }]);
  expect(await act('call-shelved', { call: 'nobody' }, { reason: 'x', untilMs })).toMatchObject({
    ...{ status: 422, code: 'unknown-call' },
  });
});

test('two presses of one button while the judge is slow are one load and one answer', async () => {
  const id = randomUUID();
  const body = { lot: 'K-1', recipe: 'shell-13ply' };
  const press2 = () => act('load-start', { station: 'press-1' }, body, { id });
  const [one, two] = await Promise.all([press2(), press2()]);
  expect(one.entry?.n).toBe(two.entry?.n);
  expect(entries('load-opened')).toHaveLength(1);
});

test('a station is taken out of service and put back; one that does not exist is not', async () => {
  const set = (station: string, body: object) => act('station-set', { station }, body);
  const cleaning = { state: 'cleaning', reason: 'platens', untilMs: clock.nowMs() + 60_000 };
  expect((await set('press-1', cleaning)).status).toBe(200);
  expect(await set('press-9', cleaning)).toMatchObject({ status: 422, code: 'unknown-station' });
  clock.advance(60_000);
  collector.step();
  clock.advance(60_000);
  collector.step();
  expect(entries('station-set').map(({ body }) => (body as { state: string }).state)).toEqual([
    'cleaning',
    'in-service',
  ]);
});

test('a note is kept with its load and decides nothing; an empty one, and one of no load, are refused', async () => {
  const body = { load: 'P1-1', lot: 'K-118', recipe: 'shell-13ply' };
  await act('load-start', { station: 'press-1' }, body);
  const note = 'blister at the left edge';
  expect((await act('load-noted', about, { note })).status).toBe(200);
  expect(entries('load-noted')).toMatchObject([
    { by: 'p-1', about: { load: 'P1-1', lots: ['K-118'] }, body: { note } },
  ]);
  expect(entries('disposition')).toEqual([]);
  expect(await act('load-noted', about, { note: ' ' })).toMatchObject({ status: 422 });
  expect(await act('load-noted', { load: 'P9-9' }, { note })).toMatchObject({ status: 422 });
});
