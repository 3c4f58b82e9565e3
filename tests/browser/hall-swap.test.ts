import { cpSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { afterAll, expect, test } from 'vitest';
import { inHall, patient, steady, type Courses, type Hall } from './hall.ts';
import { pictured } from './pictures.ts';
import { faultsOf } from './screen-quality.ts';

const recipes = new URL('../fixtures/hall/recipes', import.meta.url).pathname;
const points = ['p1-au', 'p1-al', 'p1-bu', 'p1-bl'] as const;

/** One press of two openings, each with its own loads. */
function twoOpenings(): string {
  const folder = mkdtempSync(join(tmpdir(), 'setwell-openings-'));
  cpSync(recipes, join(folder, 'recipes'), { recursive: true });
  const envelope =
    'maxHeatingKPerMin: 12, maxCoolingKPerMin: 6, loadingDropKPerMin: 60, supplyMaxC: 150, surroundingsMinC: 10';
  const zones =
    '{ id: opening-a, upper: p1-au, lower: p1-al }, { id: opening-b, upper: p1-bu, lower: p1-bl }';
  const plausible = '{ minC: 0, maxC: 220, maxRateKPerMin: 60 }';
  const lines = [
    'site: { id: openings, title: Openings, timeZone: Europe/Copenhagen, demo: true }',
    'broker: { url: mqtt://127.0.0.1:1883 }',
    `stations: [{ id: press-1, kind: press, ${envelope}, readyC: 125, zones: [${zones}] }]`,
    'sensors:',
    ...points.map(
      (id) =>
        `  - { id: ${id}, topic: plant/press-1/${id}, signal: celsius, everyS: 5, resolutionK: 0.1, plausible: ${plausible} }`,
    ),
  ];
  writeFileSync(join(folder, 'plant.yaml'), `${lines.join('\n')}\n`);
  return folder;
}

const folder = twoOpenings();
afterAll(() => rmSync(folder, { recursive: true }));

let hall: Hall;
let page: Page;
let loads = 0;

inHall(
  async (opened) => {
    ({ hall, page } = opened);
    await page.addInitScript(() => localStorage.setItem('setwell.job', 'maintenance'));
  },
  join(folder, 'plant.yaml'),
);

const hot = (dipping: readonly string[]): Courses =>
  Object.fromEntries(
    points.map((point) => [
      point,
      dipping.includes(point) ? (min) => 138 - 13 * Math.exp((-min * 60) / 100) : steady(138),
    ]),
  );

/** A cold charge in opening a, and what feels it. */
async function closing(dipping: readonly string[]): Promise<void> {
  const load = `P1-${String((loads += 1))}`;
  const start = { load, lot: `K-${String(loads)}`, recipe: 'shell-13ply', zones: ['opening-a'] };
  await hall.event('press-1', 'load-start', start);
  await hall.play(8, hot(dipping));
  await hall.event('press-1', 'load-end', { load });
  await hall.play(3, hot([]));
}

const go = (path: string) => page.goto(`${hall.url}${path}?lang=en&theme=light`);
const crossed = ['p1-au', 'p1-bl'];
const right = ['p1-au', 'p1-al'];

test(
  'two wires are crossed: found in two closings, shown, put right, proven by hand, and over',
  async () => {
    await hall.play(3, hot([]));
    await closing(crossed);
    await closing(crossed);
    await go('/sensors');
    const wrong = page.locator('section', { hasText: 'Wrong in their readings' });
    await wrong.getByText('Swapped with another').first().waitFor();
    expect(await wrong.locator('h3').allInnerTexts()).toEqual(['p1-al', 'p1-bl']);
    expect(await wrong.innerText()).toContain('In 2 closings one after the other');
    expect(await wrong.innerText()).toContain('count as a gap');
    expect(await faultsOf(page)).toEqual([]);
    await pictured(page, 'swap-found');

    await wrong.getByRole('link', { name: 'p1-al' }).first().click();
    await page.getByRole('heading', { name: 'p1-al' }).waitFor();
    await page.getByText('Swapped with another').waitFor();
    expect(await faultsOf(page)).toEqual([]);
    await pictured(page, 'swap-point');
    await page
      .locator('.change-steps')
      .getByRole('textbox', { name: 'why' })
      .fill('wires crossed at the box');
    await page.getByRole('button', { name: 'Take out of service' }).click();
    await page.getByText(/^Out of service by/).waitFor();
    // The fitter puts the wires right, and warms the probe by hand.
    await page.getByRole('button', { name: 'Start', exact: true }).click();
    await hall.play(1, { ...hot([]), 'p1-al': (min) => 138 + 8 * min });
    await page.getByText(/^p1-al moves, \+\d/).waitFor();
    await page.getByRole('button', { name: 'The wire is proven' }).click();
    await page.getByText('The wire is proven to end here.').waitFor();
    await page.getByRole('button', { name: 'Back in service' }).click();
    await expect.poll(() => page.getByText(/^Out of service by/).count()).toBe(0);

    await closing(right);
    await page.getByText('Nothing wrong is seen in its readings.').waitFor();
    await page.getByText(/Swapped with another, over/).waitFor();
    await pictured(page, 'swap-over');
    await go('/sensors');
    await page.getByText('All 4 points speak').waitFor();
    expect(await page.getByText('Wrong in their readings').count()).toBe(0);
  },
  patient,
);
