import { randomUUID } from 'node:crypto';
import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { rightOfRoute, rightsOfJob } from '@setwell/dashboard/server/people/rights';
import { jobs } from '@setwell/shared-models/api/people';
import { stage, type Stage } from '../browser/harness.ts';
import { wholeScene } from '../browser/floor-scene.ts';
import {
  Browser,
  codeOf,
  letInBy,
  noWeb,
  password,
  plantHello,
  sign,
  signedInAt,
  start,
  withPeople,
} from '../fixtures/plant-people.ts';

let on: Stage;
let administrator: Browser;

const letIn = (name: string, job: string, more: object = {}, by = administrator) =>
  letInBy(by, name, job, more);
const signedIn = (name: string, at = on) => signedInAt(at, name);

beforeAll(async () => {
  ({ on, administrator } = await withPeople());
});
afterAll(() => on.close());

describe('the first administrator', () => {
  test('comes in by the code on the box, once, and the code is gone', async () => {
    await expect(readFile(join(on.dataFolder, 'setup-code'))).rejects.toThrow('ENOENT');
    const again = await new Browser(on.url).post('/setup', { code: '1', name: 'Eve', password });
    expect([again.status, await codeOf(again)]).toEqual([409, 'moved-on']);
  });

  test('is a number on the record, and a name nowhere but here', () => {
    const grant = on.fake.acts.find(({ kind }) => kind === 'person-granted');
    expect(grant).toMatchObject({ by: 'p-1', body: { person: 'p-1', jobs: ['administrator'] } });
    expect(JSON.stringify(on.fake.acts)).not.toContain('Ada');
  });

  test('is not let in by guessing', async () => {
    const other = await stage(noWeb, wholeScene, plantHello);
    try {
      const browser = new Browser(other.url);
      const tries = [];
      for (let i = 0; i < 7; i += 1) {
        const code = `00000000${String(i)}`;
        tries.push((await browser.post('/setup', { code, name: 'Eve', password })).status);
      }
      expect(tries).toEqual([403, 403, 403, 403, 403, 429, 429]);
    } finally {
      await other.close();
    }
  });
});

test('without a sign-in nothing is read or done, and the answer says what would help', async () => {
  const stranger = new Browser(on.url);
  for (const path of ['/stations', '/loads', '/ledger', '/people', '/stream']) {
    const answer = await stranger.get(path);
    expect([path, answer.status, await codeOf(answer)]).toEqual([path, 401, 'who']);
  }
  const act = await stranger.post('/loads', start('press-1'));
  expect(act.status).toBe(401);
  expect(on.fake.acts.some(({ kind }) => kind === 'load-start')).toBe(false);
});

test.each(jobs)(
  '%s gets at each route what the table of rights says, and nothing else',
  async (job) => {
    const refused = new Set(['who', 'no-right', 'signature']);
    // A plant for each job: more acts a minute than a hall can do are refused.
    const { on: own, administrator: admin } = await withPeople();
    await letIn('One', job, {}, admin);
    const browser = await signedIn('One', own);
    let checked = 0;
    for (const [route, right] of Object.entries(rightOfRoute)) {
      const [method, path = ''] = route.split(' ');
      if (path === '/sign-out' || path === '/sign' || path === '/stream') continue;
      const address = path.replaceAll(/\{\w+\}/g, 'nobody');
      const answer =
        method === 'get' ? await browser.get(address) : await browser.post(address, {});
      const asksMore = right === 'decide' || right === 'engineer' || right === 'administer';
      const may = rightsOfJob[job].includes(right);
      const code = answer.ok ? 'ok' : await codeOf(answer);
      const expected = !may
        ? 'no-right'
        : asksMore && method === 'post'
          ? 'signature'
          : 'past the gate';
      expect([route, refused.has(code) ? code : 'past the gate']).toEqual([route, expected]);
      expect(answer.status).toBeLessThan(500);
      checked += 1;
    }
    await own.close();
    expect(checked).toBe(Object.keys(rightOfRoute).length - 3);
  },
);

test('an act has the person who proved it, whatever the page wrote', async () => {
  const { id } = await letIn('R. Voss', 'shift-lead');
  const browser = await signedIn('R. Voss');
  expect((await browser.post('/loads', start('press-1'))).status).toBe(200);
  const act = on.fake.acts.find(({ kind }) => kind === 'load-start');
  expect(act).toMatchObject({ by: id, body: { by: id } });
});

