import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import mqtt from 'mqtt';
import { afterEach, beforeEach, describe, expect, it, onTestFinished } from 'vitest';
import { openJournalReader } from '@setwell/collector/journal/journal';
import { CollectorProcess } from '../fixtures/collector-process.ts';
import { freePort } from '../fixtures/free-port.ts';
import { Mosquitto } from '../fixtures/mosquitto.ts';
import { until } from '../fixtures/until.ts';
import { straceOptions, unsyncedAcknowledgements, wireSteps } from '../fixtures/wire-trace.ts';

/*
 * Killing cannot tell a synced commit from one that the kernel still holds, for the kernel outlives
 * the process. So the order of system calls is looked at: a sync of the journal between taking a
 * message from the socket and acknowledging it.
 */

const messages = 300;
let folder: string;

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'trace-'));
});

afterEach(() => rmSync(folder, { recursive: true }));

async function traced(bus: 'outside' | 'built-in', how: string) {
  const port = await freePort();
  const broker = bus === 'outside' ? new Mosquitto(port) : null;
  onTestFinished(() => broker?.end());
  await broker?.start();
  const journal = join(folder, 'journal.db');
  const file = join(folder, 'trace');
  const args = [journal, bus, String(port), how];
  const collector = await CollectorProcess.start(args, straceOptions(file));
  onTestFinished(() => collector.end());
  const publisher = await mqtt.connectAsync(`mqtt://127.0.0.1:${port}`);
  const t = Date.now();
  const reader = openJournalReader(journal);
  const stored = () => reader.readings('p1-ul', 0, 5e12).readings.length;
  // Until the collector's subscription stands. Never the same twice: that would need no sync.
  let early = 0;
  await until(async () => {
    early += 1;
    const payload = `{"t":${t + early},"v":${early}}`;
    await publisher.publishAsync('plant/press-1/p1-ll', payload, { qos: 1 });
    return reader.head() > 0;
  });
  for (let i = 0; i < messages; i++) {
    publisher.publish('plant/press-1/p1-ul', `{"t":${t + i},"v":${i}}`, { qos: 1 });
  }
  await until(() => stored() === messages);
  reader.close();
  // What is stored is acknowledged a moment later: the trace ends when the last of them is written.
  const steps = () => wireSteps(readFileSync(file, 'utf8'), port);
  await until(() => steps().filter(({ what }) => what === 'acknowledge').length > messages);
  await publisher.endAsync(true);
  await collector.end();
  return unsyncedAcknowledgements(steps());
}

describe.each(['outside', 'built-in'] as const)('with the broker %s', (bus) => {
  it('syncs the journal before each acknowledgement on the wire', async () => {
    expect(await traced(bus, 'as-built')).toBe(0);
  });

  it.each(['unsynced', 'hasty'])('would be found out if it were %s', async (how) =>
    expect(await traced(bus, how)).toBeGreaterThan(0),
  );
});
