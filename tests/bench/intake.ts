import { execFile } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { promisify } from 'node:util';
import mqtt from 'mqtt';
import { freePort } from '../fixtures/free-port.ts';
import { Mosquitto } from '../fixtures/mosquitto.ts';
import { median, type BenchRow } from './bench-row.ts';

const messages = 160_000;
/** A client has 65,535 numbers for what is on its way. */
const publishedAtOnce = 40_000;
const rounds = 7;
const consumer = fileURLToPath(new URL('intake-consumer.ts', import.meta.url));

interface Drained {
  perS: number;
  /** Of a message, by the processor's own clock [µs]. */
  processorUs: number;
}

/**
 * Durable intake against the client library that stores nothing: the same queue of QoS 1 messages
 * from the same Mosquitto, one after the other, each in a process of its own.
 */
export async function intakeBench(): Promise<BenchRow[]> {
  // The window of the shipped configuration; the default of 20 makes every commit a small one.
  const broker = new Mosquitto(await freePort(), ['max_inflight_messages 8000']);
  await broker.start();
  const folder = mkdtempSync(join(tmpdir(), 'bench-'));
  const firstMs = Date.now() - 3_600_000;
  const drained = { bare: [] as Drained[], durable: [] as Drained[] };
  try {
    for (const kind of ['bare', 'durable'] as const) await consume(kind, broker, 0, folder);
    for (let round = 0; round < rounds; round++) {
      await publish(broker.url, firstMs, round);
      // In turn, so that neither always has the warmer machine.
      const order = (round % 2 === 0 ? ['bare', 'durable'] : ['durable', 'bare']) as (
        'bare' | 'durable'
      )[];
      for (const kind of order) {
        drained[kind].push(await consume(kind, broker, messages, folder));
      }
    }
  } finally {
    await broker.end();
    rmSync(folder, { recursive: true });
  }
  const { bare, durable } = drained;
  // Round by round, for a busy machine slows both of a round alike.
  return [
    {
      name: 'readings stored and acknowledged at QoS 1 over Mosquitto, 500 points',
      baseline: 'the bare client library, which stores nothing',
      ratio: median(durable.map(({ perS }, round) => perS / bare[round]!.perS)),
      aim: 0.9,
      value: median(durable.map(({ perS }) => perS)),
      unit: 'readings/s',
      runs: durable.map(({ perS }) => perS),
    },
    {
      name: 'processor of a reading stored and acknowledged at QoS 1 over Mosquitto, 500 points',
      baseline: 'the bare client library, which stores nothing',
      ratio: median(
        durable.map(({ processorUs }, round) => bare[round]!.processorUs / processorUs),
      ),
      aim: 0.8,
      value: median(durable.map(({ processorUs }) => processorUs)),
      unit: 'µs',
      runs: durable.map(({ processorUs }) => processorUs),
    },
  ];
}

async function publish(url: string, firstMs: number, round: number): Promise<void> {
  const publisher = await mqtt.connectAsync(url);
  // Each round goes on where the last one ended, as a plant does.
  const startMs = firstMs + round * (messages / 500) * 1000;
  for (let from = 0; from < messages; from += publishedAtOnce) {
    const sent = Array.from({ length: publishedAtOnce }, (_, i) => {
      const n = from + i;
      const payload = `{"t":${startMs + Math.floor(n / 500) * 1000},"v":${100 + (n % 400) / 10}}`;
      return publisher.publishAsync(`plant/press-1/m-${n % 500}`, payload, { qos: 1 });
    });
    await Promise.all(sent);
  }
  await publisher.endAsync();
}

async function consume(
  kind: 'bare' | 'durable',
  broker: Mosquitto,
  count: number,
  folder: string,
): Promise<Drained> {
  // The collector as it is shipped: sources compiled on the way would slow one of the two alone.
  const program = ['--import', 'tsx', consumer];
  const args = [kind, String(broker.port), String(count), join(folder, 'journal.db')];
  const { stdout } = await promisify(execFile)(process.execPath, [...program, ...args]);
  return stdout === '' ? { perS: 0, processorUs: 0 } : (JSON.parse(stdout) as Drained);
}
