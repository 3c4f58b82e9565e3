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

const messages = 60_000;
const rounds = 7;
const consumer = fileURLToPath(new URL('intake-consumer.ts', import.meta.url));

interface Drained {
  perS: number;
  rssMb: number;
}

/**
 * Durable intake against the client library that stores nothing: the same queue of QoS 1 messages
 * from the same Mosquitto, one after the other, each in a process of its own.
 */
export async function intakeBench(): Promise<BenchRow[]> {
  // The window of the shipped configuration; the default of 20 makes every commit a small one.
  const broker = new Mosquitto(await freePort(), ['max_inflight_messages 1000']);
  await broker.start();
  const folder = mkdtempSync(join(tmpdir(), 'bench-'));
  const firstMs = Date.now() - 3_600_000;
  const perS = { bare: [] as number[], durable: [] as number[] };
  try {
    for (const kind of ['bare', 'durable'] as const) await consume(kind, broker, 0, folder);
    for (let round = 0; round < rounds; round++) {
      await publish(broker.url, firstMs, round);
      // In turn, so that neither always has the warmer machine.
      const order = (round % 2 === 0 ? ['bare', 'durable'] : ['durable', 'bare']) as (
        'bare' | 'durable'
      )[];
      for (const kind of order) {
        perS[kind].push((await consume(kind, broker, messages, folder)).perS);
      }
    }
  } finally {
    await broker.end();
    rmSync(folder, { recursive: true });
  }
  // Round by round, for a busy machine slows both of a round alike.
  const ratios = perS.durable.map((durable, round) => durable / perS.bare[round]!);
  return [
    {
      name: 'readings stored and acknowledged at QoS 1 over Mosquitto, 500 points',
      baseline: 'the bare client library, which stores nothing',
      ratio: median(ratios),
      aim: 0.9,
      value: median(perS.durable),
      unit: 'readings/s',
      runs: perS.durable,
    },
  ];
}

async function publish(url: string, firstMs: number, round: number): Promise<void> {
  const publisher = await mqtt.connectAsync(url);
  // Each round goes on where the last one ended, as a plant does.
  const startMs = firstMs + round * (messages / 500) * 1000;
  let left = messages;
  await new Promise<void>((resolve, reject) => {
    for (let i = 0; i < messages; i++) {
      const payload = `{"t":${startMs + Math.floor(i / 500) * 1000},"v":${100 + (i % 400) / 10}}`;
      publisher.publish(`plant/press-1/m-${i % 500}`, payload, { qos: 1 }, (error) => {
        if (error) reject(error);
        else if (--left === 0) resolve();
      });
    }
  });
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
  return stdout === '' ? { perS: 0, rssMb: 0 } : (JSON.parse(stdout) as Drained);
}
