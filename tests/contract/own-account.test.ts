import { randomUUID } from 'node:crypto';
import { mkdtempSync, rmSync } from 'node:fs';
import { readFile, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import { isCommonPassword } from '@setwell/dashboard/server/people/common-password';
import { forgetNow } from '@setwell/dashboard/server/people/forget-names';
import { PeopleDb } from '@setwell/dashboard/server/people/people-db';
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

const minuteMs = 60_000;
const hourMs = 60 * minuteMs;
const dayMs = 24 * hourMs;

let on: Stage;
let administrator: Browser;
let aheadMs = 0;
const said: string[] = [];

beforeAll(async () => {
  const nowMs = () => Date.now() + aheadMs;
  ({ on, administrator } = await withPeople({ nowMs, log: (line) => said.push(line) }));
});
afterAll(() => on.close());

interface Noted {
  what: string;
  person: string | null;
}
const noted = async (): Promise<Noted[]> =>
  ((await (await administrator.get('/people/noted?limit=1000')).json()) as { noted: Noted[] })
    .noted;

describe('common passwords', () => {
  // NIST SP 800-63B, 5.1.1.2: commonly used, expected or compromised ones are refused.
  test.each([
    ['qwertyuiop123', 'a common one with digits behind it'],
    ['!!Password2026!!', 'a common one with signs around it'],
    ['unbelievable', 'a common one of twelve letters'],
    ['passwordpassword', 'a common one twice'],
    ['abcabcabcabcabc', 'a piece again and again'],
    ['121212121212', 'digits again and again'],
    ['202612312359', 'digits alone'],
    ['Setwell-2026!', 'the name of the program'],
    ['demo-works-2026', 'the name of the plant'],
    ['Rosalind1234', 'a name of the person'],
  ])('%s is refused: %s', (given) => {
    expect(isCommonPassword(given, ['Rosalind Voss', 'demo-works'])).toBe(true);
  });

  test.each([
    'a long walk to the press',
    'sieben Pressen, ein Kran',
    'rosalind likes rye bread',
    'correct horse battery staple',
    'xK9#mQ2$vL7p',
  ])('%s is taken', (given) => {
    expect(isCommonPassword(given, ['Rosalind Voss', 'demo-works'])).toBe(false);
  });

  test('are refused wherever a password is set, with what would help', async () => {
    await sign(administrator);
    const common = 'Password2026!!';
    const body = { id: randomUUID(), name: 'C. Mon', jobs: ['shift-lead'], password: common };
    const let_ = await administrator.post('/people', body);
    expect([let_.status, await codeOf(let_)]).toEqual([422, 'common-password']);
    const { id } = await letInBy(administrator, 'C. Mon', 'shift-lead');
    await sign(administrator);
    const set = await administrator.post(`/people/${id}/secrets`, { password: common });
    expect([set.status, await codeOf(set)]).toEqual([422, 'common-password']);
    const own = await (
      await signedInAt(on, 'C. Mon')
    ).post('/me/password', { old: password, password: common });
    expect([own.status, await codeOf(own)]).toEqual([422, 'common-password']);
  });
});

test('a person changes his own password by the one that counts, and is out everywhere else', async () => {
  await letInBy(administrator, 'O. Wner', 'shift-lead');
  const [here, there] = [await signedInAt(on, 'O. Wner'), await signedInAt(on, 'O. Wner')];
  const next = 'another walk, by the river';
  const wrong = await here.post('/me/password', { old: 'not this one at all', password: next });
  expect([wrong.status, await codeOf(wrong)]).toEqual([403, 'not-you']);
  expect((await here.post('/me/password', { old: password, password: next })).status).toBe(200);
  expect((await here.get('/stations')).status).toBe(200);
  expect((await there.get('/stations')).status).toBe(401);
  const old = await new Browser(on.url).post('/sign-in', { name: 'O. Wner', password });
  expect(old.status).toBe(403);
  const again = await new Browser(on.url).post('/sign-in', { name: 'O. Wner', password: next });
  expect(again.status).toBe(200);
  // A badge for one act is nobody's account.
  const stranger = await new Browser(on.url).post('/me/password', { old: next, password });
  expect([stranger.status, await codeOf(stranger)]).toEqual([401, 'who']);
});

test('a person sees where he is signed in, and ends all of it but this', async () => {
  await letInBy(administrator, 'S. Many', 'shift-lead');
  const browsers = [];
  for (let i = 0; i < 3; i += 1) browsers.push(await signedInAt(on, 'S. Many'));
  const [here, ...others] = browsers;
  const seen = async () =>
    ((await (await here!.get('/me/sign-ins')).json()) as { signIns: unknown[] }).signIns.length;
  expect(await seen()).toBe(3);
  expect((await here!.post('/me/sign-ins/end', {})).status).toBe(200);
  expect(await seen()).toBe(1);
  for (const other of others) expect((await other.get('/stations')).status).toBe(401);
});

test('a sign-in that is used all the time ends after twelve hours, one that rests after half an hour', async () => {
  await letInBy(administrator, 'L. Ong', 'shift-lead');
  const [used, rests] = [await signedInAt(on, 'L. Ong'), await signedInAt(on, 'L. Ong')];
  const beganMs = aheadMs;
  const answers: number[] = [];
  for (let min = 25; min < 12 * 60; min += 25) {
    aheadMs = beganMs + min * minuteMs;
    answers.push((await used.post('/me/here', {})).status, (await used.get('/stations')).status);
    // A screen that asks by itself shows nobody.
    if (min === 25) expect((await rests.get('/stations')).status).toBe(200);
    if (min === 50) expect((await rests.get('/stations')).status).toBe(401);
  }
  expect(new Set(answers)).toEqual(new Set([200]));
  aheadMs = beganMs + 12 * hourMs + minuteMs;
  expect((await used.get('/stations')).status).toBe(401);
  administrator = await signedInAt(on, 'Ada Berg');
});

test('sign-ins, wrong tries and refusals are noted, with numbers and without secrets', async () => {
  const { id } = await letInBy(administrator, 'N. Oted', 'auditor', {
    endsMs: Date.now() + 30 * dayMs,
  });
  const browser = new Browser(on.url);
  await browser.post('/sign-in', { name: 'N. Oted', password: 'my secret in the wrong box' });
  await browser.post('/sign-in', { name: 'my secret in the name', password });
  await browser.post('/sign-in', { name: 'N. Oted', password });
  await browser.post('/loads', start('press-1'));
  await browser.post('/sign-out', {});
  const newest = (await noted()).slice(0, 5).reverse();
  expect(newest.map(({ what, person }) => [what, person])).toEqual([
    ['sign-in-refused', null],
    ['sign-in-refused', null],
    ['sign-in', id],
    ['refused-floor', id],
    ['sign-out', id],
  ]);
  const lines = said.filter((line) => line.startsWith('security: '));
  expect(lines.length).toBeGreaterThan(5);
  expect(JSON.stringify([lines, await noted()])).not.toMatch(/secret in|N\. Oted|long walk/);
  // Nobody but an administrator reads them.
  const other = await signedInAt(on, 'N. Oted');
  expect((await other.get('/people/noted')).status).toBe(403);
});

test('a wrong badge locks out no other badge, only who guesses at one after the other', async () => {
  const { on: own, administrator: admin } = await withPeople();
  try {
    await letInBy(admin, 'B. Adge', 'shift-lead', { badge: 'badge 0044' });
    const shared = new Browser(own.url);
    const tried = async (badge: string) => (await shared.post('/identify', { badge })).status;
    for (let i = 0; i < 6; i += 1) expect(await tried(`worn ${String(i)}`)).toBe(403);
    expect(await tried('badge 0044')).toBe(200);
    const guesses: number[] = [];
    for (let i = 0; i < 20; i += 1) guesses.push(await tried(`guess ${String(i)}`));
    expect(guesses.at(-1)).toBe(429);
  } finally {
    await own.close();
  }
});

test('a number that the record knows is never another person’s, whatever became of the file of people', async () => {
  const { on: own, administrator: first } = await withPeople({}, { ...plantHello, lastPerson: 41 });
  try {
    const me = (await (await first.get('/me')).json()) as { who: { id: string } };
    expect(me.who.id).toBe('p-42');
    expect((await letInBy(first, 'N. Ext', 'shift-lead')).id).toBe('p-43');
  } finally {
    await own.close();
  }
});

test('nobody types himself a name that the record means otherwise', async () => {
  const own = await stage(noWeb, wholeScene, plantHello);
  try {
    const browser = new Browser(own.url);
    await vi.waitFor(async () => expect((await browser.get('/stations')).status).toBe(200));
    for (const by of ['p-1', 'D-2', 'collector', 'Plant']) {
      const answer = await browser.post('/loads', start('press-1', { by }));
      expect([by, answer.status, await codeOf(answer)]).toEqual([by, 422, 'bad-input']);
    }
    expect((await browser.post('/loads', start('press-1', { by: 'P. Lant' }))).status).toBe(200);
  } finally {
    await own.close();
  }
});

describe('a stream that is open', () => {
  const opened = async (path: string, reader: Browser) => {
    const answer = await reader.get(path);
    expect(answer.status).toBe(200);
    return answer;
  };

  test('ends when its reader is let out, and when he signs out', async () => {
    const { id } = await letInBy(administrator, 'S. Tream', 'shift-lead');
    const browser = await signedInAt(on, 'S. Tream');
    const streams = [await opened('/stream', browser), await opened('/readings/stream', browser)];
    const other = await signedInAt(on, 'S. Tream');
    const others = await opened('/stream', other);
    await other.post('/sign-out', {});
    // What has come once the server has ended it.
    expect(await others.text()).toContain('event: beat');
    await sign(administrator);
    await administrator.post(`/people/${id}/revoke`, { id: randomUUID() });
    const told = await Promise.all(streams.map((stream) => stream.text()));
    expect(told[0]).toContain('event: frame');
  });

  test('ends when the sign-in has rested for too long', async () => {
    let restedMs = 0;
    const nowMs = () => Date.now() + restedMs;
    const { on: own, administrator: admin } = await withPeople({ nowMs, beatEveryMs: 50 });
    try {
      const stream = await opened('/stream', admin);
      restedMs = 31 * minuteMs;
      expect(await stream.text()).toContain('event: frame');
    } finally {
      await own.close();
    }
  });
});

test('what is noted goes after 90 days', () => {
  const db = new PeopleDb(':memory:');
  const note = (day: number) =>
    db.note({ ms: day * dayMs, what: 'sign-in', person: 'p-1', origin: '' });
  for (const day of [0, 50, 91]) note(day);
  expect(db.noted(10).map(({ ms }) => ms / dayMs)).toEqual([91, 50]);
  db.close();
});

test('the meaning of an act stays in its entry, and a password given for something else does not count', async () => {
  await letInBy(administrator, 'D. Cide', 'engineer');
  const browser = await signedInAt(on, 'D. Cide');
  const decide = (decision: string) =>
    browser.post('/loads/P1-00231/disposition', {
      ...{ id: randomUUID(), by: '', decision, reason: 'test piece held' },
    });
  await sign(browser, 'granted');
  const other = await decide('release');
  expect(await other.json()).toMatchObject({ code: 'signature', meaning: 'released' });
  await sign(browser, 'released');
  expect((await decide('release')).status).toBe(200);
  const act = on.fake.acts.find(({ kind }) => kind === 'disposition');
  expect(act).toMatchObject({ meaning: 'released', body: { decision: 'release' } });
  await sign(browser, 'decided');
  expect((await decide('scrap')).status).toBe(200);
  expect(on.fake.acts.at(-1)).toMatchObject({ meaning: 'decided' });
  const grant = on.fake.acts.filter(({ kind }) => kind === 'person-granted').at(-1);
  expect(grant).toMatchObject({ meaning: 'granted' });
});

describe('nobody can sign in any more', () => {
  const next = 'a code from the box helped';
  const offer = (code: string) => writeFile(join(on.dataFolder, 'setup-code'), `${code}\n`);

  test('the code of the box gives an administrator a new password, once', async () => {
    // The file's own time is the machine's.
    aheadMs = 0;
    await offer('123456789');
    const setup = { code: '123 456 789', name: 'Ada Berg', password: next };
    const before = await signedInAt(on, 'Ada Berg');
    const browser = new Browser(on.url);
    expect((await browser.post('/setup', setup)).status).toBe(200);
    expect(await (await browser.get('/me')).json()).toMatchObject({ who: { id: 'p-1' } });
    expect((await before.get('/stations')).status).toBe(401);
    const again = await new Browser(on.url).post('/setup', setup);
    expect([again.status, await codeOf(again)]).toEqual([409, 'moved-on']);
    expect(on.fake.acts.at(-1)).toMatchObject({ kind: 'person-granted', by: 'p-1' });
    await expect(readFile(join(on.dataFolder, 'setup-code'))).rejects.toThrow('ENOENT');
    administrator = browser;
  });

  test('a restart keeps the code for its hour, drops it then, and waits for no first administrator', async () => {
    aheadMs = 0;
    await offer('123456789');
    await on.restart();
    expect(on.dashboard.setupFile).toBeNull();
    expect(await readFile(join(on.dataFolder, 'setup-code'), 'utf8')).toBe('123456789\n');
    aheadMs = hourMs + minuteMs;
    await on.restart();
    await expect(readFile(join(on.dataFolder, 'setup-code'))).rejects.toThrow('ENOENT');
    aheadMs = 0;
  });

  test('makes nobody an administrator who was something else, and holds for an hour', async () => {
    await offer('123456789');
    const taken = { code: '123456789', name: 'L. Ong', password: next };
    const answer = await new Browser(on.url).post('/setup', taken);
    expect([answer.status, await codeOf(answer)]).toEqual([409, 'taken']);
    const laterMs = aheadMs;
    aheadMs += hourMs + minuteMs;
    const late = { code: '123456789', name: 'N. Ew', password: next };
    const refused = await new Browser(on.url).post('/setup', late);
    expect([refused.status, await codeOf(refused)]).toEqual([409, 'moved-on']);
    aheadMs = laterMs;
  });
});

test('a file that a later version has added to is worked on', () => {
  const folder = mkdtempSync(join(tmpdir(), 'setwell-people-'));
  const file = join(folder, 'people.db');
  new PeopleDb(file).close();
  const later = new Database(file);
  for (const table of ['person', 'device', 'session', 'noted']) {
    later.exec(`ALTER TABLE ${table} ADD COLUMN of_later TEXT`);
  }
  later.pragma('user_version = 99');
  later.close();
  const db = new PeopleDb(file);
  const account = { jobs: ['auditor' as const], halls: null, endsMs: null, revokedMs: null };
  db.put({ ...account, id: 'p-1', name: 'Ada' }, { password: 'x' });
  db.begin('digest', { person: 'p-1', kind: 'full', untilMs: 10 }, 1);
  db.addDevice({ kind: 'screen', name: 'Wall', hall: null, scopes: [] }, 'its digest');
  db.note({ ms: 1, what: 'sign-in', person: 'p-1', origin: '' });
  expect(db.session('digest', 2)).toMatchObject({ person: 'p-1', beganMs: 1 });
  expect([db.devices().length, db.noted(9).length]).toEqual([1, 1]);
  db.close();
  rmSync(folder, { recursive: true });
});

test('names go by themselves so long after an account has ended, and not before', () => {
  const db = new PeopleDb(':memory:');
  const account = { jobs: ['auditor' as const], halls: null, endsMs: null, revokedMs: null };
  db.put({ ...account, id: 'p-1', name: 'Stays' }, {});
  db.put({ ...account, id: 'p-2', name: 'Left', revokedMs: 10 * dayMs }, {});
  db.put({ ...account, id: 'p-3', name: 'Ended', endsMs: 20 * dayMs }, { password: 'x' });
  const namesOn = (day: number) => {
    forgetNow({ db, nowMs: () => day * dayMs, namesKeptD: () => 100 });
    return db.people().map(({ name }) => name);
  };
  expect(namesOn(109)).toEqual(['Stays', 'Left', 'Ended']);
  expect(namesOn(110)).toEqual(['Stays', 'p-2', 'Ended']);
  expect(namesOn(120)).toEqual(['Stays', 'p-2', 'p-3']);
  expect(db.named('Ended')).toBeNull();
  expect(db.secrets('p-3')?.password).toBeNull();
  db.close();
});
