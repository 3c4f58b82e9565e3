import { randomUUID } from 'node:crypto';
import type { JWTPayload } from 'jose';
import { afterAll, afterEach, beforeAll, expect, test } from 'vitest';
import type { Stage } from '../browser/harness.ts';
import { Browser, codeOf, letInBy, password, sign, withPeople } from '../fixtures/plant-people.ts';
import { SignInService } from '../fixtures/sign-in-service.ts';

const service = new SignInService();
let on: Stage;
let administrator: Browser;
let aheadMs = 0;

beforeAll(async () => {
  await service.start();
  const { issuer, clientId, secret } = service;
  ({ on, administrator } = await withPeople({
    signOn: { name: 'Works account', issuer, clientId, secret },
    nowMs: () => Date.now() + aheadMs,
  }));
  await letInBy(administrator, 'R. Voss', 'shift-lead', { subject: 'r.voss' });
});
afterAll(async () => {
  await on.close();
  await service.stop();
});
afterEach(() => {
  service.sub = 'r.voss';
  service.lie = (claims) => claims;
  service.strangeKey = false;
  service.faults.length = 0;
  aheadMs = 0;
});

/** Away to the service, as far as the way back. */
async function away(browser: Browser): Promise<string> {
  const begun = await browser.get('/sign-on/begin');
  expect(begun.status).toBe(303);
  const there = await fetch(begun.headers.get('location') ?? '', { redirect: 'manual' });
  const back = new URL(there.headers.get('location') ?? '');
  expect(back.origin).toBe(on.url);
  return `/sign-on/back${back.search}`;
}

const whoIs = async (browser: Browser) =>
  ((await (await browser.get('/me')).json()) as { who: { name: string } | null }).who?.name ?? null;

test('whoever is known by the service is signed in, with the rights of here and no others', async () => {
  const browser = new Browser(on.url);
  const back = await browser.get(await away(browser));
  expect([back.status, back.headers.get('location')]).toEqual([303, '/settings']);
  expect(await whoIs(browser)).toBe('R. Voss');
  expect((await browser.get('/stations')).status).toBe(200);
  expect((await browser.get('/people')).status).toBe(403);
  expect(service.faults).toEqual([]);
});

test('whoever is known there and not here gets nothing, and is told so', async () => {
  service.sub = 'somebody else';
  const browser = new Browser(on.url);
  const back = await browser.get(await away(browser));
  expect(back.headers.get('location')).toBe('/settings?sign-on=refused');
  expect(await whoIs(browser)).toBeNull();
  const { people } = (await (await administrator.get('/people')).json()) as { people: unknown[] };
  expect(people).toHaveLength(2);
});

test('a person who was let out is not let in by the service', async () => {
  service.sub = 'g.one';
  const { id } = await letInBy(administrator, 'G. One', 'shift-lead', { subject: 'g.one' });
  const browser = new Browser(on.url);
  await browser.get(await away(browser));
  expect(await whoIs(browser)).toBe('G. One');
  await sign(administrator);
  await administrator.post(`/people/${id}/revoke`, { id: randomUUID() });
  expect(await whoIs(browser)).toBeNull();
  await browser.get(await away(browser));
  expect(await whoIs(browser)).toBeNull();
});

const lies: [string, (claims: JWTPayload) => JWTPayload][] = [
  ['another nonce', (claims) => ({ ...claims, nonce: 'replayed' })],
  ['no nonce', (claims) => ({ ...claims, nonce: undefined })],
  ['another audience', (claims) => ({ ...claims, aud: 'another program' })],
  ['another issuer', (claims) => ({ ...claims, iss: 'http://127.0.0.1:1' })],
  [
    'a token of an hour ago',
    (claims) => ({ ...claims, iat: claims.iat! - 3600, exp: claims.exp! - 3600 }),
  ],
  [
    'no subject',
    (claims) => {
      const left = { ...claims };
      delete left.sub;
      return left;
    },
  ],
];

test.each(lies)('%s lets nobody in', async (_name, lie) => {
  service.lie = lie;
  const browser = new Browser(on.url);
  const back = await browser.get(await away(browser));
  expect(back.headers.get('location')).toBe('/settings?sign-on=refused');
  expect(await whoIs(browser)).toBeNull();
});

test('a token signed by another key lets nobody in', async () => {
  service.strangeKey = true;
  const browser = new Browser(on.url);
  await browser.get(await away(browser));
  expect(await whoIs(browser)).toBeNull();
});

test('the way back is this browser’s, once, with its own state, and within ten minutes', async () => {
  const browser = new Browser(on.url);
  const back = await away(browser);
  // Put into somebody else's browser it signs nobody in there.
  const other = new Browser(on.url);
  await other.get(back);
  expect(await whoIs(other)).toBeNull();
  await browser.get(back.replace(/state=[^&]+/, 'state=another'));
  expect(await whoIs(browser)).toBeNull();
  await browser.get(back);
  expect(await whoIs(browser)).toBeNull();
  const late = await away(browser);
  aheadMs = 11 * 60_000;
  await browser.get(late);
  expect(await whoIs(browser)).toBeNull();
});

test('the secret of the service is in no answer', async () => {
  for (const path of ['/me', '/openapi.json', '/people']) {
    expect(await (await administrator.get(path)).text()).not.toContain(service.secret);
  }
});

test('a plant without such a service has no such way, and the password works as ever', async () => {
  const { on: own, administrator: admin } = await withPeople();
  try {
    const begun = await new Browser(own.url).get('/sign-on/begin');
    expect([begun.status, await codeOf(begun)]).toEqual([404, 'not-found']);
    await sign(admin);
    const body = { id: randomUUID(), name: 'X', jobs: ['shift-lead'], subject: 'x', password };
    const answer = await admin.post('/people', body);
    expect([answer.status, await codeOf(answer)]).toEqual([422, 'bad-input']);
    expect(await (await admin.get('/me')).json()).toMatchObject({ signOn: null });
  } finally {
    await own.close();
  }
});

test('a service that does not answer is said to be away, and nothing hangs on it', async () => {
  const signOn = {
    name: 'Works account',
    issuer: 'http://127.0.0.1:9',
    clientId: 'x',
    secret: null,
  };
  const { on: own } = await withPeople({ signOn });
  try {
    const browser = new Browser(own.url);
    const begun = await browser.get('/sign-on/begin');
    expect([begun.status, await codeOf(begun)]).toEqual([503, 'no-service']);
    const signedIn = await browser.post('/sign-in', { name: 'Ada Berg', password });
    expect(signedIn.status).toBe(200);
  } finally {
    await own.close();
  }
});