test('a right holds in its hall', async () => {
  await letIn('H. Two', 'shift-lead', { halls: ['Hall 2'] });
  const browser = await signedIn('H. Two');
  const other = await browser.post('/loads', start('press-1'));
  expect([other.status, await codeOf(other)]).toEqual([403, 'other-hall']);
  expect((await browser.post('/loads', start('press-2'))).status).toBe(200);
  const end = await browser.post('/loads/P1-00231/end', { id: randomUUID(), by: '' });
  expect([end.status, await codeOf(end)]).toEqual([403, 'other-hall']);
});

test('a right holds in its hall for points and jobs as well, also of somebody who reads every hall', async () => {
  await letIn('E. Two', 'engineer', { halls: ['Hall 2'] });
  const browser = await signedIn('E. Two');
  const act = { id: randomUUID(), by: '' };
  const acts = {
    '/points/left-u/remove': { ...act, reason: 'loose' },
    '/stations/press-1/work/w-1/close': { ...act, evidence: 'not-proven', note: 'done' },
    // What the body says of the place does not outweigh the address.
    '/stations/press-1/state': { ...act, station: 'press-2', state: 'off' },
  };
  const answers = Object.entries(acts).map(async ([path, body]) => {
    const answer = await browser.post(path, body);
    return [path, answer.status, await codeOf(answer)];
  });
  expect(await Promise.all(answers)).toEqual(
    Object.keys(acts).map((path) => [path, 403, 'other-hall']),
  );
  const close = { ...acts['/stations/press-1/work/w-1/close'], id: randomUUID() };
  expect((await browser.post('/stations/press-2/work/w-1/close', close)).status).toBe(200);
});

test('a badge, or name and PIN, is good for one act', async () => {
  await letIn('M. Aker', 'shift-lead', { pin: '4093', badge: 'badge 0012' });
  for (const proof of [{ badge: 'badge 0012' }, { name: 'M. Aker', pin: '4093' }]) {
    const shared = new Browser(on.url);
    expect((await shared.post('/identify', proof)).status).toBe(200);
    expect((await shared.post('/loads', start('press-2'))).status).toBe(200);
    expect((await shared.post('/loads', start('press-2'))).status).toBe(401);
  }
});

test('a release, a grant asks for the password again, and that counts once', async () => {
  const body = { id: randomUUID(), name: 'T. Once', jobs: ['shift-lead'], password };
  await sign(administrator);
  expect((await administrator.post('/people', body)).status).toBe(200);
  const second = await administrator.post('/people', {
    ...body,
    id: randomUUID(),
    name: 'T. Twice',
  });
  expect([second.status, await codeOf(second)]).toEqual([401, 'signature']);
  const wrong = await administrator.post('/sign', {
    password: 'something else',
    meaning: 'granted',
  });
  expect(wrong.status).toBe(403);
});

test('a revoked person is out of every browser, and his name can be forgotten', async () => {
  const { on: own, administrator: admin } = await withPeople();
  try {
    await sign(admin);
    const body = { id: randomUUID(), name: 'L. Leaves', jobs: ['maintenance'], password };
    const answer = await admin.post('/people', body);
    const { person } = (await answer.json()) as { person: { id: string } };
    const browser = new Browser(own.url);
    await browser.post('/sign-in', { name: 'L. Leaves', password });
    expect((await browser.get('/stations')).status).toBe(200);
    await sign(admin);
    const out = await admin.post(`/people/${person.id}/revoke`, { id: randomUUID() });
    expect(out.status).toBe(200);
    expect((await browser.get('/stations')).status).toBe(401);
    await sign(admin);
    expect((await admin.post(`/people/${person.id}/erase`, {})).status).toBe(200);
    expect(await (await admin.get('/people')).text()).not.toContain('Leaves');
    const file = await readFile(join(own.dataFolder, 'people.db'));
    const wal = await readFile(join(own.dataFolder, 'people.db-wal')).catch(() => Buffer.alloc(0));
    expect(file.includes('L. Leaves')).toBe(false);
    expect(wal.includes('L. Leaves')).toBe(false);
    await sign(admin);
    const last = await admin.post('/people/p-1/revoke', { id: randomUUID() });
    expect([last.status, await codeOf(last)]).toEqual([409, 'last']);
  } finally {
    await own.close();
  }
});

