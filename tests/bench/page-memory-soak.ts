import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser, CDPSession, Page } from 'playwright-core';
import { launch } from '../browser/harness.ts';
import { freePort } from '../fixtures/free-port.ts';
import { Shipped } from './shipped.ts';
import { trendOf, trendText } from './trend.ts';

/** The judge speaks once a second: so many frames come to a page in an hour. */
const framesAnHour = 3600;
/** The demo's plant, thirty times as fast, tells two a second: an hour of them in half an hour. */
export const pageParts = 120;
const framesOfPart = framesAnHour / pageParts;
/** A page's own timers go so much faster, so that it asks in the half hour what it asks in one [times]. */
const fasterTimers = 2;
/** Every screen has been drawn by then, and what the engine compiles of it. */
const settledParts = 32;
/**
 * The engine compiles more and more of the functions that are called often, for hours, some megabytes: what a
 * page itself holds is seen without.
 */
const withoutCompilers = '--no-opt,--no-maglev,--no-sparkplug';
/** The demo's history may take minutes on a machine that has other work. */
const startWithinS = 600;
const partWithinS = 300;

/** What a page may grow by in an hour of frames, at the low end of the interval. */
const most = { heapMb: 1, nodes: 300, listeners: 60 };
type Held = Record<keyof typeof most, number>;
const units: Record<keyof typeof most, string> = {
  heapMb: 'MB of heap',
  nodes: 'nodes',
  listeners: 'listeners',
};

interface Watched {
  page: Page;
  devtools: CDPSession;
  /** After each part, and so many hours' frames. */
  held: (Held & { hours: number })[];
}

interface Hour {
  folder: string;
  setwell: Shipped;
  browser: Browser;
  url: string;
  floor: Watched;
  load: Watched;
  frames: { readonly count: number; end(): void };
  asked: { loads: number; pictures: number };
}

let hour: Hour | null = null;

/**
 * The next half minute of an hour of the running demo, as a wall has it on its Floor and an engineer on one
 * load after the other with their pictures. @throws where a page holds more and more
 */
export async function watchOn(part: number): Promise<void> {
  hour ??= await begun();
  const { floor, load, frames, url } = hour;
  const enough = frames.count + framesOfPart;
  await openLoad(load.page);
  await until(() => frames.count >= enough, partWithinS, `frames of part ${part}`);
  await openLoad(load.page);
  const hours = frames.count / framesAnHour;
  for (const { held, devtools } of [floor, load]) {
    held.push({ hours, ...(await heldBy(devtools)) });
  }
  if (!floor.page.url().startsWith(url)) throw new Error(`the Floor is at ${floor.page.url()}`);
  if (part === pageParts) judge(hour);
}

async function begun(): Promise<Hour> {
  const folder = mkdtempSync(join(tmpdir(), 'soak-pages-'));
  const [port, brokerPort] = [await freePort(), await freePort()];
  const url = `http://127.0.0.1:${port}`;
  const asked = ['--demo', '--data', join(folder, 'data'), '--port', `${port}`];
  const setwell = await Shipped.start([...asked, '--broker-port', `${brokerPort}`]);
  const answers = () =>
    fetch(url).then(
      ({ ok }) => ok,
      () => false,
    );
  await until(answers, startWithinS, 'pages of the demo');
  const browser = await launch(`--js-flags=${withoutCompilers}`);
  const [floor, load] = [await watchedPage(browser, url), await watchedPage(browser, url)];
  const counts = { loads: 0, pictures: 0 };
  load.page.on('response', (response) => {
    if (/\/loads\/[^/?]+$/.test(response.url())) counts.loads += 1;
    if (response.url().includes('/series?')) counts.pictures += 1;
  });
  const frames = countedFrames(url);
  return { folder, setwell, browser, url, floor, load, frames, asked: counts };
}

