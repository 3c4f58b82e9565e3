import { loadavg } from 'node:os';
import type { Browser, Page } from 'playwright-core';
import { launch } from '../browser/harness.ts';
import { median, type BenchRow } from './bench-row.ts';
import { childrenOf, ticksOf } from './processor-time.ts';
import { baysEach, LargePlant, pointOf, racks } from './large-plant.ts';

const points = racks * baysEach;
/** A gateway sends what it has gathered since. */
const readingsInMessage = 2;
const warmS = 10;
const measuredS = 30;
const drainS = 30;
/** What is asked, and a little more, so that a pause can be made good. */
const [leastPerS, offeredPerS] = [10_000, 10_500];
/** Advice says `late` from here on. */
const mostBehindS = 5;
const [probes, probeEveryMs, whileProbingPerS] = [300, 150, 5000];
/** A page has drawn its first values by then: what is asked is how a reading comes to one that is open. */
const probesBefore = 20;
const mostToScreenMs = 500;

/**
 * A plant of 5,000 points with 200 open loads: the shipped program behind a real Mosquitto, a browser
 * watching. What it stores in a second, how far its judge is behind meanwhile, what that costs the
 * processor, and how soon a reading is on a screen.
 */
export async function plantBench(): Promise<BenchRow[]> {
  const beganMs = performance.now();
  const plant = await LargePlant.start();
  const startedS = (performance.now() - beganMs) / 1000;
  const browser = await launch();
  try {
    await plant.openLoads();
    const floor = await watchFloor(browser, plant.url);
    const stored = await storing(plant);
    await floor.locator(`li[data-station="rack-${racks - 1}"] .cure-bar`).waitFor();
    const toScreenMs = await readingsToScreen(browser, plant);
    return [...rowsOf(stored), startRow(startedS), screenRow(toScreenMs)];
  } finally {
    await browser.close();
    await plant.end();
  }
}

export async function watchFloor(browser: Browser, url: string): Promise<Page> {
  const page = await browser.newPage({ viewport: { width: 1440, height: 900 } });
  await page.goto(url);
  await page.locator('li[data-station="rack-0"]').waitFor();
  return page;
}

/** Speaks at a steady pace, all points in turn but the first, until it is told to stop; readings sent. */
function speak(plant: LargePlant, readingsPerS: number): { stop(): Promise<number> } {
  let isOn = true;
  let sent = 0;
  const beganMs = performance.now();
  const say = async () => {
    while (isOn) {
      const dueMs = beganMs + ((sent * readingsInMessage) / readingsPerS) * 1000;
      const aheadMs = dueMs - performance.now();
      if (aheadMs > 0) {
        await new Promise((resolve) => setTimeout(resolve, aheadMs + 1));
        continue;
      }
      sent += 1;
      const n = 1 + (sent % (points - 1));
      const t = Date.now();
      const rows = Array.from({ length: readingsInMessage }, (_, i) => ({
        t: t - (readingsInMessage - 1 - i) * 200,
        v: 20 + (sent % 9) / 10,
      }));
      await plant.say(n, rows);
    }
  };
  const all = Array.from({ length: 500 }, say);
  return {
    stop: async () => {
      isOn = false;
      await Promise.all(all);
      return sent * readingsInMessage;
    },
  };
}

interface Stored {
  perS: number[];
  behindS: number[];
  cores: number[];
}

/** Looked at once a second. */
async function storing(plant: LargePlant): Promise<Stored> {
  const speaking = speak(plant, offeredPerS);
  const stored: Stored = { perS: [], behindS: [], cores: [] };
  let before = await lookAt(plant);
  const measuredFromMs = before.atMs + warmS * 1000;
  while (before.atMs < measuredFromMs + measuredS * 1000) {
    await new Promise((resolve) => setTimeout(resolve, 1000));
    const now = await lookAt(plant);
    const seconds = (now.atMs - before.atMs) / 1000;
    if (before.atMs >= measuredFromMs) {
      stored.perS.push((now.stored - before.stored) / seconds);
      stored.cores.push((now.processorS - before.processorS) / seconds);
      stored.behindS.push(now.behindS);
    }
    before = now;
  }
  const sent = await speaking.stop();
  // What waits at the broker is stored first: the next thing measured is no backlog.
  for (let left = drainS; left > 0 && before.stored < sent; left -= 1) {
    await new Promise((resolve) => setTimeout(resolve, 1000));
    before = await lookAt(plant);
  }
  return stored;
}

