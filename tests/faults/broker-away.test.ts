import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import mqtt from 'mqtt';
import { afterEach, beforeEach, describe, expect, it, onTestFinished } from 'vitest';
import { connectBroker } from '@setwell/collector/intake/broker-client';
import { Intake } from '@setwell/collector/intake/intake';
import { openJournal, openJournalReader, type Journal } from '@setwell/collector/journal/journal';
import type { JournalReader } from '@setwell/collector/journal/shape';
import { SystemClock } from '@setwell/collector/system-clock';
import { wallClock } from '@setwell/shared-models/api/clock';
import { CollectorProcess } from '../fixtures/collector-process.ts';
import { freePort } from '../fixtures/free-port.ts';
import { Mosquitto } from '../fixtures/mosquitto.ts';
import { smallPlant } from '../fixtures/small-plant.ts';
import { until } from '../fixtures/until.ts';

let folder: string;
let journal: Journal;
let reader: JournalReader;
let broker: Mosquitto;
const clock = new SystemClock(wallClock);

beforeEach(async () => {
  folder = mkdtempSync(join(tmpdir(), 'away-'));
  journal = openJournal(join(folder, 'journal.db'));
  reader = openJournalReader(join(folder, 'journal.db'));
  broker = new Mosquitto(await freePort());
  await broker.start();
});

afterEach(async () => {
  await broker.end();
  reader.close();
  journal.close();
  rmSync(folder, { recursive: true });
});

async function collector(protocolVersion: 4 | 5 = 4) {
  const lost: string[] = [];
  const bus = connectBroker(
    { url: broker.url, protocolVersion },
    {
      collector: 'c1',
      intake: new Intake({ plant: smallPlant(), journal, clock }),
      clock,
      onSessionLost: () => lost.push('lost'),
    },
  );
  onTestFinished(() => bus.close());
  await until(() => bus.status().connected);
  return { bus, lost };
}

const startMs = Date.now() - 10_000;

async function publish(from: number, count: number, topic = 'plant/press-1/p1-ul') {
  const publisher = await mqtt.connectAsync(broker.url);
  const all = Array.from({ length: count }, (_, i) =>
    publisher.publishAsync(topic, `{"t":${startMs + from + i},"v":${from + i}}`, { qos: 1 }),
  );
  await Promise.all(all);
  await publisher.endAsync();
}

const stored = () => reader.readings('p1-ul', 0, 5e12).readings.length;

describe('a broker that goes away', () => {
  it.each([4, 5] as const)(
    'misses no message of 5,000 while the collector is away (MQTT %d)',
    async (version) => {
      const { bus } = await collector(version);
      await bus.close();
      await publish(0, 5000);
      await collector(version);
      await until(() => stored() === 5000);
    },
  );

  it('comes back with the session it had: nothing is lost, and nobody says so', async () => {
    const { bus, lost } = await collector();
    await publish(0, 100);
    await until(() => stored() === 100);
    await broker.stop();
    await until(() => !bus.status().connected);
    await broker.start();
    await publish(100, 100);
    await until(() => stored() === 200);
    expect(lost).toEqual([]);
  });

  it('comes back without its memory: that is said, and the topics are asked for again', async () => {
    const { bus, lost } = await collector();
    await broker.stop('SIGKILL');
    await until(() => !bus.status().connected);
    await broker.start();
    await until(() => bus.status().connected);
    await publish(0, 10);
    await until(() => stored() === 10);
    expect(lost).toEqual(['lost']);
  });

  it('hands over bare numbers that waited in it, and they are not taken for live ones', async () => {
    const { bus } = await collector();
    await bus.close();
    const publisher = await mqtt.connectAsync(broker.url);
    await publisher.publishAsync('bench/plate', '80.1', { qos: 1 });
    await collector();
    await until(() => reader.rejects(9).length === 1);
    await publisher.publishAsync('bench/plate', '80.2', { qos: 1 });
    await until(() => reader.lastReading('b1-plate') !== null);
    await publisher.endAsync();
    expect(reader.rejects(9)).toMatchObject([{ code: 'not-live', payload: '80.1' }]);
    expect(reader.lastReading('b1-plate')).toMatchObject({ v: 80.2, stamped: true });
  });

  it('says for us that we are offline, however we went', async () => {
    const args = [join(folder, 'another.db'), 'outside', String(broker.port)];
    const display = await mqtt.connectAsync(broker.url);
    onTestFinished(async () => void (await display.endAsync(true)));
    const heard: string[] = [];
    display.on('message', (_, payload) => heard.push(payload.toString()));
    await display.subscribeAsync('setwell/c1/status', { qos: 1 });
    const another = await CollectorProcess.start(args);
    await until(() => heard.at(-1) === 'online');
    await another.end();
    await until(() => heard.at(-1) === 'offline');
    const { bus } = await collector();
    await until(() => heard.at(-1) === 'online');
    await bus.close();
    await until(() => heard.at(-1) === 'offline');
  });
});
