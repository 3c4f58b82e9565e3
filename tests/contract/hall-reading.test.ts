import { randomUUID } from 'node:crypto';
import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import { rightOfRoute } from '@setwell/dashboard/server/people/rights';
import type { Stage } from '../browser/harness.ts';
import type { FakeCollector } from '../browser/fake-collector.ts';
import { sceneHello, sceneMs } from '../browser/floor-scene.ts';
import { heardUntil } from '../fixtures/heard-stream.ts';
import {
  Browser,
  letInBy,
  plantHello,
  sign,
  signedInAt,
  withPeople,
} from '../fixtures/plant-people.ts';
import { until } from '../fixtures/until.ts';

/** What only Hall 1 has to do with: its press, loads, lot and points. */
const ofHall1 = ['press-1', 'Press 1', 'P1-0023', 'K-118', 'left-u', 'right-u', 'Hall 1'];
/** And what only Hall 2 has. */
const ofHall2 = ['oven-1', 'Oven 1', 'O1-00077', 'bake-a', 'bench-1', 'B1-00012', 'Hall 2'];
/** Where the collector knows more than the scene tells, by the address that it answers at. */
const kinds = [
  ['press-1', 'left-u'],
  ['oven-1', 'bake-a'],
] as const;

/** Routes that every reader may ask for and that name nothing of a hall. */
const ofNoHall = new Set([
  'get /recipes',
  'get /recipes/{id}',
  'get /checkpoint',
  'get /who',
  'post /sign',
  'get /stream',
  'get /readings/stream',
]);

/** An address for each route that names a station, load, call, lot or point of a hall. */
const named: Record<string, { hall1: string; hall2: string }> = {
  'get /loads/{id}': { hall1: '/loads/P1-00231', hall2: '/loads/O1-00077' },
  'get /loads/{id}/series': { hall1: '/loads/P1-00231/series', hall2: '/loads/O1-00077/series' },
  'get /readings': {
    hall1: '/readings?point=left-u&from=0&to=1',
    hall2: '/readings?point=bake-a&from=0&to=1',
  },
  'get /points/{id}': { hall1: '/points/left-u', hall2: '/points/bake-a' },
  'get /lots/{id}/parts/{part}': {
    hall1: '/lots/K-118/parts/01',
    hall2: '/lots/S-207/parts/01',
  },
  'get /lots/{id}': { hall1: '/lots/K-118', hall2: '/lots/S-207' },
  'get /heat-ups/{station}': { hall1: '/heat-ups/press-1', hall2: '/heat-ups/oven-1' },
  'get /heat-ups/{station}/{point}': {
    hall1: '/heat-ups/press-1/left-u',
    hall2: '/heat-ups/oven-1/bake-a',
  },
  'get /surveys/{station}': { hall1: '/surveys/press-1', hall2: '/surveys/oven-1' },
  'get /surveys/{station}/soak': {
    hall1: '/surveys/press-1/soak?fromMs=0&points=left-u&setPointC=130&toleranceK=3',
    hall2: '/surveys/oven-1/soak?fromMs=0&points=bake-a&setPointC=130&toleranceK=3',
  },
  'get /surveys/{station}/plan': {
    hall1: '/surveys/press-1/plan?points=left-u&setPointC=130&toleranceK=3&soakMin=30',
    hall2: '/surveys/oven-1/plan?points=bake-a&setPointC=130&toleranceK=3&soakMin=30',
  },
  'get /surveys/{station}/{survey}/sheet': {
    hall1: '/surveys/press-1/s-1/sheet',
    hall2: '/surveys/oven-1/s-1/sheet',
  },
};
const looked = Object.entries(rightOfRoute).flatMap(([route, right]) =>
  right === 'look' && !ofNoHall.has(route) ? [route] : [],
);
/** What is asked for by a text: one that things of both halls hold. */
const searched: Record<string, string> = { '/search': '/search?text=-' };
const lists = looked
  .filter((route) => !(route in named))
  .map((route) => searched[route.slice(4)] ?? route.slice(4));

let webFolder: string;
let on: Stage;
let administrator: Browser;
let person: Browser;
let wall: Browser;

