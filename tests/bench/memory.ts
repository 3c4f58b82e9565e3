import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import mqtt from 'mqtt';
import { freePort } from '../fixtures/mosquitto.ts';
import { type BenchRow, median } from './bench-row.ts';

const points = 500;
/** Long enough for the heaps to settle; growth over hours is the soak's question. */
const seconds = 90;
const settledAfterS = 30;
const limitMb = 300;
const main = fileURLToPath(new URL('../../collector/dist/cli/main.js', import.meta.url));

/** Resident memory of collector, built-in broker and dashboard while 500 points speak once a second. */
export async function memoryBench(): Promise<BenchRow[]> {
  const folder = mkdtempSync(join(tmpdir(), 'bench-memory-'));
  const [pagePort, brokerPort] = [await freePort(), await freePort()];
  const plantFile = join(folder, 'plant.yaml');
  writeFileSync(plantFile, plantOf(points, brokerPort));
  const asked = ['start', '--plant', plantFile, '--data', join(folder, 'data')];
  const setwell = spawn(process.execPath, [main, ...asked, '--port', String(pagePort)], {
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  try {
    await Promise.race([once(setwell.stdout, 'data'), once(setwell, 'exit')]);
    if (setwell.exitCode !== null || setwell.pid === undefined) {
      throw new Error('setwell start has ended; build first: npm run build');
    }
    return [rowOf(await speak(brokerPort, setwell.pid))];
  } finally {
    if (setwell.exitCode === null) {
      setwell.kill('SIGTERM');
      await once(setwell, 'exit');
    }
    rmSync(folder, { recursive: true });
  }
}

/** Publishes once a second and looks at the processes; resident memory after each settled second [MB]. */
async function speak(brokerPort: number, pid: number): Promise<number[]> {
  const client = await mqtt.connectAsync(`mqtt://127.0.0.1:${brokerPort}`);
  const residentMb: number[] = [];
  for (let second = 0; second < seconds; second++) {
    const begunMs = performance.now();
    const t = Date.now();
    const sent = Array.from({ length: points }, (_, n) => {
      const v = 20 + (n % 7) + Math.sin(second / 10);
      return client.publishAsync(topicOf(n), JSON.stringify({ t, v }), { qos: 1 });
    });
    await Promise.all(sent);
    if (second >= settledAfterS) residentMb.push(residentMbOf(pid));
    const restMs = Math.max(0, 1000 - (performance.now() - begunMs));
    await new Promise((resolve) => setTimeout(resolve, restMs));
  }
  await client.endAsync();
  if (childrenOf(pid).length === 0) throw new Error('no dashboard beside the collector');
  return residentMb;
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

function childrenOf(pid: number): number[] {
  const children = readFileSync(`/proc/${pid}/task/${pid}/children`, 'utf8').trim();
  return children === '' ? [] : children.split(' ').map(Number);
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
