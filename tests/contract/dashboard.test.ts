import { randomUUID } from 'node:crypto';
import { rm } from 'node:fs/promises';
import { get } from 'node:http';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test, vi } from 'vitest';
import { rightOfRoute } from '@setwell/dashboard/server/people/rights';
import type { Entry } from '@setwell/shared-models/record/entry';
import { heardUntil } from '../fixtures/heard-stream.ts';
import { stage, type Stage } from '../browser/harness.ts';
import { raiseShortAtPlan, wholeScene } from '../browser/floor-scene.ts';

/** No page is needed here: the interface stands by itself. */
const noWeb = '/nonexistent';
let on: Stage;

beforeAll(async () => {
  on = await stage(noWeb, wholeScene);
  await until(async () => ((await json('/calls')) as { calls: unknown[] }).calls.length === 3);
});
afterAll(() => on.close());

async function until(met: () => Promise<boolean>): Promise<void> {
  await vi.waitFor(
    async () => {
      expect(await met()).toBe(true);
    },
    { timeout: 15_000, interval: 25 },
  );
}

async function json(path: string): Promise<unknown> {
  return (await fetch(`${on.url}/api/v1${path}`)).json();
}

const post = (path: string, body: unknown, headers: Record<string, string> = {}) =>
  fetch(`${on.url}/api/v1${path}`, {
    method: 'POST',
    headers: { 'content-type': 'application/json', ...headers },
    body: typeof body === 'string' ? body : JSON.stringify(body),
  });

interface Stations {
  stations: { id: string; row: { slot: { kind: string }; token: string | null } }[];
}

const rows = async () =>
  ((await json('/stations')) as Stations).stations.map(
    ({ id, row }) => `${id} ${row.token} ${row.slot.kind}`,
  );

const expectedRows = [
  'press-1 not-yet more',
  'press-2 in-window out-by',
  'rack-a not-yet more',
  'oven-1 not-yet blind',
  'store-1 not-yet more',
  'bench-1 unproven on-hold',
];

test('stations say what the judge and the ledger said', async () => {
  await until(async () => JSON.stringify(await rows()) === JSON.stringify(expectedRows));
});

test('the view may be deleted: what is folded again is the same', async () => {
  const asked = ['/loads', '/calls', '/lots', '/lots/K-118', '/ledger?limit=1000'];
  const before = await Promise.all(asked.map(json));
  await on.restart(async () => {
    for (const end of ['', '-wal', '-shm']) {
      await rm(join(on.dataFolder, `view.db${end}`), { force: true });
    }
  });
  await until(
    async () => JSON.stringify(await Promise.all(asked.map(json))) === JSON.stringify(before),
  );
  expect(await rows()).toEqual(expectedRows);
});

test('another ledger under the same name is noticed, and nothing of the old one stays', async () => {
  const other = await stage(noWeb, wholeScene);
  try {
    const lots = async () => {
      const answer = await fetch(`${other.url}/api/v1/lots`);
      return ((await answer.json()) as { lots: unknown[] }).lots.length;
    };
    await until(async () => (await lots()) === 8);
    await other.fake.stop();
    other.fake.entries.length = 0;
    other.fake.judgements.clear();
    other.fake.append('log-started', {}, { fresh: true });
    await other.fake.start();
    await until(async () => (await lots()) === 0);
  } finally {
    await other.close();
  }
});

test('a call about a load of the longest name can be answered', async () => {
  const id = `short-at-plan.${'L'.repeat(120)}`;
  const body = { id: randomUUID(), by: 'R. Voss' };
  const answer = await post(`/calls/${id}/acknowledge`, body);
  // Past the limit of the address: this plant has no such call.
  expect(answer.status).toBe(404);
});

test('a call is acknowledged once, by name, and the answer is the entry', async () => {
  const id = randomUUID();
  const path = `/calls/${encodeURIComponent('short-at-plan.P1-00231')}/acknowledge`;
  const first = await post(path, { id, by: 'R. Voss' });
  const again = await post(path, { id, by: 'R. Voss' });
  expect(first.status).toBe(200);
  expect(await again.json()).toEqual(await first.json());
  expect(on.fake.acts.filter((act) => act.id === id)).toHaveLength(1);
  await until(async () => {
    const { calls } = (await json('/calls')) as {
      calls: { id: string; acknowledged: { by: string } | null }[];
    };
    return calls.some((call) => call.acknowledged?.by === 'R. Voss');
  });
});

test('a back-dated start keeps the true time apart', async () => {
  const answer = await post('/loads', {
    id: randomUUID(),
    by: 'R. Voss',
    station: 'press-1',
    lot: 'K-200',
    recipe: 'shell-13ply',
    backDatedMin: 5,
  });
  expect(answer.status).toBe(200);
  const act = on.fake.acts.find((each) => each.body['lot'] === 'K-200');
  expect(act?.body['t']).toBe(on.fake.nowMs() - 5 * 60_000);
  expect(act?.kind).toBe('load-start');
});

