import { spawn, type ChildProcess } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import mqtt from 'mqtt';
import { freePort } from '../fixtures/free-port.ts';
import { type BenchRow, median } from './bench-row.ts';
import { childrenOf } from './processor-time.ts';

const points = 500;
/** Long enough for the heaps to settle; growth over hours is the soak's question. */
const seconds = 90;
const settledAfterS = 30;
const limitMb = 300;
const main = fileURLToPath(new URL('../../collector/dist/cli/main.js', import.meta.url));

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
  readonly #setwell: ChildProcess;
  readonly #points: mqtt.MqttClient;
  #second = 0;

  private constructor(folder: string, setwell: ChildProcess, client: mqtt.MqttClient) {
    this.#folder = folder;
    this.#setwell = setwell;
    this.#points = client;
  }

  static async start(): Promise<SpeakingPlant> {
    const folder = mkdtempSync(join(tmpdir(), 'bench-memory-'));
    const [pagePort, brokerPort] = [await freePort(), await freePort()];
    const plantFile = join(folder, 'plant.yaml');
    writeFileSync(plantFile, plantOf(points, brokerPort));
    const asked = ['start', '--plant', plantFile, '--data', join(folder, 'data')];
    const setwell = spawn(process.execPath, [main, ...asked, '--port', String(pagePort)], {
      stdio: ['ignore', 'pipe', 'inherit'],
    });
    await Promise.race([once(setwell.stdout, 'data'), once(setwell, 'exit')]);
    if (setwell.exitCode !== null) {
      throw new Error('setwell start has ended; build first: npm run build');
    }
    const client = await mqtt.connectAsync(`mqtt://127.0.0.1:${brokerPort}`);
    return new SpeakingPlant(folder, setwell, client);
  }

  /** Each point once a second; resident memory of all processes after each [MB]. */
  async speak(forS: number): Promise<number[]> {
    const pid = this.#setwell.pid ?? 0;
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
    if (this.#setwell.exitCode === null) {
      this.#setwell.kill('SIGTERM');
      await once(this.#setwell, 'exit');
    }
    rmSync(this.#folder, { recursive: true });
  }
}

function rowOf(residentMb: number[]): BenchRow {
  return {
    name: `resident memory of collector and dashboard, ${points} points at 1 Hz`,
    baseline: `limit of ${limitMb} MB`,
    // The greatest counts against the limit, the median is what is told.
    ratio: limitMb / Math.max(...residentMb),
    aim: 1,
    value: median(residentMb),
    unit: 'MB',
    runs: residentMb.filter((_, index) => index % 10 === 0),
  };
}

/** A process with everything it has started [MB]. */
function residentMbOf(pid: number): number {
  const status = readFileSync(`/proc/${pid}/status`, 'utf8');
  const ownKb = Number(/VmRSS:\s+(\d+)/.exec(status)?.[1] ?? 0);
  return childrenOf(pid).reduce((sum, child) => sum + residentMbOf(child), ownKb / 1024);
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
