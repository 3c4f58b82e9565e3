// Longer than the limit because it is one working day, told in its order: each state follows from the last.
import { appendFile } from 'node:fs/promises';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { expect, test } from 'vitest';
import {
  facesOf,
  inHall,
  patient,
  rooms,
  settled,
  steady,
  type Courses,
  type Hall,
} from './hall.ts';
import { pictured } from './pictures.ts';
import { rowText } from './visit.ts';

let hall: Hall;
let page: Page;
let web: string;
inHall(async (opened) => {
  ({ hall, page, web } = opened);
  await page.goto(`${hall.url}/?lang=en&theme=light`);
});

const warm: Courses = { 'p1-u': steady(138), 'p1-l': steady(138) };
const cold: Courses = { 'p2-u': steady(20), 'p2-l': steady(20) };

const mild: Courses = { 'p2-u': steady(40), 'p2-l': steady(40) };
/** A press from so many minutes after its closing on. */
const press1 = (holdC: number, fromMin: number): Courses => facesOf('p1', holdC, fromMin);
const press2 = (fromMin: number): Courses => facesOf('p2', 138, fromMin);

const row = (station: string) => page.locator(`li[data-station="${station}"]`);
const said = (station: string): Promise<string> => rowText(page, station);

test(
  'before the first reading, cold, heating, empty',
  async () => {
    await hall.play(4, {});
    await settled(() => said('press-1')).toBe('|no readings');
    await pictured(page, 'floor-before-the-first-reading');
    await hall.play(4, { ...rooms, ...warm, ...cold });
    await settled(() => said('press-1')).toBe('|empty 3 min');
    await settled(() => said('press-2')).toBe('|cold');
    await pictured(page, 'floor-cold');
    await hall.play(3, { ...rooms, ...warm, 'p2-u': (m) => 20 + 6 * m, 'p2-l': (m) => 20 + 6 * m });
    await settled(() => said('press-2')).toBe('|heating');
    await pictured(page, 'floor-before-work');
    expect(await page.locator('.row .cure-bar').count()).toBe(0);
  },
  patient,
);

test(
  'a load without a name, one that counts, one that its plan ends too early, one that goes blind',
  async () => {
    await hall.event('press-2', 'load-start', { load: 'P2-1' });
    await settled(() => said('press-2')).toBe('Not yet|which lot?');
    await row('press-2').locator('.minutes').getByText('name it').waitFor();
    await hall.event('press-1', 'load-start', {
      load: 'P1-1',
      lot: 'K-118',
      recipe: 'shell-13ply',
    });
    await settled(() => said('press-1')).toMatch(/^Not yet\|(counting|\d+ min more)$/);
    await hall.play(5, { ...rooms, ...mild, ...press1(128, 0) });
    await settled(() => said('press-1')).toBe('Not yet|16 min more');
    expect(await row('press-1').getAttribute('class')).toBe('row');
    // One face falls silent: more than two minutes later the row says since when, and its bar is dashed.
    await hall.play(4, { ...rooms, ...mild, 'p1-l': press1(128, 5)['p1-l']! });
    await settled(() => said('press-1')).toBe('Not yet|blind 4 min');
    await row('press-1').locator('.sign .dashed').waitFor();
    await page.locator('.call').getByText('sensor p1-u silent since 09:56').waitFor();
    await pictured(page, 'floor-one-sensor-silent');
    // Its own screen: since when, what the sum may be, and a hatched fan where nothing is read.
    await page.goto(`${hall.url}/load/P1-1?lang=en&theme=light`);
    await settled(() => page.locator('.sentence').innerText()).toMatch(
      /Blind since 09:56: p1-u silent\. The sum may be [\d.]+ to [\d.]+/,
    );
    await page.locator('.plot .fan').first().waitFor();
    await pictured(page, 'load-one-sensor-silent');
    await page.goto(`${hall.url}/?lang=en&theme=light`);
    await hall.play(3, { ...rooms, ...mild, ...press1(128, 9) });
    await settled(() => said('press-1')).toMatch(/^Not yet\|1[5-7] min more$/);
    await row('press-1').getByText('plan 10:16 is 4 min early').waitFor();
    await page
      .locator('.call')
      .getByText(/^press \d min longer: until 10:\d\d/)
      .waitFor();
    await page.locator('li.called[data-station="press-1"]').waitFor();
    await pictured(page, 'floor-plan-too-early');
  },
  patient,
);

