import { once } from 'node:events';
import { createServer } from 'node:http';
import type { AddressInfo } from 'node:net';
import { expect, onTestFinished, test } from 'vitest';
import { CollectorClient } from '@setwell/dashboard/server/collector-client';
import { LiveFeed } from '@setwell/dashboard/server/live-feed';
import type { FloorLoad } from '@setwell/shared-models/api/floor';
import { wholeScene } from '../browser/floor-scene.ts';
import { stage } from '../browser/harness.ts';
import { until } from '../fixtures/until.ts';

test('a collector that is slow to answer is no other one: screens keep what they show', async () => {
  const log: string[] = [];
  const on = await stage('/nonexistent', wholeScene, undefined, {
    greetEveryMs: 10,
    knownEntryWithinMs: 200,
    log: (line) => log.push(line),
  });
  onTestFinished(() => on.close());
  const listed = async (what: 'lots' | 'calls'): Promise<number> => {
    const answer = await fetch(`${on.url}/api/v1/${what}`);
    return ((await answer.json()) as Record<typeof what, unknown[]>)[what].length;
  };
  await until(async () => (await listed('lots')) === 8);
  let release = (): void => undefined;
  on.fake.ledgerHeld = new Promise((resolve) => (release = resolve));
  await on.fake.stop();
  await on.fake.start();
  const before = on.fake.greeted;
  // Ten milliseconds between two of them: longer than an answering ledger is given.
  await until(() => on.fake.greeted > before + 40);
  expect(await listed('lots')).toBe(8);
  release();
  await until(() => on.fake.ledgerFollowers === 1);
  on.fake.append(
    'call-raised',
    { call: 'late.P2-00411', station: 'press-2', load: 'P2-00411' },
    {
      ...{ kind: 'short-at-plan', station: 'press-2', load: 'P2-00411', point: null },
      ...{ who: 'shift-lead', tooLateMs: null, values: {} },
    },
  );
  await until(async () => (await listed('calls')) === 4);
  expect(await listed('lots')).toBe(8);
  expect(log).toEqual([]);
});

test('a stream that has gone silent ends, so that it is followed anew', async () => {
  const server = createServer((_request, response) => {
    response.writeHead(200).flushHeaders();
    response.write('{"n":1}\n');
  });
  server.listen(0, '127.0.0.1');
  await once(server, 'listening');
  onTestFinished(() => {
    server.closeAllConnections();
    server.close();
  });
  const url = `http://127.0.0.1:${(server.address() as AddressInfo).port}`;
  const lines: string[] = [];
  const ended = await new Promise<Error | null>((resolve) => {
    new CollectorClient({ url, token: '' }, 100).follow('/x', (line) => lines.push(line), resolve);
  });
  expect(lines).toEqual(['{"n":1}']);
  expect(ended?.message).toBe('/x: nothing in 100 ms');
});

test('of large frames fewer are kept than of small ones: who comes back later gets the whole', async () => {
  const feed = new LiveFeed('e', () => 0);
  onTestFinished(() => feed.stop());
  const sent: string[] = [];
  feed.listen(({ id }) => sent.push(id));
  const tell = async (zones: string[]): Promise<void> => {
    const before = sent.length;
    feed.put({ loads: { 'P1-00231': { zones } as FloorLoad } });
    await until(() => sent.length > before);
  };
  await tell(['left']);
  await tell(['left', 'right']);
  expect(feed.since('e-0')).toHaveLength(2);
  const large = Array.from({ length: 1000 }, (_, n) => `${n}`.repeat(500));
  await tell(large);
  await tell(large);
  expect(feed.since('e-0')).toBeNull();
  expect(feed.since('e-3')).toHaveLength(1);
});

test('what a collector says anew is told with the entries that changed it, not before them', async () => {
  const on = await stage('/nonexistent', wholeScene, undefined, { greetEveryMs: 10 });
  onTestFinished(() => on.close());
  const { fake } = on;
  const titled = async (): Promise<string | undefined> => {
    const answer = await fetch(`${on.url}/api/v1/stations`);
    return ((await answer.json()) as { site: { title: string } | null }).site?.title;
  };
  const first = fake.hello.site.title;
  await until(async () => (await titled()) === first);
  const greetings = async (): Promise<void> => {
    const before = fake.greeted;
    await until(() => fake.greeted > before + 3);
  };
  const entries = fake.entries.length + 1;
  fake.hello = { ...fake.hello, entries, site: { ...fake.hello.site, title: 'Hall 2' } };
  await greetings();
  expect(await titled()).toBe(first);
  fake.append('plant-revised', {}, {});
  await until(async () => (await titled()) === 'Hall 2');
});