function knowMore(fake: FakeCollector): void {
  const certificate = { certificate: 'c', date: '2025-03-01', due: '2026-03-10', daysLeft: 8 };
  const points = kinds.map(([station, point]) => ({
    ...{ point, station, topic: `plant/${station}/${point}` },
    fitted: { instrument: `i-${point}`, certificate },
    ...{ fallback: null, withdrawn: null },
  }));
  fake.told.set('/instruments', { nowMs: sceneMs, points });
  fake.told.set('/health/now', { points: fake.points });
  const reviewed = kinds.map(([station, point]) => ({ load: `L-${point}`, station, lots: [] }));
  fake.told.set('/impact', { running: null, reviews: [{ n: 1, loads: reviewed }] });
  fake.heatUps.set(
    '',
    kinds.map(([station]) => ({ station })),
  );
  const trace = fake.traces.get('P1-00231');
  if (trace !== undefined) fake.traces.set('O1-00077', trace);
  for (const [station, point] of kinds) {
    fake.told.set(
      `/instruments/${point}`,
      points.find((each) => each.point === point),
    );
    fake.heatUps.set(station, { station });
    fake.heatUps.set(`${station}/${point}`, { station, point });
    fake.surveys.set(station, { points: [point], surveys: [] });
  }
}

async function pairedWall(at: Stage, by: Browser, hall: string): Promise<Browser> {
  const own = new Browser(at.url);
  const mine = `/pairing?wall=${randomUUID()}`;
  const { code } = (await (await own.get(mine)).json()) as { code: string };
  await sign(by);
  expect((await by.post('/devices/pair', { code, name: 'Wall', hall })).status).toBe(200);
  await own.get(mine);
  return own;
}

/** A stream from its beginning until a word has come; an act is played once it runs. */
function streamUntil(
  word: string,
  headers: Record<string, string>,
  play?: () => void,
  path = '/stream',
): Promise<string> {
  const heard = play === undefined ? { headers } : { headers, play };
  return heardUntil(`${on.url}/api/v1${path}`, (text) => text.includes(word), heard);
}

function raise(station: string, load: string): void {
  const about = { call: `ended-unproven.${load}`, station };
  on.fake.append('call-raised', about, {
    ...{ kind: 'ended-unproven', station, load: null, point: null, who: 'engineer' },
    ...{ tooLateMs: null, values: { lot: load } },
  });
}

const words = (text: string, from: readonly string[]) => from.filter((word) => text.includes(word));

beforeAll(async () => {
  webFolder = await mkdtemp(join(tmpdir(), 'setwell-page-'));
  await writeFile(join(webFolder, 'index.html'), '<!--plant-->');
  ({ on, administrator } = await withPeople({ webFolder }));
  knowMore(on.fake);
  await letInBy(administrator, 'H. Two', 'shift-lead', { halls: ['Hall 2'] });
  await letInBy(administrator, 'M. Two', 'maintenance', { halls: ['Hall 2'] });
  await letInBy(administrator, 'E. Two', 'engineer', { halls: ['Hall 2'] });
  person = await signedInAt(on, 'H. Two');
  wall = await pairedWall(on, administrator, 'Hall 2');
  await vi.waitFor(async () => {
    const text = await (await administrator.get('/calls')).text();
    expect(words(text, ['P1-00231', 'B1-00012'])).toHaveLength(2);
  });
});
afterAll(async () => {
  await on.close();
  await rm(webFolder, { recursive: true });
});

describe.each([
  ['a person', '8', () => person],
  ['a wall', '9', () => wall],
])('%s of one hall', (_who, digit, reader) => {
  test.each(lists)('reads at %s its own hall and nothing of the other', async (path) => {
    const all = await (await administrator.get(path)).text();
    expect([words(all, ofHall1).length > 0, words(all, ofHall2).length > 0]).toEqual([true, true]);
    const answer = await reader().get(path);
    const text = await answer.text();
    expect([answer.status, words(text, ofHall1)]).toEqual([200, []]);
    expect(words(text, ofHall2)).toEqual(words(all, ofHall2));
  });

  test.each(Object.entries(named))('finds at %s what is its own alone', async (_route, address) => {
    const { hall1, hall2 } = address;
    const other = await reader().get(hall1);
    expect(other.status).toBe(404);
    const { code, title } = (await other.json()) as { code: string; title: string };
    expect(code).toBe('not-found');
    // No word of it but the name that was asked for.
    expect(words(title, ofHall1).filter((word) => !hall1.includes(word))).toEqual([]);
    const [own, whole] = [await reader().get(hall2), await administrator.get(hall2)];
    expect([own.status, await own.text()]).toEqual([whole.status, await whole.text()]);
  });

  test('gets in the page itself the stations of its own hall', async () => {
    const headers = { cookie: `setwell=${reader().cookie() ?? ''}` };
    const page = await (await fetch(`${on.url}/floor`, { headers })).text();
    expect([words(page, ofHall1), words(page, ['Oven 1'])]).toEqual([[], ['Oven 1']]);
  });

  test('hears in the stream its own hall alone: at first, as it changes, and what was missed', async () => {
    const cookie = `setwell=${reader().cookie() ?? ''}`;
    const [other, own] = [`P1-0023${digit}`, `B1-0009${digit}`];
    const heard = await streamUntil(own, { cookie }, () => {
      raise('press-1', other);
      const call = `ended-unproven.${other}`;
      on.fake.append('call-cleared', { call, station: 'press-1' }, { because: 'gone' });
      raise('press-1', `${other}b`);
      raise('bench-1', own);
    });
    const seen = ['oven-1', 'Oven 1', 'O1-00077', 'bench-1', 'B1-00012'];
    expect([words(heard, ofHall1), words(heard, seen)]).toEqual([[], seen]);
    const firstId = /^id: (.*)$/m.exec(heard)?.[1] ?? '';
    const missed = await streamUntil(own, { cookie, 'last-event-id': firstId });
    expect([words(missed, ofHall1), missed.includes('"whole":true')]).toEqual([[], false]);
  });

  test('hears the readings of its own hall alone, as they come', async () => {
    const cookie = `setwell=${reader().cookie() ?? ''}`;
    const value = { t: 1, v: 20, quality: 'good' } as const;
    const play = () =>
      void until(() => on.fake.readingFollowers > 0).then(() =>
        on.fake.read({
          'left-u': { ...value, station: 'press-1' },
          'bake-a': { ...value, station: 'oven-1' },
        }),
      );
    const heard = await streamUntil('bake-a', { cookie }, play, '/readings/stream');
    expect(words(heard, ofHall1)).toEqual([]);
  });
});

