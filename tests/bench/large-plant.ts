import { spawn, type ChildProcess } from 'node:child_process';
import { once } from 'node:events';
import { copyFileSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import mqtt from 'mqtt';
import { freePort } from '../fixtures/free-port.ts';
import { Mosquitto } from '../fixtures/mosquitto.ts';

export const racks = 200;
export const baysEach = 25;
const recipe = 'frame-pvac';
const project = fileURLToPath(new URL('../../', import.meta.url));

/** The n-th point of the plant. */
export function pointOf(n: number): string {
  return `t-${rackOf(n)}-${n % baysEach}`;
}

function rackOf(n: number): number {
  return Math.floor(n / baysEach) % racks;
}

interface Parts {
  url: string;
  folder: string;
  broker: Mosquitto;
  setwell: ChildProcess;
  controllers: mqtt.MqttClient;
}

/** The shipped program behind a real Mosquitto, with 5,000 points on 200 racks. */
export class LargePlant {
  readonly url: string;
  readonly #folder: string;
  readonly #broker: Mosquitto;
  readonly #setwell: ChildProcess;
  readonly #controllers: mqtt.MqttClient;

  private constructor({ url, folder, broker, setwell, controllers }: Parts) {
    this.url = url;
    this.#folder = folder;
    this.#broker = broker;
    this.#setwell = setwell;
    this.#controllers = controllers;
  }

  /** @throws Error where nothing has been built */
  static async start(): Promise<LargePlant> {
    const folder = mkdtempSync(join(tmpdir(), 'bench-plant-'));
    // The window of the shipped configuration.
    const broker = new Mosquitto(await freePort(), ['max_inflight_messages 8000']);
    await broker.start();
    const pagePort = await freePort();
    const setwell = startOn(folder, broker.url, pagePort);
    await Promise.race([once(setwell.stdout!, 'data'), once(setwell, 'exit')]);
    if (setwell.exitCode !== null) throw new Error('setwell start has ended; build first');
    const controllers = await mqtt.connectAsync(broker.url);
    const url = `http://127.0.0.1:${pagePort}`;
    return new LargePlant({ url, folder, broker, setwell, controllers });
  }

  get pid(): number {
    return this.#setwell.pid ?? 0;
  }

  async openLoads(): Promise<void> {
    for (let rack = 0; rack < racks; rack += 1) {
      const load = { load: `R${rack}-00001`, lot: `S-${rack}`, recipe, zones: ['bay-0'] };
      const event = JSON.stringify({ t: Date.now(), event: 'load-start', ...load });
      await this.#controllers.publishAsync(`plant/rack-${rack}/event`, event, { qos: 1 });
    }
  }

  async say(n: number, rows: { t: number; v: number }[]): Promise<void> {
    const topic = `plant/rack-${rackOf(n)}/${pointOf(n)}`;
    await this.#controllers.publishAsync(topic, JSON.stringify(rows), { qos: 1 });
  }

  /** Readings stored since the start, and how far the judge is behind them. */
  async figures(): Promise<{ stored: number; behindS: number }> {
    const text = await this.#metrics();
    const figure = (name: string) =>
      Number(new RegExp(`^${name} ([0-9.]+)`, 'm').exec(text)?.[1] ?? Number.NaN);
    const [stored, behindS] = ['setwell_readings_total', 'setwell_judge_behind_seconds'].map(
      figure,
    );
    return { stored: stored!, behindS: behindS! };
  }

  async #metrics(): Promise<string> {
    const dataDir = join(this.#folder, 'data');
    const { url } = JSON.parse(readFileSync(join(dataDir, 'collector.json'), 'utf8')) as {
      url: string;
    };
    const token = readFileSync(join(dataDir, 'token'), 'utf8').trim();
    // A kept connection may have been let go just when it is used again.
    const headers = { authorization: `Bearer ${token}`, connection: 'close' };
    return (await fetch(`${url}/metrics`, { headers })).text();
  }

  async end(): Promise<void> {
    await this.#controllers.endAsync(true);
    if (this.#setwell.exitCode === null) {
      this.#setwell.kill('SIGTERM');
      await once(this.#setwell, 'exit');
    }
    await this.#broker.end();
    rmSync(this.#folder, { recursive: true });
  }
}

function startOn(folder: string, brokerUrl: string, pagePort: number): ChildProcess {
  const ids = Array.from({ length: racks }, (_, rack) => `rack-${rack}`);
  const pointsOf = (rack: number) =>
    Array.from({ length: baysEach }, (_, bay) => pointOf(rack * baysEach + bay));
  const plant = {
    site: { id: 'bench-works', timeZone: 'UTC', reading: 'open' },
    broker: { url: brokerUrl },
    stations: ids.map((id, rack) => ({
      ...{ id, kind: 'rack', maxHeatingKPerMin: 2, maxCoolingKPerMin: 2 },
      ...{ supplyMaxC: 60, surroundingsMinC: 0 },
      zones: pointsOf(rack).map((air, bay) => ({ id: `bay-${bay}`, air })),
    })),
    sensors: ids.flatMap((_, rack) =>
      pointsOf(rack).map((id) => ({
        ...{ id, signal: 'celsius', everyS: 1, resolutionK: 0.1 },
        plausible: { minC: -20, maxC: 80, maxRateKPerMin: 60 },
      })),
    ),
  };
  const file = join(folder, 'plant.yaml');
  writeFileSync(file, JSON.stringify(plant));
  mkdirSync(join(folder, 'recipes'));
  const own = `recipes/${recipe}.yaml`;
  copyFileSync(join(project, 'deploy/demo', own), join(folder, own));
  const program = join(project, 'collector/dist/cli/main.js');
  const args = ['start', '--plant', file, '--data', join(folder, 'data'), '--port', `${pagePort}`];
  return spawn(process.execPath, [program, ...args], { stdio: ['ignore', 'pipe', 'inherit'] });
}
