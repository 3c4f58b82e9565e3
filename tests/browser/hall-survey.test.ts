import type { Locator, Page } from 'playwright-core';
import { expect, test } from 'vitest';
import { inHall, patient, rooms, steady, type Hall } from './hall.ts';
import { pictured } from './pictures.ts';
import { faultsOf } from './screen-quality.ts';

let hall: Hall;
let page: Page;
inHall(async (opened) => {
  ({ hall, page } = opened);
  await page.addInitScript(() => localStorage.setItem('setwell.job', 'engineer'));
  await hall.play(35, { ...rooms, 'p1-u': steady(138.6), 'p1-l': steady(137.4) });
  await page.goto(`${hall.url}/heat-up/press-1?lang=en&theme=light`);
});

const button = (name: string | RegExp) => page.getByRole('button', { name });
const plan = () => page.getByRole('region', { name: 'Plan' });
const places = () => plan().locator('.survey-map li').allInnerTexts();
const newest = () => page.locator('.jobs .job', { has: page.locator('.survey-map') }).first();

async function begin(): Promise<void> {
  await button('Take a survey…').click();
  await page.getByLabel('Set point').fill('138');
}

async function record(): Promise<void> {
  await button('Record the survey').click();
  await page.getByText('Recorded', { exact: true }).waitFor();
  await button('Cancel').click();
  await hall.play(1, { ...rooms, 'p1-u': steady(138.6), 'p1-l': steady(137.4) });
}

/** Nine thermocouples over half an hour, every minute; each place differs by so much. */
function loggers(placesK: readonly number[]): { name: string; mimeType: string; buffer: Buffer } {
  const head = ['time_s', ...placesK.map((_, i) => `s${String(i + 1)}`)].join(',');
  const rows = Array.from({ length: 31 }, (_, minute) =>
    [60 * minute, ...placesK.map((k) => (138 + k + 0.1 * (minute % 2)).toFixed(1))].join(','),
  );
  const buffer = Buffer.from([head, ...rows, ''].join('\n'));
  return { name: 'logger.csv', mimeType: 'text/csv', buffer };
}

test(
  'a survey of a station’s own points: planned, recorded, drawn, and a sheet to sign',
  async () => {
    await begin();
    expect(await places()).toEqual(['1\np1-u', '2\np1-l']);
    expect(await plan().innerText()).toContain('Soak for 30 min or longer');
    await page.getByLabel('Places').fill('3x3');
    await plan().getByText('3x3 has 9 places, and 2 are named.').waitFor();
    await page.getByLabel('Places').fill('2x1');
    expect(await faultsOf(page)).toEqual([]);
    await pictured(page, 'survey-plan-own', plan());
    const paper = plan().getByRole('link', { name: 'Plan to carry there (PDF)' });
    const sheetOf = async (link: Locator) => {
      const address = `${hall.url}${String(await link.getAttribute('href'))}`;
      return (await (await page.request.get(address)).body()).subarray(0, 5).toString();
    };
    expect(await sheetOf(paper)).toBe('%PDF-');
    await record();
    await newest().getByText('inside').waitFor();
    expect(await newest().innerText()).toContain('Uniformity 1.2 K');
    expect(await newest().innerText()).toContain('± 0.6 K as a half-width');
    const sheet = await newest().getByRole('link', { name: 'Sheet to sign (PDF)' });
    expect(await sheetOf(sheet)).toBe('%PDF-');
    expect(await newest().innerText()).toContain('Chair shell, 13 plies says ± 1.5 K; the larger');
    await button(/^Approve the place of V-/).click();
    await button('Approve ± 0.6 K for press-1').waitFor();
    expect(await faultsOf(page)).toEqual([]);
    await pictured(page, 'survey-place', newest());
    await button('Approve ± 0.6 K for press-1').click();
    await newest().getByText('Approved', { exact: true }).waitFor();
    await hall.play(1, { ...rooms, 'p1-u': steady(138.6), 'p1-l': steady(137.4) });
    await newest()
      .getByText(/^Counts now: ± 0.6 K, of V-\d+, approved on /)
      .waitFor();
    await page.goto(`${hall.url}/sensors/p1-u?lang=en&theme=light`);
    const row = page.getByRole('row', { name: /^place/ });
    await row.getByText(/^survey V-\d+, approved on /).waitFor();
    expect(await row.innerText()).toContain('0.600 K');
    expect(await faultsOf(page)).toEqual([]);
    await pictured(page, 'survey-place-budget');
    await page.goto(`${hall.url}/heat-up/press-1?lang=en&theme=light`);
  },
  patient,
);

test(
  'a logger’s file is read with its columns as places, and two that were swapped since are named',
  async () => {
    const lasting = [-1.5, 0, 0.6, -0.4, 1, 0.4, -1, 2.2, -0.2];
    const swapped = [2.2, ...lasting.slice(1, 7), -1.5, -0.2];
    for (const placesK of [lasting, swapped]) {
      await begin();
      await page.getByLabel('Samples').selectOption('file');
      await page.getByLabel('Places').fill('3x3');
      await page.locator('input[type=file]').setInputFiles(loggers(placesK));
      await expect.poll(places).toHaveLength(9);
      expect(await plan().innerText()).toContain('time_s,s1,s2,s3,s4,s5,s6,s7,s8,s9');
      expect(await faultsOf(page)).toEqual([]);
      await pictured(page, 'survey-plan-file', plan());
      await record();
    }
    await newest()
      .getByText(/^s[18], s[18] read now what the other read then/)
      .waitFor();
    expect(await newest().innerText()).toContain('Uniformity 3.7 K');
    expect(await faultsOf(page)).toEqual([]);
    await pictured(page, 'survey-swapped', newest());
  },
  patient,
);
