import type { Browser, Page } from 'playwright-core';
import type { Stage } from '../browser/harness.ts';
import { processorSince } from './processor-time.ts';
import { yearOfFace, yearOfRows, yearReport, zones } from './year-of-cycles.ts';

/**
 * Tells the stage's collector of a year of a press with twenty zones.
 *
 * @returns dots of one zone, and what its summary took of the processor [ms]
 */
export function tellYear({ fake }: Stage): { dots: number; summaryMs: number } {
  const rows = yearOfRows();
  yearReport(rows);
  const before = process.cpuUsage();
  const { report, summary } = yearReport(rows);
  const summaryMs = 1000 * processorSince(before);
  const { station, title, kind, readyC, newest } = report;
  fake.heatUps.set('', [{ station, title, kind, readyC, heating: newest, worst: 'as-it-was' }]);
  fake.heatUps.set('press', report);
  const faces = Array.from({ length: zones }, (_, zone) => yearOfFace(summary, zone));
  for (const face of faces) fake.heatUps.set(`press/${face.point}`, face);
  return { dots: faces[0]?.dots.length ?? NaN, summaryMs };
}

export interface YearDrawn {
  /** The screen with all zones as they lie and the year of one of them, from the tap on Heat-up on. */
  screenMs: number;
  /** The year of each other zone, from the tap on it on. */
  zonesMs: number[];
}

/**
 * What the page's own thread takes of the processor until all is painted; neighbours are no part of it.
 *
 * @param dots of one zone
 */
export async function yearDrawn(
  browser: Browser,
  { url }: Stage,
  dots: number,
): Promise<YearDrawn> {
  const context = await browser.newContext({ viewport: { width: 1440, height: 900 } });
  try {
    const page = await context.newPage();
    const devtools = await context.newCDPSession(page);
    await devtools.send('Performance.enable', { timeDomain: 'threadTicks' });
    const threadMs = async () => {
      const { metrics } = await devtools.send('Performance.getMetrics');
      return 1000 * (metrics.find(({ name }) => name === 'ThreadTime')?.value ?? NaN);
    };
    await page.goto(url);
    await page.locator('li[data-station="bench-1"] .cure-bar').waitFor();
    const tappedMs = await threadMs();
    await page.locator('a[href="/heat-up"]').click();
    await drawn(page, null, dots);
    const screenMs = (await threadMs()) - tappedMs;
    const others = await page
      .locator('button.cell[aria-pressed="false"] .where small')
      .allTextContents();
    if (others.length !== zones - 1) throw new Error(`${others.length} zones besides the first`);
    const zonesMs: number[] = [];
    for (const point of others) {
      const beforeMs = await threadMs();
      await drawn(page, point, dots);
      zonesMs.push((await threadMs()) - beforeMs);
    }
    return { screenMs, zonesMs };
  } finally {
    await context.close();
  }
}

/** @param point which zone to look at; null: the one that the screen begins with */
function drawn(page: Page, point: string | null, dots: number): Promise<void> {
  return page.evaluate(
    async (wanted) => {
      if (wanted.point !== null)
        [...document.querySelectorAll<HTMLElement>('button.cell')]
          .find((cell) => cell.querySelector('.where small')?.textContent === wanted.point)
          ?.click();
      const ending = `/press/${wanted.point ?? ''}`;
      for (;;) {
        await new Promise(requestAnimationFrame);
        const isThere =
          document.querySelectorAll('.dots circle').length === wanted.dots &&
          performance.getEntriesByType('resource').some(({ name }) => name.includes(ending));
        if (isThere) break;
      }
      // Painted, not only laid out.
      await new Promise(requestAnimationFrame);
    },
    { point, dots },
  );
}