test.each([
  ['half a JSON', '{"id":', 400, 'bad-request'],
  ['no name', { id: randomUUID() }, 422, 'bad-input'],
  ['an unknown field', { id: randomUUID(), by: 'x', colour: 'red' }, 422, 'bad-input'],
  ['a name of a million letters', { id: randomUUID(), by: 'x'.repeat(1e6) }, 413, 'bad-request'],
])('an act with %s is refused with its reason', async (_, body, status, code) => {
  const answer = await post('/calls/sensor-silent.bake-a/acknowledge', body);
  expect(answer.status).toBe(status);
  expect(answer.headers.get('content-type')).toContain('application/problem+json');
  expect(await answer.json()).toMatchObject({ status, code });
});

test('acts of other sites, forms and foreign names are refused', async () => {
  const path = '/calls/sensor-silent.bake-a/acknowledge';
  const body = { id: randomUUID(), by: 'x' };
  expect((await post(path, body, { 'sec-fetch-site': 'cross-site' })).status).toBe(403);
  expect((await post(path, body, { origin: 'http://elsewhere.example' })).status).toBe(403);
  expect((await post(path, body, { 'content-type': 'text/plain' })).status).toBe(415);
  const status = await new Promise<number | undefined>((resolve, reject) => {
    const headers = { host: 'elsewhere.example' };
    get(`${on.url}/api/v1/stations`, { headers }, (answer) => {
      answer.resume();
      resolve(answer.statusCode);
    }).on('error', reject);
  });
  expect(status).toBe(421);
  expect(on.fake.acts.some((act) => act.id === body.id)).toBe(false);
});

test('what the collector refuses is handed on with its words', async () => {
  on.fake.refuse = () => ({
    status: 422,
    body: { error: { field: 'zones', found: 'left', expected: 'free' } },
  });
  const answer = await post('/loads', {
    id: randomUUID(),
    by: 'x',
    station: 'press-1',
    lot: 'K-201',
    recipe: 'shell-13ply',
  });
  on.fake.refuse = () => null;
  expect(answer.status).toBe(422);
  expect(await answer.json()).toMatchObject({ error: { field: 'zones', expected: 'free' } });
});

test.each([
  ['/loads?limit=0', 'limit'],
  ['/loads?limit=1001', 'limit'],
  ['/loads?verdict=fine', 'verdict'],
  ['/loads?cursor=abc', 'cursor'],
  ['/readings?point=p', 'from'],
  ['/ledger?after=-2', 'after'],
])('%s names the field it does not understand', async (path, field) => {
  expect(await json(path)).toMatchObject({ status: 422, field });
});

test('pages of loads together are all loads, each once', async () => {
  const all = ((await json('/loads?limit=1000')) as { loads: { id: string }[] }).loads;
  const paged: string[] = [];
  let cursor: string | null = '';
  while (cursor !== null) {
    const query: string = cursor === '' ? '' : `&cursor=${cursor}`;
    const page = (await json(`/loads?limit=2${query}`)) as {
      loads: { id: string }[];
      cursor: string | null;
    };
    paged.push(...page.loads.map(({ id }) => id));
    cursor = page.cursor;
  }
  expect(paged).toEqual(all.map(({ id }) => id));
});

test('every route that is served has a right and is described, and the description is reachable', async () => {
  const described = (await json('/openapi.json')) as { paths: Record<string, object> };
  const routes = Object.entries(described.paths).flatMap(([path, methods]) =>
    Object.keys(methods).map((method) => `${method} ${path}`),
  );
  expect(routes.sort()).toEqual(Object.keys(rightOfRoute).sort());
  const docs = await fetch(`${on.url}/api/v1/docs`);
  expect(await docs.text()).toContain('/api/v1/loads/{id}/series');
});

test('no answer allows a script or style of anybody else', async () => {
  const answer = await fetch(`${on.url}/api/v1/stations`);
  const policy = answer.headers.get('content-security-policy') ?? '';
  expect(policy).toContain("default-src 'none'");
  expect(policy).not.toContain('unsafe');
  expect(answer.headers.get('strict-transport-security')).toBeNull();
});

interface Frame {
  id: string;
  data: { whole: boolean };
}

const framesIn = (text: string): Frame[] =>
  [...text.matchAll(/id: (.*)\nevent: frame\ndata: (.*)\n\n/g)].map(([, id, data]) => ({
    id: id ?? '',
    data: JSON.parse(data ?? '') as { whole: boolean },
  }));

/** The first frames of the stream, from where it was left. */
async function frames(lastId: string | null): Promise<Frame[]> {
  const headers = lastId === null ? {} : { 'last-event-id': lastId };
  const isEnough = (text: string) => framesIn(text).length > 0;
  return framesIn(await heardUntil(`${on.url}/api/v1/stream`, isEnough, { headers }));
}