test('an auditor’s account ends by itself, and must have an end', async () => {
  await sign(administrator);
  const body = { id: randomUUID(), name: 'Q. Audit', jobs: ['auditor'], password };
  const answer = await administrator.post('/people', body);
  expect([answer.status, ((await answer.json()) as { field: string }).field]).toEqual([
    422,
    'endsMs',
  ]);
  await letIn('Q. Ended', 'auditor', { endsMs: 1 });
  const browser = new Browser(on.url);
  expect((await browser.post('/sign-in', { name: 'Q. Ended', password })).status).toBe(403);
});

test('a session is made by the server alone, and a new one at each sign-in', async () => {
  await letIn('S. Fix', 'shift-lead');
  const browser = new Browser(on.url);
  browser.setCookie('setwell', 'A'.repeat(43));
  expect((await browser.get('/stations')).status).toBe(401);
  await browser.post('/sign-in', { name: 'S. Fix', password });
  const first = browser.cookie();
  expect(first).not.toBe('A'.repeat(43));
  await browser.post('/sign-in', { name: 'S. Fix', password });
  expect(browser.cookie()).not.toBe(first);
  const [line = ''] = (
    await browser.post('/sign-in', { name: 'S. Fix', password })
  ).headers.getSetCookie();
  expect(line).toMatch(/; HttpOnly/);
  expect(line).toMatch(/; SameSite=Strict/);
  const out = await browser.post('/sign-out', {});
  expect(out.status).toBe(200);
  expect((await browser.get('/stations')).status).toBe(401);
});

test('an act from a page of another site is refused, signed in or not', async () => {
  const answer = await administrator.post('/loads', start('press-1'), {
    origin: 'http://elsewhere.example',
  });
  expect([answer.status, await codeOf(answer)]).toEqual([403, 'other-site']);
});

test('a wall is let in by its code, reads, and does nothing', async () => {
  const wall = new Browser(on.url);
  const mine = `/pairing?wall=${randomUUID()}`;
  const { code } = (await (await wall.get(mine)).json()) as { code: string };
  expect(code).toMatch(/^\d{6}$/);
  await sign(administrator);
  const typed = { code: `${code.slice(0, 3)} ${code.slice(3)}`, name: 'Wall 1', hall: 'Hall 1' };
  const paired = await administrator.post('/devices/pair', typed);
  const { device } = (await paired.json()) as { device: { id: string } };
  expect(await (await wall.get(mine)).json()).toEqual({ code: null, paired: true });
  expect((await wall.get('/stations')).status).toBe(200);
  expect((await wall.post('/loads', start('press-1'))).status).toBe(401);
  expect((await wall.get('/ledger')).status).toBe(401);
  await sign(administrator);
  await administrator.post(`/devices/${device.id}/revoke`, {});
  expect((await wall.get('/stations')).status).toBe(401);
});

test('a token does what it was given for, and is shown once', async () => {
  await sign(administrator);
  const made = await administrator.post('/devices/token', { name: 'Reports', scopes: ['look'] });
  const { token } = (await made.json()) as { token: string };
  const asked = (path: string) =>
    fetch(`${on.url}/api/v1${path}`, { headers: { authorization: `Bearer ${token}` } });
  expect((await asked('/stations')).status).toBe(200);
  expect((await asked('/ledger')).status).toBe(401);
  await sign(administrator);
  expect(await (await administrator.get('/devices')).text()).not.toContain(token);
});

test('guessing waits, for the person and for the device, and tells nothing', async () => {
  await letIn('G. Guess', 'shift-lead', { pin: '4093' });
  const shared = new Browser(on.url);
  const tried = async (name: string) => {
    const answer = await shared.post('/identify', { name, pin: '1110' });
    return [answer.status, await codeOf(answer)].join(' ');
  };
  const answers: Record<string, string[]> = {};
  for (const name of ['G. Guess', 'Nobody here']) {
    answers[name] = [];
    for (let i = 0; i < 6; i += 1) answers[name].push(await tried(name));
  }
  const expected = [...Array<string>(5).fill('403 not-you'), '429 wait'];
  expect(answers).toEqual({ 'G. Guess': expected, 'Nobody here': expected });
  const before = await Promise.all(
    Array.from({ length: 30 }, (_, i) => tried(`Nobody ${String(i)}`)),
  );
  expect(before).toContain('429 wait');
});
