import type { Browser, Page } from 'playwright-core';
import { expect, test } from 'vitest';
import {
  facesOf,
  inHall,
  patient,
  rooms,
  settled,
  warm,
  type Course,
  type Courses,
  type Hall,
} from './hall.ts';
import { pictured } from './pictures.ts';
import { faultsOf } from './screen-quality.ts';
import { desk } from './staged.ts';
import { rowText } from './visit.ts';

let browser: Browser;
let hall: Hall;
let page: Page;
inHall((opened) => {
  ({ hall, page } = opened);
  browser = page.context().browser()!;
  return Promise.resolve();
});

const go = (path: string) => page.goto(`${hall.url}${path}?lang=en&theme=light`);
const sentence = () => page.locator('.sentence').innerText();

test(
  'before anything has happened each screen says so',
  async () => {
    await go('/lots');
    await page.getByText(/^No lots yet\./).waitFor();
    await pictured(page, 'lots-empty');
    await go('/calls');
    await page.getByText('Nobody is called.').waitFor();
    await pictured(page, 'calls-none');
    await go('/handover');
    await page.getByText('Nothing is on hold.').waitFor();
    await pictured(page, 'handover-nothing');
    await go('/start/press-1');
    await page.getByLabel('Lot').waitFor();
    await pictured(page, 'start-empty');
  },
  patient,
);

test(
  'a full disk is said across every screen, in words, and taken back when there is room',
  async () => {
    await go('/');
    hall.diskUsed = 0.98;
    const band = page.getByText(/^The collector answers, but is not well: the disk is full,/);
    await band.waitFor();
    await pictured(page, 'floor-disk-full');
    hall.diskUsed = 0.4;
    await band.waitFor({ state: 'detached' });
  },
  patient,
);

test(
  'a load of which nothing was read yet counts, and one whose recipe nobody named is not judged until it is',
  async () => {
    await hall.event('press-1', 'load-start', {
      load: 'P1-1',
      lot: 'K-118',
      recipe: 'shell-13ply',
    });
    await hall.event('oven-1', 'load-start', { load: 'O1-1', lot: 'S-3' });
    await go('/load/P1-1');
    await settled(sentence).toContain('Counting since 09:40:30.');
    await pictured(page, 'load-has-only-begun');
    await hall.play(1, { ...rooms, ...warm, ...facesOf('p1', 138, 0) });
    await settled(sentence).not.toContain('Counting since');
    await go('/load/O1-1');
    await settled(sentence).toMatch(/lot S-3 · no recipe/);
    await page.getByLabel('Recipe').waitFor();
    expect(await faultsOf(page)).toEqual([]);
    await pictured(page, 'load-without-a-recipe');
  },
  patient,
);

test(
  'while the last state is fetched the stations stand there by name, and the page says what it waits for',
  async () => {
    const context = await browser.newContext({ viewport: desk });
    const slow = await context.newPage();
    await slow.clock.install();
    let answer = (): void => undefined;
    const held = new Promise<void>((resolve) => (answer = resolve));
    await context.route('**/api/v1/stream', async (route) => {
      await held;
      await route.continue();
    });
    await slow.goto(`${hall.url}/?lang=en&theme=light`);
    await settled(() => rowText(slow, 'press-1')).toBe('|…');
    await slow.clock.runFor(3_000);
    await slow.getByText('Fetching the last state.').waitFor();
    await pictured(slow, 'floor-fetching');
    await slow.clock.runFor(8_000);
    await slow.getByText('Still fetching: the collector has not answered yet.').waitFor();
    answer();
    await settled(() => rowText(slow, 'press-1')).toMatch(/^Not yet\|/);
    expect(await slow.getByText(/etching/).count()).toBe(0);
    // Eleven seconds were not waited for but leapt over: this screen's clock is ahead by them.
    await slow
      .getByText(/^This screen’s clock is off by 1\d s\. The plant’s time is shown\.$/)
      .waitFor();
    await pictured(slow, 'floor-own-clock-off');
    await context.close();
  },
  patient,
);