test('an engineer and an administrator read every hall, whatever hall they act in', async () => {
  const engineer = await signedInAt(on, 'E. Two');
  for (const reader of [engineer, administrator]) {
    const text = await (await reader.get('/stations')).text();
    expect(words(text, ['press-1', 'oven-1'])).toEqual(['press-1', 'oven-1']);
  }
});

test('a survey’s plan may name a logger’s columns, and no point of another hall', async () => {
  const plan = (points: string) =>
    `/surveys/oven-1/plan?points=${points}&setPointC=60&toleranceK=3&soakMin=30`;
  const whole = await administrator.get(plan('s1,s2'));
  expect((await person.get(plan('s1,s2'))).status).toBe(whole.status);
  const other = await person.get(plan('s1,left-u'));
  expect([other.status, await other.text()]).toEqual([404, expect.stringContaining('left-u')]);
});

test('work and surveys are for the hall of the station, and a point of another is refused', async () => {
  const maintenance = await signedInAt(on, 'M. Two');
  const id = randomUUID();
  const acts = on.fake.acts.length;
  const tried = [
    await maintenance.post('/stations/press-1/work', { id, work: 'w-1', what: 'other' }),
    await maintenance.post('/stations/press-1/surveys', { id }),
    await maintenance.post('/points/left-u/withdraw', { id, untilMs: null, reason: 'broken' }),
  ];
  expect(tried.map(({ status }) => status)).toEqual([403, 403, 403]);
  expect(on.fake.acts).toHaveLength(acts);
});

test('an act for another hall is refused however its address is written', async () => {
  const open = { ...plantHello, site: { ...plantHello.site, reading: 'open' as const } };
  const { on: other, administrator: admin } = await withPeople({}, open);
  try {
    await letInBy(admin, 'H. Two', 'shift-lead', { halls: ['Hall 2'] });
    const reader = await signedInAt(other, 'H. Two');
    await vi.waitFor(async () => {
      expect((await reader.get('/loads/P1-00231')).status).toBe(200);
    });
    const note = { id: randomUUID(), text: 'not mine' };
    const tried = ['/loads/P1-00231/note', '/LOADS/P1-00231/note', '/%6Coads/P1-00231/note'];
    const statuses = await Promise.all(
      tried.map(async (address) => (await reader.post(address, note)).status),
    );
    expect(statuses).toEqual([403, 404, 404]);
    expect(other.fake.acts.filter(({ kind }) => kind !== 'person-granted')).toEqual([]);
  } finally {
    await other.close();
  }
});

test.each([
  [
    'has one hall',
    { ...plantHello, stations: sceneHello.stations.map((s) => ({ ...s, hall: 'Hall 1' })) },
  ],
  ['lets anybody read', { ...plantHello, site: { ...plantHello.site, reading: 'open' as const } }],
])('nothing is kept back where the plant %s', async (_why, hello) => {
  const { on: other, administrator: admin } = await withPeople({}, hello);
  try {
    await letInBy(admin, 'H. Two', 'shift-lead', { halls: ['Hall 2'] });
    const reader = await signedInAt(other, 'H. Two');
    await vi.waitFor(async () => {
      expect(await (await admin.get('/loads')).text()).toContain('P1-00231');
    });
    expect(await (await reader.get('/loads')).text()).toBe(
      await (await admin.get('/loads')).text(),
    );
    expect((await reader.get('/loads/P1-00231')).status).toBe(200);
  } finally {
    await other.close();
  }
});
