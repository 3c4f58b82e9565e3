import mqtt from 'mqtt';
import { connectBroker } from '@setwell/collector/intake/broker-client';
import { Intake } from '@setwell/collector/intake/intake';
import { openJournal } from '@setwell/collector/journal/journal';
import { SystemClock } from '@setwell/collector/system-clock';
import { wallClock } from '@setwell/shared-models/api/clock';
import { smallPlant } from '../fixtures/small-plant.ts';
import { processorSince } from './processor-time.ts';

/**
 * Takes a queue of messages off a broker and says how long that took:
 * `intake-consumer.ts (bare|durable) PORT MESSAGES [JOURNAL]`. No messages: begins the session.
 *
 * Bare is the client library as it comes, which stores nothing. The first half of the messages is not
 * counted: a collector has been running for months, and its program has long been compiled.
 */
const [kind, port, count, journalPath = ''] = process.argv.slice(2);
const messages = Number(count);
const warming = messages / 2;
const url = `mqtt://127.0.0.1:${port}`;

let seen = 0;
let warm = { seen: 0, atMs: 0, processor: process.cpuUsage() };

function saw(more: number): void {
  seen += more;
  if (warm.seen === 0 && seen >= warming) {
    warm = { seen, atMs: performance.now(), processor: process.cpuUsage() };
  }
  if (seen < messages) return;
  const counted = seen - warm.seen;
  const perS = (counted / (performance.now() - warm.atMs)) * 1000;
  const processorUs = (processorSince(warm.processor) / counted) * 1e6;
  process.stdout.write(`${JSON.stringify({ perS, processorUs })}\n`, () => process.exit());
}

function subscribed(): void {
  if (messages === 0) process.exit();
}

if (kind === 'durable') {
  const clock = new SystemClock(wallClock);
  const journal = openJournal(journalPath);
  const intake = new Intake({ plant: smallPlant(500), journal, clock });
  intake.onCommit((batch) => saw(batch.readings.length));
  const bus = connectBroker({ url }, { collector: 'c1', intake, clock });
  bus.onStatus(({ connected }) => {
    if (connected) subscribed();
  });
} else {
  const client = mqtt.connect(url, { clientId: 'bare', clean: false, protocolVersion: 4 });
  client.on('message', () => saw(1));
  client.subscribe('plant/#', { qos: 1 }, subscribed);
}