async function watchedPage(browser: Browser, url: string): Promise<Watched> {
  const page = await browser.newPage({ viewport: { width: 1440, height: 900 } });
  page.setDefaultTimeout(partWithinS * 1000);
  await page.addInitScript(hurry);
  const devtools = await page.context().newCDPSession(page);
  await devtools.send('Performance.enable');
  await page.goto(url);
  await page.locator('li[data-station]').first().waitFor();
  return { page, devtools, held: [] };
}

/** Runs in the page before anything of ours, where nothing of this file is. */
const hurry = `{
  for (const name of ['setTimeout', 'setInterval']) {
    const own = globalThis[name].bind(globalThis);
    globalThis[name] = (then, ms = 0, ...more) => own(then, ms / ${fasterTimers}, ...more);
  }
  const now = performance.now.bind(performance);
  performance.now = () => now() * ${fasterTimers};
}`;

/** Over the Floor to a press's load, or whatever runs, until its pictures stand. */
async function openLoad(page: Page): Promise<void> {
  await page.locator('a[href="/"]').first().click();
  const any = page.locator('li[data-station] a[href^="/load/"]').first();
  await any.waitFor();
  const press = page.locator('li[data-station^="press"] a[href^="/load/"]').first();
  await ((await press.count()) > 0 ? press : any).click();
  await page.locator('canvas.lines').first().waitFor();
}

async function heldBy(devtools: CDPSession): Promise<Held> {
  await devtools.send('HeapProfiler.collectGarbage');
  const { usedSize } = await devtools.send('Runtime.getHeapUsage');
  const { metrics } = await devtools.send('Performance.getMetrics');
  const figure = (name: string): number => metrics.find((each) => each.name === name)?.value ?? NaN;
  return { heapMb: usedSize / 1e6, nodes: figure('Nodes'), listeners: figure('JSEventListeners') };
}

/** What every page hears, counted beside them. */
function countedFrames(url: string): { readonly count: number; end(): void } {
  const stop = new AbortController();
  const counted = { count: 0, end: () => stop.abort() };
  const listen = async (): Promise<void> => {
    const { body } = await fetch(`${url}/api/v1/stream`, { signal: stop.signal });
    for await (const text of body!.pipeThrough(new TextDecoderStream())) {
      counted.count += text.split('event: frame\n').length - 1;
    }
  };
  void listen().catch(() => undefined);
  return counted;
}

function judge({ floor, load, frames, asked }: Hour): void {
  const { loads, pictures } = asked;
  const sent = `${frames.count} frames, ${loads} answers about a load, ${pictures} pictures drawn`;
  process.stderr.write(`${sent}\n`);
  const faults = [...grown('Floor', floor), ...grown('Load', load)];
  if (faults.length > 0) throw new Error(faults.join('; '));
}

/** What a page has come to hold more of, in words. */
function grown(name: string, { held }: Watched): string[] {
  const settled = held.slice(settledParts);
  const hours = settled.map((each) => each.hours);
  return (Object.keys(most) as (keyof typeof most)[]).flatMap((what) => {
    const values = settled.map((each) => each[what]);
    const trend = trendOf(hours, values);
    const course = values.map((value) => value.toFixed(1)).join(' ');
    const text = `${name}: ${trendText(trend, units[what])}`;
    process.stderr.write(`${text}: ${course}\n`);
    return trend.low > most[what] ? [text] : [];
  });
}

async function until(
  isSo: () => boolean | Promise<boolean>,
  withinS: number,
  what: string,
): Promise<void> {
  const lastMs = performance.now() + withinS * 1000;
  while (!(await isSo())) {
    if (performance.now() > lastMs) throw new Error(`no ${what} within ${withinS} s`);
    await new Promise((resolve) => setTimeout(resolve, 200));
  }
}

export async function endWatching(): Promise<void> {
  if (hour === null) return;
  const { folder, setwell, browser, frames } = hour;
  hour = null;
  frames.end();
  await browser.close();
  await setwell.end();
  rmSync(folder, { recursive: true });
}
