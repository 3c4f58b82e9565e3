import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import mqtt from 'mqtt';
import { afterEach, beforeEach, describe, expect, it, onTestFinished } from 'vitest';
import { connectBroker } from '@setwell/collector/intake/broker-client';
import { Intake } from '@setwell/collector/intake/intake';
import { openJournal, openJournalReader } from '@setwell/collector/journal/journal';
import { SystemClock } from '@setwell/collector/system-clock';
import { wallClock } from '@setwell/shared-models/api/clock';
import { freePort } from '../fixtures/free-port.ts';
import { Mosquitto } from '../fixtures/mosquitto.ts';
import { smallPlant } from '../fixtures/small-plant.ts';
import { until } from '../fixtures/until.ts';

const shipped = new URL('../../deploy/mosquitto/', import.meta.url);
let folder: string;
let broker: Mosquitto;

/** The shipped file as it stands, but for where it listens, its certificates and its folders. */
function shippedLines(): string[] {
  const text = readFileSync(new URL('setwell.conf', shipped), 'utf8');
  return text
    .split('\n')
    .filter((line) => !/^(listener|cafile|certfile|keyfile|tls_version|persistence)/.test(line))
    .map((line) => line.replace('/etc/mosquitto/passwords', join(folder, 'passwords')))
    .map((line) =>
      line.replace('/etc/mosquitto/setwell.acl', new URL('setwell.acl', shipped).pathname),
    );
}

beforeEach(async () => {
  folder = mkdtempSync(join(tmpdir(), 'plant-broker-'));
  const passwords = join(folder, 'passwords');
  for (const [i, user] of ['collector', 'press-1', 'display'].entries()) {
    execFileSync('mosquitto_passwd', ['-b', ...(i === 0 ? ['-c'] : []), passwords, user, 'secret']);
  }
  broker = new Mosquitto(await freePort(), shippedLines(), 'as-given');
  await broker.start();
});

afterEach(async () => {
  await broker.end();
  rmSync(folder, { recursive: true });
});

describe('the shipped broker configuration', () => {
  it('lets nobody in without a name', async () => {
    const stranger = mqtt.connectAsync(broker.url, { reconnectPeriod: 0 });
    await expect(stranger).rejects.toThrow(/Not authorized/);
  });

  it('lets a station write its own points, and nobody but the collector below setwell/', async () => {
    const path = join(folder, 'journal.db');
    const journal = openJournal(path);
    const reader = openJournalReader(path);
    const clock = new SystemClock(wallClock);
    const intake = new Intake({ plant: smallPlant(), journal, clock });
    const address = { url: broker.url, username: 'collector', password: 'secret' };
    const bus = connectBroker(address, { collector: 'c1', intake, clock });
    onTestFinished(async () => {
      await bus.close();
      reader.close();
      journal.close();
    });
    await until(() => bus.status().connected);
    expect(bus.status()).toMatchObject({ faults: [], url: broker.url });

    const as = async (username: string) => {
      const client = await mqtt.connectAsync(broker.url, { username, password: 'secret' });
      onTestFinished(async () => void (await client.endAsync(true)));
      return client;
    };
    const [press, display] = [await as('press-1'), await as('display')];
    const heard: string[] = [];
    display.on('message', (_, payload) => heard.push(payload.toString()));
    await display.subscribeAsync('setwell/#');
    await until(() => heard.includes('online'));
    const say = (client: mqtt.MqttClient, topic: string, payload: string) =>
      client.publishAsync(topic, payload, { qos: 1 });
    const t = Date.now();
    await say(press, 'setwell/press-1/advice', '{"say":"proven"}');
    await say(display, 'plant/press-1/p1-ul', `{"t":${t},"v":1}`);
    await say(press, 'plant/rack-a/ra-1', `{"t":${t},"v":2}`);
    await say(press, 'plant/press-1/p1-ul', `{"t":${t},"v":3}`);
    await until(() => reader.head() > 0);
    bus.publish('setwell/press-1/advice', '{"say":"none"}', { retain: false, qos: 0 });
    await until(() => heard.includes('{"say":"none"}'));
    expect(heard).not.toContain('{"say":"proven"}');
    expect(reader.readings('p1-ul', 0, 5e12).readings.map(({ v }) => v)).toEqual([3]);
    expect(reader.rejects(9)).toEqual([]);
  });
});