test('a stream begins with the whole, goes on from where it was left, and resyncs what is too old', async () => {
  const first = await frames(null);
  expect(first[0]?.data.whole).toBe(true);
  const id = first[0]?.id ?? '';
  raiseShortAtPlan(on.fake);
  const then = await frames(id);
  expect(then[0]?.data.whole).toBe(false);
  const strange = await frames('0123456789ab-4');
  expect(strange[0]?.data.whole).toBe(true);
});

/** Newest values until a word has come. */
function readingsUntil(word: string, asked = ''): Promise<string> {
  const address = `${on.url}/api/v1/readings/stream${asked}`;
  return heardUntil(address, (text) => text.includes(word));
}

test('values are followed while somebody looks at them, past a collector that went, and not longer', async () => {
  const value = { t: 1, v: 135.2, quality: 'good', station: 'press-1' } as const;
  const followed = (count: number) => until(async () => on.fake.readingFollowers === count);
  expect(on.fake.readingFollowers).toBe(0);
  const both = [readingsUntil('"left-u"'), readingsUntil('"right-u"', '?point=right-u')];
  await followed(1);
  on.fake.read({ 'left-u': value });
  const first = await both[0]!;
  expect(first).toContain('event: readings\ndata: {');
  expect(JSON.parse(/data: (.*)/.exec(first)![1]!)).toMatchObject({ points: { 'left-u': value } });
  await on.fake.stop();
  await followed(0);
  await on.fake.start();
  await followed(1);
  on.fake.read({ 'left-u': value, 'right-u': value });
  expect(await both[1]).not.toContain('left-u');
  await followed(0);
});

test('one who begins to look later hears of a value that came before him and stayed', async () => {
  const value = { t: 1, v: 135.2, quality: 'good', station: 'press-1' } as const;
  const other = readingsUntil('"right-u"');
  await until(async () => on.fake.readingFollowers === 1);
  const first = readingsUntil('"left-u"');
  on.fake.read({ 'left-u': value });
  await first;
  expect(await readingsUntil('"left-u"', '?point=left-u')).toContain('135.2');
  on.fake.read({ 'right-u': value });
  await other;
});

test('without a collector nothing is recorded, and the answer says so', async () => {
  await on.fake.stop();
  const answer = await post('/calls/sensor-silent.bake-a/acknowledge', {
    id: randomUUID(),
    by: 'x',
  });
  expect(answer.status).toBe(503);
  expect(await answer.json()).toMatchObject({ code: 'not-recorded' });
  await until(async () => (await fetch(`${on.url}/health/ready`)).status === 503);
  expect((await fetch(`${on.url}/health/live`)).status).toBe(200);
  expect(((await json('/loads')) as { loads: unknown[] }).loads.length).toBeGreaterThan(5);
  await on.fake.start();
  await until(async () => (await fetch(`${on.url}/health/ready`)).status === 200);
});

test('figures are open text with our names', async () => {
  const text = await (await fetch(`${on.url}/metrics`)).text();
  expect(text).toContain('setwell_dashboard_streams');
  expect(text).toContain('setwell_dashboard_collector_connected 1');
});

test('a lot waits for a decision until there is one, whatever its heat was', async () => {
  const other = await stage(noWeb, wholeScene);
  try {
    const held = async () => {
      const answer = await fetch(`${other.url}/api/v1/lots`);
      const { lots } = (await answer.json()) as {
        lots: { lot: string; held: number; unproven: number }[];
      };
      const found = lots.find(({ lot }) => lot === 'S-207');
      return found === undefined ? '' : `${found.held} held, ${found.unproven} unproven`;
    };
    await until(async () => (await held()) === '1 held, 1 unproven');
    const about = { load: 'B1-00012', lots: ['S-207'], station: 'bench-1' };
    const concession = { decision: 'concession', reason: 'the test piece held', onRevision: 1 };
    const body = { ...concession, parts: [], untilMs: null, needsSecond: false, seconds: null };
    other.fake.append('disposition', about, { ...body, rule: null }, 'p-11');
    await until(async () => (await held()) === '0 held, 1 unproven');
  } finally {
    await other.close();
  }
});

test('a lot of more loads than a screen has steps for says that it is cut', async () => {
  const isCut = async () => ((await json('/lots/K-118')) as { isCut: boolean }).isCut;
  expect(await isCut()).toBe(false);
  const { fake } = on;
  const first = fake.entries
    .map((line) => JSON.parse(line) as Entry)
    .find(({ kind, about }) => kind === 'load-opened' && about.load === 'P1-00231')!;
  for (let n = 0; n < 200; n += 1) {
    const load = `P1-9${String(n).padStart(4, '0')}`;
    fake.append(
      'load-opened',
      { ...first.about, load },
      { ...(first.body as object), load },
      'plant',
    );
  }
  await until(isCut);
});
