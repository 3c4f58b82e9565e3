import { randomUUID } from 'node:crypto';
import { mkdtempSync, readFileSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { createCollector, type Collector } from '@setwell/collector/collector';
import { SteppedClock } from '@setwell/collector/stepped-clock';
import { plantFile, startMs } from '../fixtures/press-plant/works.ts';

let dataDir: string;
let clock: SteppedClock;
let collector: Collector;
let url: string;
let token: string;

beforeEach(async () => {
  dataDir = mkdtempSync(join(tmpdir(), 'serve-acts-'));
  clock = new SteppedClock(startMs);
  collector = createCollector({
    plantFile,
    dataDir,
    clock,
    clockSetting: { originMs: 0, wallOriginMs: 0, rate: 1 },
    judge: 'inline',
    serve: {},
    version: 'test',
  });
  const started = await collector.start();
  url = String(started.url);
  token = readFileSync(String(started.tokenFile), 'utf8').trim();
});

afterEach(async () => {
  await collector.stop();
  rmSync(dataDir, { recursive: true });
});

interface Told {
  status: number;
  body: Record<string, unknown>;
}

async function ask(path: string, options: RequestInit = {}): Promise<Told> {
  const answer = await fetch(`${url}${path}`, {
    ...options,
    headers: { authorization: `Bearer ${token}`, ...options.headers },
  });
  const text = await answer.text();
  return { status: answer.status, body: JSON.parse(text) as Record<string, unknown> };
}

function act(kind: string, about: object, body: object, more: object = {}): Promise<Told> {
  const given = { id: randomUUID(), kind, by: 'R. Voss', about, body, ...more };
  return ask('/acts', { method: 'POST', body: JSON.stringify(given) });
}

const start = (more: object = {}) =>
  act('load-start', { station: 'press-1' }, { lot: 'K-118', recipe: 'shell-13ply', ...more });

test('nothing but health is answered without the token, and the token is nobody else’s to read', async () => {
  const without = await fetch(`${url}/hello`);
  expect(without.status).toBe(401);
  const wrong = await ask('/hello', { headers: { authorization: `Bearer ${'0'.repeat(64)}` } });
  expect(wrong.status).toBe(401);
  expect((await fetch(`${url}/health/live`)).status).toBe(200);
  expect(statSync(join(dataDir, 'token')).mode & 0o777).toBe(0o600);
});

test('hello names the stations, and the recipes of the folder as approved', async () => {
  const { body } = await ask('/hello');
  expect(body['recipes']).toEqual([
    {
      id: 'shell-13ply',
      revision: 1,
      title: 'Chair shell, 13 plies',
      kind: 'press',
      plannedMin: 24,
    },
  ]);
  expect(body).toMatchObject({ collector: 'c1', log: 'test-works/c1/1', nowMs: startMs });
});

test('a load started by hand is answered with its entry; the same id again, with the same', async () => {
  const id = randomUUID();
  const given = {
    id,
    kind: 'load-start',
    by: 'R. Voss',
    about: { station: 'press-1' },
    body: { lot: 'K-118', recipe: 'shell-13ply', t: startMs },
  };
  const post = () => ask('/acts', { method: 'POST', body: JSON.stringify(given) });
  const first = await post();
  expect(first.status).toBe(200);
  expect(first.body['entry']).toMatchObject({
    kind: 'load-opened',
    by: 'R. Voss',
    body: { load: 'press-1-20260302-084000', lot: 'K-118', act: id },
  });
  const size = collector.ledger.size();
  expect(await post()).toEqual(first);
  expect(collector.ledger.size()).toBe(size);
});

test.each([
  ['a second load in an occupied zone', { t: startMs }, 'zones', 'occupied'],
  ['an unknown recipe', { recipe: 'shell-12ply' }, 'recipe', 'unknown-recipe'],
  ['an unknown zone', { zones: ['middle'] }, 'zones', 'unknown-zone'],
  ['a time far ahead', { t: startMs + 3_600_000 }, 't', 'time-ahead'],
])('%s is refused with its field and reason', async (_what, more, field, code) => {
  if (code === 'occupied') await start({ load: 'A' });
  const refused = await start({ load: 'B', ...more });
  expect(refused.status).toBe(422);
  expect(refused.body).toMatchObject({ field, code });
  expect(String(refused.body['reason'])).toContain('expected');
  expect(collector.judgements().map(({ load }) => load)).not.toContain('B');
});

test('a load ends by hand; an end without a start does not', async () => {
  await start({ load: 'A' });
  clock.advance(60_000);
  const ended = await act('load-end', { station: 'press-1', load: 'A' }, { load: 'A' });
  expect(ended.body['entry']).toMatchObject({ kind: 'load-ended', body: { load: 'A' } });
  const never = await act('load-end', { station: 'press-1', load: 'Z' }, { load: 'Z' });
  expect(never).toMatchObject({ status: 422, body: { field: 'load', code: 'no-such-load' } });
});

test('a call goes to the first who takes it; the second is told that it has moved on', async () => {
  const [raised] = collector.append([
    {
      kind: 'call-raised',
      by: 'collector',
      about: { call: 'event-refused.1.0', station: 'press-1' },
      body: {
        kind: 'event-refused',
        station: 'press-1',
        load: null,
        point: null,
        who: 'shift-lead',
        tooLateMs: null,
        values: {},
      },
    },
  ]);
  const on = { n: raised?.n };
  const about = { call: 'event-refused.1.0' };
  const first = await act('call-acknowledged', about, { note: 'on my way' }, { on });
  expect(first.body['entry']).toMatchObject({
    kind: 'call-acknowledged',
    by: 'R. Voss',
    about: { station: 'press-1' },
    cites: [{ n: raised?.n }],
  });
  const second = await act('call-acknowledged', about, { note: null }, { on });
  expect(second).toMatchObject({ status: 409, body: { field: 'on.n', code: 'moved-on' } });
});

test.each([
  ['/readings?point=nobody&from=0&to=1', 404, 'point'],
  ['/readings?point=p1-ul&from=0&to=1&points=1e9', 422, 'points'],
  ['/readings?point=p1-ul&from=5&to=1', 422, 'to'],
  ['/readings?point=p1-ul&from=zero&to=1', 422, 'from'],
  ['/records/K-999', 404, 'lot'],
  ['/records/K-118?as=pdf', 422, 'as'],
  ['/rejects?limit=100000', 422, 'limit'],
  ['/nowhere', 404, 'path'],
  [`/records/${'x'.repeat(3000)}`, 414, 'url'],
  ['/records/%ff', 400, 'path'],
])('GET %s is refused, naming the field', async (path, status, field) => {
  expect(await ask(path)).toMatchObject({ status, body: { field } });
});

test('a body that is no JSON, no act, or past its limit is refused', async () => {
  const post = (body: string) => ask('/acts', { method: 'POST', body });
  expect(await post('{"id":')).toMatchObject({ status: 400, body: { field: 'body' } });
  expect(await post('{"id":"1"}')).toMatchObject({ status: 422, body: { field: 'id' } });
  const large = await post(JSON.stringify({ id: 'x'.repeat(70_000) })).catch(() => null);
  expect(large === null || large.status === 413).toBe(true);
});

test('what is followed comes as exact bytes, one entry a line, and goes on', async () => {
  const answer = await fetch(`${url}/follow/ledger?after=0`, {
    headers: { authorization: `Bearer ${token}` },
  });
  const reader = answer.body!.getReader();
  let text = '';
  const lines = async (count: number) => {
    while (text.split('\n').filter((line) => line !== '').length < count) {
      text += new TextDecoder().decode((await reader.read()).value);
    }
    return text.split('\n').filter((line) => line !== '');
  };
  const known = collector.ledger.entriesAfter(0, 100).map(({ bytes }) => bytes.toString('utf8'));
  expect(await lines(known.length)).toEqual(known);
  await start({ load: 'A' });
  const more = await lines(known.length + 1);
  expect(JSON.parse(more[known.length]!)).toMatchObject({
    kind: 'load-opened',
    n: known.length + 1,
  });
  await reader.cancel();
});

test('a picture that tells how far it is comes in lines, the last one with the picture; of no load it is refused', async () => {
  const unknown = await ask('/trace/P1-404?told=1');
  expect([unknown.status, unknown.body['field']]).toEqual([404, 'load']);
  await start({ load: 'P1-1', t: startMs });
  collector.step();
  const answer = await fetch(`${url}/trace/P1-1?told=1`, {
    headers: { authorization: `Bearer ${token}` },
  });
  expect(answer.headers.get('content-type')).toBe('application/x-ndjson');
  const lines = (await answer.text()).trimEnd().split('\n');
  const said = lines.map((line) => JSON.parse(line) as { share?: number; trace?: object });
  expect(said.slice(0, -1).every(({ share = 0 }) => share > 0 && share <= 1)).toBe(true);
  expect(said.at(-1)?.trace).toEqual((await ask('/trace/P1-1')).body);
});
