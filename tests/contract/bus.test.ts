import { mkdtempSync, rmSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import mqtt, { type MqttClient } from 'mqtt';
import {
  afterAll,
  afterEach,
  beforeAll,
  beforeEach,
  describe,
  expect,
  it,
  onTestFinished,
} from 'vitest';
import { connectBroker } from '@setwell/collector/intake/broker-client';
import { startBuiltInBroker } from '@setwell/collector/intake/built-in-broker';
import type { Bus } from '@setwell/collector/intake/bus';
import { Intake } from '@setwell/collector/intake/intake';
import {
  JournalError,
  openJournal,
  openJournalReader,
  type Journal,
} from '@setwell/collector/journal/journal';
import type { JournalReader } from '@setwell/collector/journal/shape';
import { Metrics } from '@setwell/collector/metrics';
import { SystemClock } from '@setwell/collector/system-clock';
import { wallClock } from '@setwell/shared-models/api/clock';
import { freePort } from '../fixtures/free-port.ts';
import { Mosquitto } from '../fixtures/mosquitto.ts';
import { smallPlant } from '../fixtures/small-plant.ts';
import { until } from '../fixtures/until.ts';

interface Place {
  /** Starts what listens on `port`, if that is not the bus itself. */
  prepare(): Promise<void>;
  bus(intake: Intake, metrics: Metrics): Promise<Bus>;
  port(): number;
  end(): Promise<void>;
}

function outside(): Place {
  let broker: Mosquitto;
  return {
    async prepare() {
      broker = new Mosquitto(await freePort());
      await broker.start();
    },
    async bus(intake, metrics) {
      const clock = new SystemClock(wallClock);
      const bus = connectBroker({ url: broker.url }, { collector: 'c1', intake, clock, metrics });
      await until(() => bus.status().connected);
      return bus;
    },
    port: () => broker.port,
    end: () => broker.end(),
  };
}

function builtIn(): Place {
  let port: number;
  return {
    async prepare() {
      port = await freePort();
    },
    bus(intake, metrics) {
      const clock = new SystemClock(wallClock);
      return startBuiltInBroker({ collector: 'c1', intake, clock, metrics, port });
    },
    port: () => port,
    end: () => Promise.resolve(),
  };
}

const places: [string, () => Place][] = [
  ['Mosquitto', outside],
  ['the built-in broker', builtIn],
];

describe.each(places)('intake over %s', (_name, make) => {
  const place = make();
  let folder: string;
  let journal: Journal;
  let reader: JournalReader;
  let metrics: Metrics;
  let bus: Bus;
  let intake: Intake;
  let publisher: MqttClient;
  let failures: number;

  beforeAll(() => place.prepare());
  afterAll(() => place.end());

  beforeEach(async () => {
    folder = mkdtempSync(join(tmpdir(), 'bus-'));
    journal = openJournal(join(folder, 'journal.db'));
    reader = openJournalReader(join(folder, 'journal.db'));
    metrics = new Metrics();
    failures = 0;
    const failing: Pick<Journal, 'appendAll'> = {
      appendAll: (batches) => {
        if (failures > 0) {
          failures -= 1;
          throw new JournalError('SQLITE_FULL', 'the disk is full', true);
        }
        return journal.appendAll(batches);
      },
    };
    const clock = new SystemClock(wallClock);
    intake = new Intake({ plant: smallPlant(), journal: failing, clock, metrics });
    bus = await place.bus(intake, metrics);
    publisher = await mqtt.connectAsync(`mqtt://127.0.0.1:${place.port()}`);
  });

  afterEach(async () => {
    await publisher.endAsync(true);
    await bus.close();
    reader.close();
    journal.close();
    rmSync(folder, { recursive: true });
  });

  const say = (topic: string, payload: string | Buffer) =>
    publisher.publishAsync(topic, payload, { qos: 1 });
  const stored = (point = 'p1-ul') => reader.readings(point, 0, 5e12).readings;

  it('stores a reading, once, however often it is sent', async () => {
    const t = Date.now();
    await say('plant/press-1/p1-ul', `{"t":${t},"v":135.2,"seq":41}`);
    await say('plant/press-1/p1-ul', `{"t":${t},"v":135.2,"seq":41}`);
    await say('plant/press-1/p1-ul', `{"t":${t + 1},"v":135.3}`);
    await until(() => stored().length === 2);
    expect(stored()[0]).toMatchObject({ t, v: 135.2, deviceSeq: 41, quality: 'good' });
  });

  it('sets aside what it cannot store, with its reason, and goes on', async () => {
    const t = Date.now();
    await say('plant/press-1/p1-ul', `{"t":${t},"v":"warm"}`);
    await say('plant/press-1/p9', `{"t":${t},"v":1}`);
    await say('plant/press-9/event', '{}');
    await say('plant/press-1/p1-ul', `{"t":${t},"v":1`);
    await say('plant/press-1/p1-ul', `{"t":${t},"v":99}`);
    await until(() => stored().length === 1);
    const codes = reader.rejects(10).map((reject) => reject.code);
    expect(codes.sort()).toEqual(['not-a-number', 'not-json', 'unknown-station', 'unknown-topic']);
  });

  it('acknowledges nothing that the disk has refused, and stores it when it is sent again', async () => {
    failures = 1;
    const t = Date.now();
    publisher.publish('plant/press-1/p1-ul', `{"t":${t},"v":7}`, { qos: 1 });
    await until(() => stored().length === 1);
    await until(() => bus.status().connected && bus.status().faults.length === 0);
    const failed = await metrics.registry.getSingleMetricAsString('setwell_failed_commits_total');
    expect(failed).toMatch(/setwell_failed_commits_total 1/);
  });

  it('knows who publishes at QoS 0, where messages can be lost', async () => {
    const t = Date.now();
    await say('plant/press-1/p1-ul', `{"t":${t},"v":7}`);
    await publisher.publishAsync('plant/press-1/p1-ll', `{"t":${t},"v":7}`, { qos: 0 });
    await until(() => stored('p1-ll').length === 1);
    const { points } = intake.traffic;
    expect(points.get('p1-ul')?.atMostOnce).toBe(0);
    expect(points.get('p1-ll')?.atMostOnce).toBe(1);
  });

  it('lets nobody act in its name', async () => {
    const t = Date.now();
    const event = `{"t":${t},"event":"load-start","load":"P1-1","act":"3f1c"}`;
    for (const topic of ['setwell-act/press-1/event', 'plant/press-1/event']) {
      publisher.publish(topic, event, { qos: 1 });
    }
    await until(() => reader.head() > 0);
    const events = reader.batchesAfter(0, 10).flatMap((batch) => batch.events);
    expect(events.map(({ event: one }) => one.act)).toEqual([null]);
  });

  it('says who is online, and keeps what it says for those who come later', async () => {
    bus.publish('setwell/press-1/advice', '{"say":"none"}', { retain: true, qos: 0 });
    const heard = new Map<string, string>();
    publisher.on('message', (topic, payload) => heard.set(topic, payload.toString()));
    await publisher.subscribeAsync('setwell/+/status', { qos: 1 });
    await publisher.subscribeAsync('setwell/press-1/advice');
    await until(() => heard.size === 2);
    expect(Object.fromEntries(heard)).toEqual({
      'setwell/c1/status': 'online',
      'setwell/press-1/advice': '{"say":"none"}',
    });
  });

  it('outlives a payload of 10 MB', async () => {
    publisher.on('error', () => {});
    publisher.publish('plant/press-1/p1-ul', Buffer.alloc(10 * 1024 * 1024, '7'), { qos: 0 });
    await until(() => reader.rejects(1)[0]?.code === 'oversize');
    await until(() => publisher.connected);
    const t = Date.now();
    await say('plant/press-1/p1-ul', `{"t":${t},"v":99}`);
    await until(() => stored().length === 1);
  });
});

describe('the built-in broker', () => {
  it('keeps nothing that grows with time: no message for one who is away, none under any name', async () => {
    const place = builtIn();
    await place.prepare();
    const folder = mkdtempSync(join(tmpdir(), 'built-in-'));
    const journal = openJournal(join(folder, 'journal.db'));
    const clock = new SystemClock(wallClock);
    const bus = await place.bus(new Intake({ plant: smallPlant(), journal, clock }), new Metrics());
    onTestFinished(async () => {
      await bus.close();
      journal.close();
      rmSync(folder, { recursive: true });
    });
    const url = `mqtt://127.0.0.1:${place.port()}`;
    const display = { clientId: 'display', clean: false, resubscribe: false };
    const before = await mqtt.connectAsync(url, display);
    await before.subscribeAsync('#', { qos: 1 });
    await before.endAsync();
    const publisher = await mqtt.connectAsync(url);
    const value = `{"t":${Date.now()},"v":20}`;
    for (const topic of ['plant/nowhere', 'anything', 'plant/press-1/p1-ul']) {
      await publisher.publishAsync(topic, value, { qos: 1, retain: true });
    }
    const heard: string[] = [];
    const after = await mqtt.connectAsync(url, display);
    after.on('message', (topic, _payload, { retain }) => heard.push(`${topic} ${retain}`));
    await after.subscribeAsync('#', { qos: 1 });
    await publisher.publishAsync('anything', 'last', { qos: 1 });
    await until(() => heard.includes('anything false'));
    expect(heard.filter((each) => !each.startsWith('setwell/'))).toEqual([
      'plant/press-1/p1-ul true',
      'anything false',
    ]);
    await Promise.all([after.endAsync(), publisher.endAsync()]);
  });
});

describe('acknowledging', () => {
  it('is checked with the installed version of the client, and no other', () => {
    const { version } = createRequire(import.meta.url)('mqtt/package.json') as { version: string };
    expect(version).toBe('5.16.0');
  });
});
