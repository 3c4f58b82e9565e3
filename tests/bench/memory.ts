import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import mqtt from 'mqtt';
import { freePort } from '../fixtures/free-port.ts';
import { type BenchRow, median } from './bench-row.ts';
import { childrenOf, residentMbOf } from './processor-time.ts';
import { Shipped } from './shipped.ts';

const points = 500;
/** Long enough for the heaps to settle; growth over hours is the soak's question. */
const seconds = 90;
const settledAfterS = 30;
export const limitMb = 300;
const liveBytes = new URL('live-bytes.mjs', import.meta.url).href;

/** Resident memory of collector, built-in broker and dashboard while 500 points speak once a second. */
export async function memoryBench(): Promise<BenchRow[]> {
  const plant = await SpeakingPlant.start();
  try {
    const residentMb = await plant.speak(seconds);
    return [rowOf(residentMb.slice(settledAfterS))];
  } finally {
    await plant.end();
  }
}

/** The shipped program with its built-in broker, and 500 points that speak to it. */
export class SpeakingPlant {
  readonly #folder: string;
  readonly #setwell: Shipped;
  readonly #points: mqtt.MqttClient;
  #second = 0;

  private constructor(folder: string, setwell: Shipped, client: mqtt.MqttClient) {
    this.#folder = folder;
    this.#setwell = setwell;
    this.#points = client;
  }

  /** @param heldFile where each heap says once a minute what it holds (`held`); none: nobody asks */
  static async start(heldFile?: string): Promise<SpeakingPlant> {
    const folder = mkdtempSync(join(tmpdir(), 'bench-memory-'));
    const [pagePort, brokerPort] = [await freePort(), await freePort()];
    const plantFile = join(folder, 'plant.yaml');
    writeFileSync(plantFile, plantOf(points, brokerPort));
    const setwell = await Shipped.start(
      ['--plant', plantFile, '--data', join(folder, 'data'), '--port', String(pagePort)],
      heldFile === undefined ? {} : telling(heldFile),
    );
    const client = await mqtt.connectAsync(`mqtt://127.0.0.1:${brokerPort}`);
    return new SpeakingPlant(folder, setwell, client);
  }

  /** Each point once a second; resident memory of all processes after each [MB]. */
  async speak(forS: number): Promise<number[]> {
    const { pid } = this.#setwell;
    const residentMb: number[] = [];
    while (residentMb.length < forS) {
      const begunMs = performance.now();
      const t = Date.now();
      this.#second += 1;
      const sent = Array.from({ length: points }, (_, n) => {
        const v = 20 + (n % 7) + Math.sin(this.#second / 10);
        return this.#points.publishAsync(topicOf(n), JSON.stringify({ t, v }), { qos: 1 });
      });
      await Promise.all(sent);
      residentMb.push(residentMbOf(pid));
      const restMs = Math.max(0, 1000 - (performance.now() - begunMs));
      await new Promise((resolve) => setTimeout(resolve, restMs));
    }
    if (childrenOf(pid).length === 0) throw new Error('no dashboard beside the collector');
    return residentMb;
  }

  async end(): Promise<void> {
    await this.#points.endAsync(true);
    await this.#setwell.end();
    rmSync(this.#folder, { recursive: true });
  }
}

/** What the shipped program runs with where its heaps are asked what they hold. */
function telling(file: string): NodeJS.ProcessEnv {
  return { NODE_OPTIONS: `--import ${liveBytes}`, LIVE_BYTES_FILE: file };
}

function rowOf(residentMb: number[]): BenchRow {
  const peak = Math.max(...residentMb).toFixed(0);
  return {
    name: `resident memory of collector and dashboard, ${points} points at 1 Hz, peak ${peak} MB`,
    baseline: `limit of ${limitMb} MB at rest`,
    ratio: limitMb / median(residentMb),
    aim: 1,
    value: median(residentMb),
    unit: 'MB',
    runs: residentMb.filter((_, index) => index % 10 === 0),
  };
}

function topicOf(n: number): string {
  return `plant/${stationOf(n)}/t-${n}`;
}

function stationOf(n: number): string {
  return `rack-${Math.floor(n / 50)}`;
}

/** Racks of 50 bays each, on the built-in broker. */
function plantOf(count: number, port: number): string {
  const numbers = Array.from({ length: count }, (_, n) => n);
  const stations = [...new Set(numbers.map(stationOf))].map((id) => ({
    id,
    kind: 'rack',
    maxHeatingKPerMin: 2,
    maxCoolingKPerMin: 2,
    supplyMaxC: 60,
    surroundingsMinC: 0,
    zones: numbers
      .filter((n) => stationOf(n) === id)
      .map((n) => ({ id: `bay-${n}`, air: `t-${n}` })),
  }));
  const plausible = { minC: -20, maxC: 80, maxRateKPerMin: 60 };
  return JSON.stringify({
    site: { id: 'bench-works', timeZone: 'UTC' },
    broker: { builtIn: true, port },
    stations,
    sensors: numbers.map((n) => ({ id: `t-${n}`, signal: 'celsius', everyS: 1, plausible })),
  });
}
