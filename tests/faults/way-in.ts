import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import mqtt from 'mqtt';
import { expect, onTestFinished } from 'vitest';
import { connectBroker, type BrokerAddress } from '@setwell/collector/intake/broker-client';
import { Intake } from '@setwell/collector/intake/intake';
import { FreeSpace, usedShare } from '@setwell/collector/journal/free-space';
import { openJournal, openJournalReader, type Journal } from '@setwell/collector/journal/journal';
import type { JournalReader } from '@setwell/collector/journal/shape';
import { SystemClock } from '@setwell/collector/system-clock';
import { wallClock } from '@setwell/shared-models/api/clock';
import { freePort } from '../fixtures/free-port.ts';
import { Mosquitto } from '../fixtures/mosquitto.ts';
import { smallPlant } from '../fixtures/small-plant.ts';
import { until } from '../fixtures/until.ts';

/** The way of a message into a journal, with real parts, for one fault after the other. */

export const clock = new SystemClock(wallClock);
const startMs = Date.now() - 60_000;

/** What became of the messages of each fault: printed at the end, for whoever wants to see counts. */
export class FaultCounts {
  readonly table: Record<string, { acknowledged: number; stored: number; lost: number }> = {};

  note(fault: string, acknowledged: number, kept: number): void {
    this.table[fault] = { acknowledged, stored: kept, lost: acknowledged - kept };
    expect(acknowledged - kept).toBe(0);
  }
}

/** A folder of the test's own, removed when all that is registered later has ended. */
export function ownFolder(): string {
  const folder = mkdtempSync(join(tmpdir(), 'fault-'));
  onTestFinished(() => rmSync(folder, { recursive: true, force: true }));
  return folder;
}

export interface Collecting {
  journal: Journal;
  reader: JournalReader;
  intake: Intake;
  bus: ReturnType<typeof connectBroker>;
  /** How often the broker had forgotten us. */
  lostSessions(): number;
}

/** @returns when it is connected */
export async function collecting(
  address: BrokerAddress,
  path: string,
  used = usedShare,
): Promise<Collecting> {
  const journal = openJournal(path, new FreeSpace(path, used));
  const reader = openJournalReader(path);
  const intake = new Intake({ plant: smallPlant(), journal, clock });
  let lost = 0;
  const onSessionLost = () => void (lost += 1);
  const bus = connectBroker(address, { collector: 'c1', intake, clock, onSessionLost });
  onTestFinished(async () => {
    await bus.close();
    reader.close();
    journal.close();
  });
  await until(() => bus.status().connected);
  return { journal, reader, intake, bus, lostSessions: () => lost };
}

export async function broker(lines: string[] = []): Promise<Mosquitto> {
  const mosquitto = new Mosquitto(await freePort(), lines);
  onTestFinished(() => mosquitto.end());
  await mosquitto.start();
  return mosquitto;
}

export async function publisher(
  url: string,
  options: mqtt.IClientOptions = {},
): Promise<mqtt.MqttClient> {
  const client = await mqtt.connectAsync(url, options);
  client.on('error', () => {});
  onTestFinished(async () => void (await client.endAsync(true)));
  return client;
}

/** Readings with numbers from `from` on. @returns their count, once each is acknowledged to their sender */
export async function publish(
  client: mqtt.MqttClient,
  from: number,
  count: number,
): Promise<number> {
  const sent = Array.from({ length: count }, (_, i) => {
    const payload = { t: startMs + from + i, v: from + i, seq: from + i };
    return client.publishAsync('plant/press-1/p1-ul', JSON.stringify(payload), { qos: 1 });
  });
  await Promise.all(sent);
  return count;
}

export const stored = ({ reader }: Collecting) => reader.readings('p1-ul', 0, 5e12).readings.length;