test(
  'pictures that take long say from how much, may be called off, and come in though more is asked for meanwhile',
  async () => {
    const context = await browser.newContext({ viewport: desk });
    const slow = await context.newPage();
    await slow.clock.install();
    let asked = 0;
    let answer = (): void => undefined;
    const held = new Promise<void>((resolve) => (answer = resolve));
    await context.route('**/series?*', async (route) => {
      asked += 1;
      await held;
      await route.continue().catch(() => undefined); // called off meanwhile
    });
    await slow.goto(`${hall.url}/load/P1-1?lang=en&theme=light`);
    await slow.locator('.big-bar .cure-bar').waitFor();
    await slow.clock.runFor(2_000);
    await slow.getByText(/^Fetching the pictures: \d+ readings are computed anew\.$/).waitFor();
    await pictured(slow, 'load-pictures-fetching');
    asked = 0;
    await slow.getByRole('button', { name: 'Cancel' }).click();
    await slow.getByText('The pictures were not waited for.').waitFor();
    await slow.getByRole('button', { name: 'Fetch the pictures' }).click();
    await slow.clock.runFor(2_000);
    await settled(() => asked).toBe(1);
    // The load runs, and its pictures are wanted anew every few seconds: one answer after the other.
    await slow.clock.runFor(12_000);
    expect(asked).toBe(1);
    answer();
    await slow.locator('canvas.lines').first().waitFor();
    await context.close();
  },
  patient,
);

test(
  'a station out of service says so with who and until when; an empty one has its last load one tap away',
  async () => {
    await go('/start/store-1');
    await page.getByRole('button', { name: 'Take store-1 out of service…' }).click();
    await page.getByLabel('Why').fill('filters are changed');
    await page.getByRole('button', { name: 'Take it out' }).click();
    await page.getByText('Recorded: store-1 is out of service.').waitFor();
    await hall.event('press-1', 'load-end', { load: 'P1-1' });
    await hall.play(1, { ...rooms, ...warm });
    await go('/');
    await settled(() => rowText(page, 'store-1')).toBe('|out of service');
    await page.locator('li[data-station="store-1"]').getByText('by shift lead').waitFor();
    await pictured(page, 'floor-out-of-service');
    await go('/last/press-1');
    await settled(sentence).toContain('P1-1');
  },
  patient,
);

test(
  'a lot is fetched, stays as it was while nothing newer comes, and is not called unknown when nobody answers',
  async () => {
    const address = '**/api/v1/lots/K-118';
    let answer = (): void => undefined;
    const held = new Promise<void>((resolve) => (answer = resolve));
    await page.route(address, async (route) => {
      await held;
      await route.continue();
    });
    await go('/lots/K-118');
    await page.getByText('Fetching the lot.').waitFor();
    await pictured(page, 'lot-fetching');
    answer();
    await page.locator('.steps li').filter({ hasText: 'P1-1' }).waitFor();
    await page.unroute(address);
    await page.route(address, (route) => route.abort());
    // A second load of the lot: the page asks anew, in vain.
    await hall.event('press-1', 'load-start', {
      ...{ load: 'P1-2', lot: 'K-118', recipe: 'shell-13ply' },
    });
    await page.getByText('Nothing newer could be fetched: below is the lot as it was.').waitFor();
    await page.locator('.steps li').filter({ hasText: 'P1-1' }).waitFor();
    await pictured(page, 'lot-as-it-was');
    await go('/lots/K-118');
    await page.getByText('No connection to the server.').waitFor();
    expect(await page.getByText('isn’t known').count()).toBe(0);
    await pictured(page, 'lot-no-answer');
    await page.unroute(address);
    await go('/lots/K-118');
    await page.locator('.steps li').filter({ hasText: 'P1-2' }).waitFor();
    await hall.event('press-1', 'load-end', { load: 'P1-2' });
  },
  patient,
);