test(
  'short at the end, in the window, minutes left, waiting that does not help, unproven',
  async () => {
    await hall.event('press-1', 'load-end', { load: 'P1-1' });
    await hall.play(1, { ...rooms, ...warm, ...mild });
    await settled(() => said('press-1')).toBe('Undercured|on hold');
    await page.locator('.call').getByText('lot K-118 ended undercured').waitFor();
    await hall.event('press-2', 'load-end', { load: 'P2-1' });
    const starts: [string, object][] = [
      ['press-2', { load: 'P2-2', lot: 'K-119', recipe: 'shell-narrow' }],
      ['rack-a', { load: 'RA-1', lot: 'S-1', recipe: 'frame', zones: ['bay-1'] }],
      ['rack-a', { load: 'RA-2', lot: 'S-2', recipe: 'frame', zones: ['bay-2'] }],
      ['oven-1', { load: 'O1-1', lot: 'S-3', recipe: 'top-coat' }],
      ['bench-1', { load: 'B1-1', lot: 'F-1', recipe: 'foot-bond' }],
    ];
    for (const [station, load] of starts) await hall.event(station, 'load-start', load);
    await hall.play(5, { ...rooms, ...warm, ...press2(0) });
    await settled(() => said('press-2')).toBe('Not yet|ask engineer');
    await row('press-2').getByText('waiting will not help').waitFor();
    await settled(() => said('oven-1')).toBe('Not yet|5 min more');
    await row('rack-a').getByText('first of 2').waitFor();
    await settled(() => said('bench-1')).toMatch(/^Not yet\|/);
    await pictured(page, 'floor-at-work');
    // The bench is blind for its last minutes, so that nothing proves what it had.
    const silentMs = hall.clock.nowMs();
    await hall.play(2, { ...rooms, ...warm, ...press2(5), 'b1-air': () => null });
    await hall.event('bench-1', 'load-end', { load: 'B1-1' });
    await hall.play(3, { ...rooms, ...warm, ...press2(7), 'b1-air': () => null });
    await settled(() => said('oven-1')).toMatch(/^In window\|out by 10:\d\d$/);
    await settled(() => said('bench-1')).toBe('Unproven|on hold');
    // Three calls are shown, and how many more there are.
    await page
      .getByRole('link', { name: /^\d+ more calls?$/ })
      .first()
      .waitFor();
    await pictured(page, 'floor-ended-unproven');
    // Its gateway had kept them: they come late, and the record is written anew.
    await hall.send({ 'b1-air': steady(64) }, silentMs, 5);
  },
  patient,
);

test(
  'past the most, since when; nearing it, in minutes; a window without an end',
  async () => {
    await hall.play(14, { ...rooms, ...warm, ...press2(10) });
    await settled(() => said('oven-1')).toBe('In window|8 min left');
    await page.locator('li.called[data-station="oven-1"]').waitFor();
    await settled(() => said('press-2')).toMatch(/^Overcured\|since 10:\d\d$/);
    const since = await said('press-2');
    await hall.play(4, { ...rooms, ...warm, ...press2(24) });
    expect(await said('press-2')).toBe(since);
    await row('bench-1')
      .getByText(/^changed 10:\d\d: late readings, was Unproven$/)
      .waitFor();
    await pictured(page, 'floor-past-the-most');
    await page.goto(`${hall.url}/load/B1-1?lang=en&theme=light`);
    await settled(() => page.locator('.sentence').innerText()).toMatch(
      /Ended 10:\d\d\. In window: [^]*Was Unproven until .*changed because of late readings/,
    );
    await pictured(page, 'load-changed-by-late-readings');
    await page.goto(`${hall.url}/?lang=en&theme=light`);
    await hall.event('oven-1', 'load-end', { load: 'O1-1' });
    await hall.play(34, { ...rooms, 'ra-1': steady(38), ...warm, ...press2(28) });
    await settled(() => said('rack-a')).toBe('In window|no end');
    await pictured(page, 'floor-window-without-end');
  },
  patient,
);

test(
  'the broker lost, the collector lost, the server lost: each said once, and all back without a reload',
  async () => {
    await page.evaluate(() => {
      (globalThis as { notReloaded?: boolean }).notReloaded = true;
    });
    await hall.stopBroker();
    await page.getByText('The broker is not connected since').waitFor();
    // One trouble is one line.
    await settled(() => page.locator('.band').count()).toBe(1);
    await pictured(page, 'floor-broker-lost');
    await hall.startBroker();
    await page.getByText('The broker is not connected since').waitFor({ state: 'detached' });
    const before = await said('rack-a');
    await hall.stopCollector();
    await page.getByText('what you do is not recorded').waitFor();
    await row('rack-a').locator('.proven-dashed').waitFor();
    expect(await said('rack-a')).toBe(before);
    await pictured(page, 'floor-collector-lost');
    await hall.startCollector();
    await page.getByText('what you do is not recorded').waitFor({ state: 'detached' });
    await hall.restartDashboard(async () => {
      await page.getByText('No connection since').waitFor();
      await pictured(page, 'floor-no-connection');
    });
    await page.getByText('No connection since').waitFor({ state: 'detached' });
    await settled(() => said('rack-a')).toBe(before);
    expect(await page.evaluate(() => (globalThis as { notReloaded?: boolean }).notReloaded)).toBe(
      true,
    );
  },
  patient,
);

test(
  'a kiosk that finds a newer page on the server loads it by itself; a desk is asked',
  async () => {
    const wall = await page.context().newPage();
    await wall.setViewportSize({ width: 1920, height: 1080 });
    await wall.goto(`${hall.url}/?wall=1&lang=en`);
    await wall.locator('li[data-station="press-1"]').waitFor();
    await wall.evaluate(() => {
      (globalThis as { notReloaded?: boolean }).notReloaded = true;
    });
    expect(await wall.locator('button:visible, nav:visible').count()).toBe(0);
    await hall.restartDashboard(() => appendFile(join(web, 'index.html'), '<!-- newer -->'));
    await settled(() => wall.evaluate(() => 'notReloaded' in globalThis)).toBe(false);
    await wall.locator('li[data-station="press-1"]').waitFor();
    await page.getByText('There is a newer page.').waitFor();
    await wall.close();
  },
  patient,
);
