import { setMaxListeners } from 'node:events';
import { get } from 'node:http';
import { loadavg } from 'node:os';
import { launch } from '../browser/harness.ts';
import { underLimit, type BenchRow } from './bench-row.ts';
import { LargePlant, pointOf, racks } from './large-plant.ts';
import { readingsToScreen, watchFloor } from './plant.ts';
import { childrenOf, residentMbOf } from './processor-time.ts';

/** Walls and desks with the Floor, some with the values of all points, some with one of them. */
const [floors, allPoints, onePoint] = [38, 6, 5];
/** The one that is looked at is a browser itself. */
const screens = floors + allPoints + onePoint + 1;
const mostMs = 500;
const mostPagesMb = 200;

/**
 * Fifty screens on one box at 5,000 readings a second: how soon a reading is on the one of them that is a
 * browser, how soon what the judge says is with each, and what that takes of memory.
 */
export async function watchersBench(): Promise<BenchRow[]> {
  const plant = await LargePlant.start();
  const browser = await launch();
  const stop = new AbortController();
  setMaxListeners(0, stop.signal);
  try {
    await plant.openLoads();
    const floor = await watchFloor(browser, plant.url);
    await floor.locator(`li[data-station="rack-${racks - 1}"] .cure-bar`).waitFor();
    await floor.close();
    const [pages] = childrenOf(plant.pid);
    if (pages === undefined) throw new Error('no dashboard beside the collector');
    const delaysMs: number[] = [];
    const followed = watched(plant.url, stop.signal, (delayMs) => delaysMs.push(delayMs));
    const residentMb: number[] = [];
    const looking = setInterval(() => residentMb.push(residentMbOf(pages)), 1000);
    const toScreenMs = await readingsToScreen(browser, plant);
    clearInterval(looking);
    stop.abort();
    const ended = (await followed).filter((left) => left > 0).length;
    const at = `${screens} screens, 5000 readings/s, load average ${loadavg()[0]!.toFixed(0)}`;
    return [
      underLimit(`reading to screen, p99 of ${toScreenMs.length}, ${at}`, mostMs, 'ms', [
        p99(toScreenMs),
      ]),
      underLimit(
        `frame to screen, p99 of ${delaysMs.length}, ${ended} dropped, ${at}`,
        mostMs,
        'ms',
        [p99(delaysMs)],
      ),
      underLimit(
        `resident memory of the dashboard, peak of ${residentMb.length} s, ${at}`,
        mostPagesMb,
        'MB',
        [Math.max(...residentMb)],
      ),
    ];
  } finally {
    stop.abort();
    await browser.close();
    await plant.end();
  }
}

/** Streams as pages hold them. @returns once all have ended, how often each was dropped */
function watched(
  url: string,
  signal: AbortSignal,
  heard: (delayMs: number) => void,
): Promise<number[]> {
  const readings = [
    ...Array.from({ length: allPoints }, () => '/api/v1/readings/stream'),
    ...Array.from({ length: onePoint }, (_, n) => `/api/v1/readings/stream?point=${pointOf(n)}`),
  ];
  const live = Array.from({ length: screens - 1 }, () =>
    follow(`${url}/api/v1/stream`, signal, heard),
  );
  const values = readings.map((path) => follow(`${url}${path}`, signal, () => undefined));
  return Promise.all([...live, ...values]);
}

/** Reads on as a browser does, and comes back as it does. @returns how often it was let go */
async function follow(
  address: string,
  signal: AbortSignal,
  heard: (delayMs: number) => void,
): Promise<number> {
  let dropped = -1;
  while (!signal.aborted) {
    dropped += 1;
    await readOn(address, signal, heard);
  }
  return dropped;
}

/** Bytes alone are looked at: other machines' browsers would take them apart. */
function readOn(
  address: string,
  signal: AbortSignal,
  heard: (delayMs: number) => void,
): Promise<void> {
  return new Promise((resolve) => {
    const call = get(address, { signal }, (answer) => {
      let toldMs: number | null = null;
      answer.on('data', (bytes: Buffer) => {
        const at = bytes.indexOf(toldFrame);
        const text = at < 0 ? '' : bytes.toString('latin1', at + toldFrame.length, at + 60);
        if (at >= 0) toldMs = parseFloat(text);
        if (toldMs === null || bytes.at(-1) !== lineFeed) return;
        heard(Date.now() - toldMs);
        toldMs = null;
      });
      answer.on('close', resolve);
      answer.on('error', () => undefined);
    });
    call.on('error', () => resolve());
  });
}

const toldFrame = 'data: {"whole":false,"nowMs":';
const lineFeed = 10;

function p99(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.ceil(0.99 * sorted.length) - 1] ?? NaN;
}