/** Off for ten minutes, then from 20 °C up by 12 K a minute, over and over. */
const risenAgain: Course = (min) => (min % 20 < 10 ? null : 20 + 12 * ((min % 20) - 10));

/** Too few heat-ups to say what is usual: nothing is judged by them. */
async function seenInFirstWeeks(): Promise<void> {
  await go('/heat-up/press-2');
  await page.getByText(/^[1-9] heat-ups? so far\./).waitFor();
  expect(await page.getByText('as it was').count()).toBe(0);
  await pictured(page, 'heat-up-first-weeks');
}

const bothOfPress2 = (course: Course): Courses => ({ 'p2-u': course, 'p2-l': course });

/** No heat-up to be measured by, and said why; the next day it is still the last one there was. */
async function cooledOnItsWay(): Promise<void> {
  await hall.play(5, { ...rooms, ...bothOfPress2((min) => 100 - 8 * min) });
  await page.getByText('Interrupted: it cooled on the way.').waitFor();
  await page.getByRole('heading', { name: 'Heat-ups that do not count' }).waitFor();
  expect(await faultsOf(page)).toEqual([]);
  await pictured(page, 'heat-up-interrupted');
  hall.clock.advance(24 * 60 * 60_000);
  await hall.play(1, rooms);
  await go('/heat-up/press-2');
  await page.getByText(/^No heat-up today\. The last one:/).waitFor();
  await page
    .locator('.cell.silent')
    .getByText(/^silent since Mon 2 Mar 1\d:\d\d;/)
    .first()
    .waitFor();
  await settled(() =>
    page
      .getByRole('link', { name: /^press-2/ })
      .first()
      .innerText(),
  ).toMatch(/interrupted/);
  await pictured(page, 'heat-up-not-today');
}

test(
  'a station that heats up says when it will be ready, by its earlier heat-ups and today’s pace',
  async () => {
    for (let hour = 0; hour < 4; hour += 1) {
      const fromMs = hall.clock.nowMs();
      hall.clock.advance(60 * 60_000);
      await hall.send(bothOfPress2(risenAgain), fromMs, 60);
      if (hour === 0) await seenInFirstWeeks();
    }
    await hall.play(10, rooms);
    const startMs = hall.clock.nowMs();
    await hall.play(15, { ...rooms, ...bothOfPress2((min) => 20 + 5 * min) });
    // 105 K at 5 K/min.
    const readyMs = Math.ceil((startMs + 21 * 60_000) / 60_000) * 60_000;
    const ready = new Date(readyMs + 60 * 60_000).toISOString().slice(11, 16);
    await go('/');
    await settled(() => rowText(page, 'press-2')).toBe(`|ready ${ready}`);
    // No shift is said: planned is what is usual. The call says the minutes of the row.
    const called = page.getByText(
      new RegExp(`^press-2 will be ready at ${ready}, 12 min later than planned; p2-[ul] is last$`),
    );
    await called.waitFor();
    await pictured(page, 'floor-ready-at');
    await go('/calls');
    await called.waitFor();
    await page
      .getByText(
        new RegExp(`^look at the heating of p2-[ul]; put the first load off until ${ready}$`),
      )
      .waitFor();
    await page.getByText('If ignored: the shift waits for heat.').waitFor();
    await page.getByText(/^It rests on p2-[ul] \d\d:\d\d to \d\d:\d\d$/).waitFor();
    await pictured(page, 'calls-ready-late');
    await go('/heat-up/press-2');
    await page
      .getByText(`Ready about ${ready}, 12 min later than usual; 71 % of the way.`)
      .waitFor();
    expect(await faultsOf(page)).toEqual([]);
    await pictured(page, 'heat-up-under-way');
    await hall.play(5, { ...rooms, 'p2-l': (min) => 95 + 5 * min });
    await page
      .locator('.cell.silent')
      .getByText(/^silent since \d\d:\d\d/)
      .waitFor();
    await pictured(page, 'heat-up-zone-silent');
    await cooledOnItsWay();
  },
  patient,
);
