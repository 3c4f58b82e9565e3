import { mkdtempSync, readFileSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import mqtt from 'mqtt';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { answerOf } from '../fixtures/command.ts';
import { freePort } from '../fixtures/free-port.ts';
import { Mosquitto } from '../fixtures/mosquitto.ts';

const plant = new URL('../../deploy/demo/plant.yaml', import.meta.url).pathname;
let folder: string;
let broker: Mosquitto;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'setwell-broker-users-'));
  expect((await answerOf(['broker-users', '--plant', plant, '--out', folder])).exit).toBe(0);
  broker = new Mosquitto(
    await freePort(),
    [
      'allow_anonymous false',
      `password_file ${join(folder, 'setwell.passwords')}`,
      `acl_file ${join(folder, 'setwell.acl')}`,
    ],
    'as-given',
  );
  await broker.start();
});
afterAll(async () => {
  await broker.end();
  rmSync(folder, { recursive: true, force: true });
});

const secretOf = (user: string) => readFileSync(join(folder, 'secrets', user), 'utf8').trim();
const as = (username: string, password = secretOf(username)) =>
  mqtt.connectAsync(broker.url, { username, password, reconnectPeriod: 0 });

test('a real broker takes the made passwords, and no others', async () => {
  const press = await as('press-1');
  await press.endAsync();
  await expect(as('press-1', 'guess')).rejects.toThrow(/Not authorized/);
  expect(statSync(join(folder, 'secrets', 'press-1')).mode & 0o077).toBe(0);
  expect(readFileSync(join(folder, 'setwell.passwords'), 'utf8')).not.toContain(
    secretOf('press-1'),
  );
});

test('a station’s equipment writes below its own station only, and nobody but a collector gives advice', async () => {
  const collector = await as('c1');
  const heard: string[] = [];
  collector.on('message', (topic, payload) => heard.push(`${topic} ${payload.toString()}`));
  await collector.subscribeAsync(['plant/#', 'setwell/#'], { qos: 1 });
  const press = await as('press-1');
  await press.publishAsync('plant/press-2/p2-su', 'forged', { qos: 1 });
  await press.publishAsync('setwell/press-1/advice', 'forged', { qos: 1 });
  await press.publishAsync('plant/press-1/p1-1l', 'own', { qos: 1 });
  await collector.publishAsync('setwell/press-1/advice', 'advice', { qos: 1 });
  // One broker orders one client's messages: what was refused would have come before what was not.
  await expect.poll(() => heard.length, { timeout: 20_000 }).toBeGreaterThanOrEqual(2);
  expect(heard.sort()).toEqual(['plant/press-1/p1-1l own', 'setwell/press-1/advice advice']);
  await Promise.all([press.endAsync(), collector.endAsync()]);
});
