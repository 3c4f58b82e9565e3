import { rm } from 'node:fs/promises';
import { gzipSync } from 'node:zlib';
import type { Browser, Page } from 'playwright-core';
import { sceneJudgements, sceneMs, sceneTrace, wholeScene } from '../browser/floor-scene.ts';
import { builtWeb, launch, stage, type Stage } from '../browser/harness.ts';
import { underLimit, type BenchRow } from './bench-row.ts';
import { tellYear, yearDrawn, type YearDrawn } from './heat-up-drawn.ts';
import { zones } from './year-of-cycles.ts';

const rounds = 5;
const kB = 1000;
/** A phone on a shop floor is about four times slower than this machine's one core. */
const slowedBy = 4;
const screens = 50;
const updates = 40;
const updateEveryMs = 400;
/** A page asks for so many, however long its load. */
const timesOfPage = 400;

/** The Floor's script, its first sight on a slow phone, a load and a year drawn, and fifty screens at once. */
export async function screensBench(): Promise<BenchRow[]> {
  const web = await builtWeb();
  const browser = await launch();
  const on = await stage(web, wholeScene);
  try {
    return [
      await scriptOfFloor(browser, on),
      await floorOnSlowPhone(browser, on),
      await loadDrawn(browser, on, 25, 200),
      await loadDrawn(browser, on, 1440, 400),
      ...(await yearOfZonesDrawn(browser, on)),
      await fiftyScreens(on),
    ];
  } finally {
    await on.close();
    await browser.close();
    await rm(web, { recursive: true, force: true });
  }
}

async function withPage<T>(browser: Browser, use: (page: Page) => Promise<T>): Promise<T> {
  const context = await browser.newContext({ viewport: { width: 390, height: 844 } });
  try {
    return await use(await context.newPage());
  } finally {
    await context.close();
  }
}

function scriptOfFloor(browser: Browser, on: Stage): Promise<BenchRow> {
  return withPage(browser, async (page) => {
    const bodies: Promise<Buffer>[] = [];
    page.on('response', (response) => {
      if (response.url().endsWith('.js')) bodies.push(response.body());
    });
    await page.goto(on.url);
    await page.locator('li[data-station="bench-1"] .cure-bar').waitFor();
    const sizes = (await Promise.all(bodies)).map((body) => gzipSync(body).length);
    const total = sizes.reduce((sum, size) => sum + size, 0) / kB;
    return underLimit('script of the Floor, gzipped', 150, 'kB', [total]);
  });
}

async function floorOnSlowPhone(browser: Browser, on: Stage): Promise<BenchRow> {
  const runs: number[] = [];
  for (let i = 0; i < rounds; i += 1) {
    runs.push(
      await withPage(browser, async (page) => {
        const devtools = await page.context().newCDPSession(page);
        await devtools.send('Emulation.setCPUThrottlingRate', { rate: slowedBy });
        const startMs = performance.now();
        await page.goto(on.url, { waitUntil: 'commit' });
        await page.locator('li[data-station="press-1"]').getByText('7 min more').waitFor();
        return performance.now() - startMs;
      }),
    );
  }
  return underLimit('Floor with its minutes, processor slowed four times', 1500, 'ms', runs);
}

/** From the last byte of the answer to the painted picture. */
async function loadDrawn(
  browser: Browser,
  on: Stage,
  forMin: number,
  limitMs: number,
): Promise<BenchRow> {
  const [first] = sceneJudgements();
  if (first === undefined) throw new Error('the scene has a first load');
  on.fake.judge({ ...first, startMs: sceneMs - forMin * 60_000 });
  on.fake.traces.set(first.load, sceneTrace(forMin, timesOfPage));
  const runs: number[] = [];
  for (let i = 0; i < rounds; i += 1) {
    runs.push(
      await withPage(browser, async (page) => {
        await page.goto(`${on.url}/load/P1-00231`);
        return page.evaluate(async () => {
          while (document.querySelectorAll('canvas.lines').length < 2) {
            await new Promise(requestAnimationFrame);
          }
          await new Promise(requestAnimationFrame);
          const [answer] = performance
            .getEntriesByType('resource')
            .filter(({ name }) => name.includes('/series')) as PerformanceResourceTiming[];
          return performance.now() - (answer?.responseEnd ?? 0);
        });
      }),
    );
  }
  return underLimit(`three pictures of a load of ${String(forMin)} min drawn`, limitMs, 'ms', runs);
}

/** A press of twenty zones: its Heat-up screen, summary included, and then the year of each zone in turn. */
async function yearOfZonesDrawn(browser: Browser, on: Stage): Promise<BenchRow[]> {
  const { dots, summaryMs } = tellYear(on);
  const runs: YearDrawn[] = [];
  for (let i = 0; i < rounds; i += 1) runs.push(await yearDrawn(browser, on, dots));
  return [
    underLimit(
      'a year of cycles of 20 zones summarised and drawn',
      1000,
      'ms',
      runs.map(({ screenMs }) => summaryMs + screenMs),
    ),
    underLimit(
      'the year of another zone of 20 drawn, all in a second',
      1000 / zones,
      'ms',
      runs.flatMap(({ zonesMs }) => zonesMs),
    ),
  ];
}

/** The time from a judgement to its frame, in each of fifty open streams: the slowest in a hundred. */
async function fiftyScreens(on: Stage): Promise<BenchRow> {
  const delays: number[] = [];
  let saidMs = 0;
  let opened = 0;
  const stop = new AbortController();
  const streams = Array.from({ length: screens }, async () => {
    const answer = await fetch(`${on.url}/api/v1/stream`, { signal: stop.signal });
    opened += 1;
    const reader = answer.body?.pipeThrough(new TextDecoderStream()).getReader();
    for (;;) {
      const read = await reader?.read();
      if (read === undefined || read.done) return;
      if (saidMs > 0 && read.value.includes('P1-00231')) delays.push(performance.now() - saidMs);
    }
  });
  const ended = Promise.allSettled(streams);
  while (opened < screens) await new Promise((resolve) => setTimeout(resolve, 5));
  const [first] = sceneJudgements();
  if (first === undefined) throw new Error('the scene has a first load');
  for (let i = 0; i < updates; i += 1) {
    saidMs = performance.now();
    on.fake.judge({ ...first, asOfMs: first.asOfMs + i });
    await new Promise((resolve) => setTimeout(resolve, updateEveryMs));
  }
  stop.abort();
  await ended;
  const sorted = [...delays].sort((a, b) => a - b);
  const p99 = sorted[Math.floor(sorted.length * 0.99)] ?? NaN;
  const name = `judgement to frame in ${String(screens)} screens, p99 of ${String(delays.length)}`;
  return underLimit(name, 500, 'ms', [p99]);
}