async function lookAt(plant: LargePlant) {
  const figures = await plant.figures();
  return { atMs: performance.now(), processorS: processorS(plant.pid), ...figures };
}

/** What a process and those it has started have taken of the processors [s]. */
function processorS(pid: number): number {
  return childrenOf(pid).reduce((sum, child) => sum + processorS(child), ticksOf(pid).ownS);
}

/** From the sending of a value to the picture that shows it, or a newer one [ms]. */
export async function readingsToScreen(browser: Browser, plant: LargePlant): Promise<number[]> {
  const page = await browser.newPage({ viewport: { width: 1440, height: 900 } });
  await page.goto(`${plant.url}/sensors/${pointOf(0)}`);
  await page.locator('.live-large').waitFor();
  await page.evaluate(noteShown);
  const speaking = speak(plant, whileProbingPerS);
  const sentMs: number[] = [];
  while (sentMs.length < probesBefore + probes) {
    sentMs.push(Date.now());
    await plant.say(0, [{ t: Date.now(), v: 20 + sentMs.length / 10 }]);
    await new Promise((resolve) => setTimeout(resolve, probeEveryMs));
  }
  await speaking.stop();
  await page.getByText((20 + sentMs.length / 10).toFixed(1)).waitFor();
  const shown = await page.evaluate<Shown[]>('shown');
  const delaysMs = sentMs.map((ms, i) => {
    const value = 20 + (i + 1) / 10;
    const seen = shown.find(({ v, atMs }) => v >= value - 1e-6 && atMs >= ms);
    return (seen?.atMs ?? Infinity) - ms;
  });
  return delaysMs.slice(probesBefore);
}

interface Shown {
  v: number;
  atMs: number;
}

/** Runs in the page, where nothing of ours is: each value of the point when its picture is drawn. */
const noteShown = `{
  const shown = (globalThis.shown = []);
  new MutationObserver(() => {
    const v = parseFloat(document.querySelector('.live-large')?.textContent ?? '');
    requestAnimationFrame(() => shown.push({ v, atMs: Date.now() }));
  }).observe(document.body, { subtree: true, childList: true, characterData: true });
}`;

function rowsOf({ perS, behindS, cores }: Stored): BenchRow[] {
  const while_ = `${points} points, ${racks} open loads, a browser watching`;
  const rate = median(perS);
  // Whole seconds of work lie between two looks: the greatest counts.
  const behind = Math.max(...behindS);
  return [
    {
      name: `readings stored in a second over Mosquitto, ${while_}, load average ${loadavg()[0]!.toFixed(0)}`,
      baseline: `limit: ${leastPerS} readings/s, ${offeredPerS} offered`,
      ratio: rate / leastPerS,
      aim: 1,
      value: rate,
      unit: 'readings/s',
      runs: perS,
    },
    {
      name: `the judge behind the journal, ${while_}`,
      baseline: `limit: ${mostBehindS} s`,
      ratio: mostBehindS / behind,
      aim: 1,
      value: behind,
      unit: 's',
      runs: behindS,
    },
    {
      name: `processors of collector and dashboard, ${while_}`,
      baseline: 'limit: one core',
      ratio: 1 / median(cores),
      aim: 1,
      value: median(cores),
      unit: 'cores',
      runs: cores,
    },
  ];
}

function startRow(seconds: number): BenchRow {
  return {
    name: `a plant of ${points} points on ${racks} stations started`,
    baseline: 'limit: 10 s',
    ratio: 10 / seconds,
    aim: 1,
    value: seconds,
    unit: 's',
    runs: [seconds],
  };
}

function screenRow(delaysMs: number[]): BenchRow {
  const sorted = [...delaysMs].sort((a, b) => a - b);
  const p99 = sorted[Math.ceil(0.99 * sorted.length) - 1] ?? NaN;
  return {
    name: `reading to screen at ${whileProbingPerS} readings/s, p99 of ${sorted.length}, load average ${loadavg()[0]!.toFixed(0)}`,
    baseline: `limit: ${mostToScreenMs} ms`,
    ratio: mostToScreenMs / p99,
    aim: 1,
    value: p99,
    unit: 'ms',
    runs: [median(sorted), p99, sorted.at(-1) ?? NaN],
  };
}
