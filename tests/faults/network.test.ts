import { join } from 'node:path';
import { afterAll, expect, onTestFinished, test } from 'vitest';
import { Cable } from '../fixtures/cable.ts';
import { until } from '../fixtures/until.ts';
import {
  broker,
  collecting,
  FaultCounts,
  ownFolder,
  publish,
  publisher,
  stored,
} from './way-in.ts';

const counts = new FaultCounts();
afterAll(() => console.table(counts.table));

const cuts = 10;
const brokerKills = 20;

async function cableTo(port: number): Promise<Cable> {
  const cable = await Cable.lay(port);
  onTestFinished(() => cable.end());
  return cable;
}

test('a line that is cut in the midst of what it carries, again and again', async () => {
  const folder = ownFolder();
  const mosquitto = await broker();
  const cable = await cableTo(mosquitto.port);
  // Slow enough that each cut finds messages on their way.
  cable.slow(60_000);
  const url = `mqtt://127.0.0.1:${cable.port}`;
  const all = await collecting({ url }, join(folder, 'journal.db'));
  const client = await publisher(mosquitto.url);
  let acknowledged = 0;
  for (let cut = 0; cut < cuts; cut += 1) {
    acknowledged += await publish(client, acknowledged + 1, 200);
    expect(stored(all)).toBeLessThan(acknowledged);
    cable.cut();
    await until(() => !all.bus.status().connected);
    await until(() => all.bus.status().connected);
  }
  cable.slow(Number.POSITIVE_INFINITY);
  await until(() => stored(all) === acknowledged);
  expect(all.lostSessions()).toBe(0);
  counts.note(`line cut ${cuts} times`, acknowledged, stored(all));
});

test('a line of 20 kB/s, and one that holds everything back for a while', async () => {
  const folder = ownFolder();
  const mosquitto = await broker();
  const cable = await cableTo(mosquitto.port);
  const url = `mqtt://127.0.0.1:${cable.port}`;
  const all = await collecting({ url }, join(folder, 'journal.db'));
  const closed: unknown[] = [];
  all.bus.onStatus((status) => void (status.connected || closed.push(status)));
  const client = await publisher(mosquitto.url);
  cable.slow(20_000);
  let acknowledged = await publish(client, 1, 500);
  expect(stored(all)).toBeLessThan(500);
  await until(() => stored(all) === 500);
  cable.hold(true);
  acknowledged += await publish(client, 501, 500);
  expect(stored(all)).toBe(500);
  cable.hold(false);
  await until(() => stored(all) === acknowledged);
  expect(closed).toEqual([]);
  counts.note('line of 20 kB/s, then held', acknowledged, stored(all));
});

test('a broker killed at random moments: each message is stored, or a hole that is told', async () => {
  const folder = ownFolder();
  const mosquitto = await broker();
  const all = await collecting({ url: mosquitto.url }, join(folder, 'journal.db'));
  const client = await publisher(mosquitto.url, { reconnectPeriod: 20 });
  let acknowledged = 0;
  for (let kill = 0; kill < brokerKills; kill += 1) {
    // The rest is acknowledged by its next life, to which the client sends it again.
    const sent = publish(client, acknowledged + 1, 400);
    const some = stored(all) + 1 + ((kill * 37) % 150);
    await until(() => stored(all) >= some);
    await mosquitto.stop('SIGKILL');
    await until(() => !all.bus.status().connected);
    await mosquitto.start();
    acknowledged += await sent;
    await until(() => all.bus.status().connected);
  }
  acknowledged += await publish(client, acknowledged + 1, 1);
  await until(() => all.reader.lastReading('p1-ul')?.v === acknowledged);
  const missing = all.intake.traffic.points.get('p1-ul')?.sequence.missing ?? 0;
  // What a broker without memory had taken and not yet handed on is gone: nobody may be told otherwise.
  expect(all.lostSessions()).toBe(brokerKills);
  counts.note(
    `broker killed ${brokerKills} times, ${missing} lost in it and told`,
    acknowledged - missing,
    stored(all),
  );
});
