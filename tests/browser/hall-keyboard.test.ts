import type { Page } from 'playwright-core';
import { expect, test } from 'vitest';
import { facesOf, inHall, patient, rooms, settled, warm, type Hall } from './hall.ts';
import { tabTo } from './keyboard.ts';

let hall: Hall;
let page: Page;
inHall(async (opened) => {
  ({ hall, page } = opened);
  await hall.play(3, { ...rooms, ...warm });
  await hall.event('press-1', 'load-start', { load: 'P1-1', lot: 'K-118', recipe: 'shell-13ply' });
  await hall.play(13, { ...rooms, ...warm, ...facesOf('p1', 128, 0) });
});

/** What has the focus is on the screen, under nothing, and marked. */
function focusFaults(): Promise<string[]> {
  return page.evaluate(() => {
    const at = document.activeElement;
    if (at === null || at === document.body) return ['nothing has the focus'];
    const { left, top, width, height } = at.getBoundingClientRect();
    const [x, y] = [left + width / 2, top + height / 2];
    const faults: string[] = [];
    if (x < 0 || y < 0 || x > innerWidth || y > innerHeight) faults.push('off the screen');
    const above = document.elementFromPoint(x, y);
    if (above !== null && !at.contains(above) && !above.contains(at)) {
      faults.push(`under ${above.tagName} ${above.className}`);
    }
    const marks = [getComputedStyle(at), getComputedStyle(at, '::after')];
    const isMarked = marks.some(
      ({ outlineStyle, boxShadow }) => outlineStyle !== 'none' || boxShadow !== 'none',
    );
    if (!isMarked) faults.push('not marked');
    return faults.map((fault) => `${(at.textContent ?? '').trim().slice(0, 30)}: ${fault}`);
  });
}

/** By Tab to what bears this name, and Enter there. */
async function press(name: RegExp): Promise<void> {
  await tabTo(page, name);
  expect(await focusFaults(), String(name)).toEqual([]);
  await page.keyboard.press('Enter');
}

const heading = (name: string) => page.getByRole('heading', { name, exact: true }).waitFor();

test.each([
  [1440, 900],
  [390, 844],
])(
  'a round by keyboard alone, what has the focus always in sight, %i × %i px',
  async (width, height) => {
    await hall.play(1, { ...rooms, ...warm, ...facesOf('p1', 128, 13) });
    await page.setViewportSize({ width, height });
    await page.goto(`${hall.url}/?lang=en&theme=light`);
    await page.locator('li[data-station="press-1"] .cure-bar').waitFor();
    await press(/^press-1$/);
    await page.getByRole('slider').waitFor();
    await tabTo(page, /^Cursor through the pictures/);
    expect(await focusFaults()).toEqual([]);
    const before = await page.getByRole('slider').getAttribute('aria-valuetext');
    await page.keyboard.press('ArrowLeft');
    await settled(() => page.getByRole('slider').getAttribute('aria-valuetext')).not.toBe(before);
    await press(/^Calls/);
    await heading('Calls');
    await press(/^Shelve…$/);
    await tabTo(page, /^Why it can wait/);
    expect(await focusFaults()).toEqual([]);
    await press(/^Cancel$/);
    await press(/^Start load$/);
    await heading('Start load');
    await tabTo(page, /^press-1$/);
    for (let station = 0; station < 2; station += 1) await page.keyboard.press('ArrowRight');
    await tabTo(page, /^Lot$/);
    await page.keyboard.type('K-119', { delay: 80 });
    await press(/^Start$/);
    const told = page.getByText(/^Recorded: K-119 in rack-a since/);
    await told.waitFor();
    const belowPx = await told.evaluate(
      (text) => text.getBoundingClientRect().bottom - innerHeight,
    );
    expect(belowPx).toBeLessThanOrEqual(0);
    await press(/^Take it back/);
    await page.getByText('There was no such load.').waitFor();
    await press(/^Floor$/);
    await page.locator('li[data-station="press-1"]').waitFor();
    await press(/^Handover$/);
    await page.getByText('Nothing is on hold.').waitFor();
    await press(/^I have read it$/);
    await page
      .getByText(/^shift lead, \d\d:\d\d$/)
      .first()
      .waitFor();
  },
  patient,
);
