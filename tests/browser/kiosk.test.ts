import type { Page } from 'playwright-core';
import { expect, test } from 'vitest';
import { wholeScene } from './floor-scene.ts';
import { patient, staged } from './staged.ts';

const { browser, played } = staged();
const minuteMs = 60_000;

/** A wall by its address, on a clock that moves when it is told to: 02:55 in the plant. */
async function wallAt(url: string, kiosk: boolean): Promise<Page> {
  const context = await browser().newContext({ viewport: { width: 1920, height: 1080 } });
  const page = await context.newPage();
  await page.clock.install({ time: new Date('2026-03-03T01:55:00Z') });
  await page.goto(`${url}/?lang=en&theme=dark${kiosk ? '&wall=1' : ''}`);
  await page.locator('li[data-station="press-1"]').waitFor();
  return page;
}

const marked = (page: Page) => page.evaluate(() => document.body.dataset['seen'] === 'yes');
const mark = (page: Page) => page.evaluate(() => void (document.body.dataset['seen'] = 'yes'));
const shift = (page: Page) =>
  page.evaluate(() => document.documentElement.style.getPropertyValue('--shift-x'));

test(
  'a wall loads its page anew at ten past three, once, and a desk does not',
  () =>
    played(wholeScene, async (on) => {
      const wall = await wallAt(on.url, true);
      const desk = await wallAt(on.url, false);
      for (const page of [wall, desk]) {
        await mark(page);
        await page.clock.runFor(14 * minuteMs);
        expect(await marked(page)).toBe(true);
        await page.clock.runFor(minuteMs + 10_000);
      }
      await expect.poll(() => marked(wall), { timeout: 30_000 }).toBe(false);
      await wall.locator('li[data-station="press-1"]').waitFor();
      await mark(wall);
      await wall.clock.runFor(5 * minuteMs);
      expect(await marked(wall)).toBe(true);
      expect(await marked(desk)).toBe(true);
      for (const page of [wall, desk]) await page.context().close();
    }),
  patient,
);

test(
  'the picture of a wall stands elsewhere each hour, and never wider than the screen',
  () =>
    played(wholeScene, async (on) => {
      const wall = await wallAt(on.url, true);
      const places = new Set<string>();
      for (let hour = 0; hour < 6; hour += 1) {
        places.add(await shift(wall));
        const beyondPx = await wall.evaluate(
          () => document.documentElement.scrollWidth - document.documentElement.clientWidth,
        );
        expect(beyondPx).toBe(0);
        await wall.clock.fastForward(60 * minuteMs);
        await wall.clock.runFor(1500);
        await wall.locator('li[data-station="press-1"]').waitFor();
      }
      expect(places.size).toBeGreaterThanOrEqual(4);
      await wall.context().close();
    }),
  patient,
);
