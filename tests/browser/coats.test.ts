import { afterAll, beforeAll, expect, test, vi } from 'vitest';
import type { LotDetail } from '@setwell/shared-models/api/dashboard';
import { coatLoad, lot, openOven, type Oven } from '../fixtures/coated-lot.ts';
import { pictured } from './pictures.ts';
import { faultsOf } from './screen-quality.ts';
import { webAndBrowser } from './staged.ts';
import { standingPlant, type StandingPlant } from './standing-plant.ts';

const patient = 120_000;
const given = webAndBrowser();
let oven: Oven;
let plant: StandingPlant;

/** Five coats; the gate was left open at the third. */
beforeAll(async () => {
  oven = openOven(5);
  for (const coat of [1, 2, 4, 5]) {
    oven.bake(coat);
    oven.rest(3);
  }
  await oven.works.collector.stop();
  plant = await standingPlant(oven.works, given.web, oven.plantFile);
  await vi.waitFor(
    async () => {
      const answer = await fetch(`${plant.url}/api/v1/lots/${lot}`);
      const { steps } = (await answer.json()) as LotDetail;
      expect(steps).toHaveLength(4);
    },
    { timeout: 20_000 },
  );
}, patient);

afterAll(async () => {
  await plant.close();
  await oven.end();
}, patient);

const wanted = {
  en: {
    rows: ['Coat 5', 'Coat 4', 'Coat 3', 'Coat 2', 'Coat 1'],
    missed: 'never baked: no later bake heals it',
    verdict: 'Undercured',
    because: 'Undercured: earlier coats.',
  },
  de: {
    rows: ['Schicht 5', 'Schicht 4', 'Schicht 3', 'Schicht 2', 'Schicht 1'],
    missed: 'nie getrocknet: keine spätere Trocknung heilt das',
    verdict: 'Zu wenig',
    because: 'Zu wenig: frühere Schichten.',
  },
} as const;

test.each([
  [`/lots/${lot}`, 'en', 'light', 1440],
  [`/lots/${lot}`, 'de', 'dark', 390],
  [`/load/${coatLoad(5)}`, 'en', 'dark', 1440],
  [`/load/${coatLoad(5)}`, 'de', 'light', 390],
] as const)(
  'coats lie as they were laid on %s, %s, %s, %i px, and the missed one says so',
  async (path, lang, theme, width) => {
    const context = await given.browser.newContext({ viewport: { width, height: 900 } });
    const page = await context.newPage();
    try {
      await page.goto(`${plant.url}${path}?lang=${lang}&theme=${theme}`);
      const { rows, missed, verdict, because } = wanted[lang];
      const table = page.locator('table.coats');
      await table.waitFor();
      expect(await table.locator('th').allInnerTexts()).toEqual(rows);
      const third = table.locator('tr').nth(2);
      expect(await third.innerText()).toContain(missed);
      expect(await third.locator('b').innerText()).toBe(verdict);
      const bar = table.locator('tr').last().locator('svg[role=img]').first();
      expect(await bar.getAttribute('aria-label')).toContain(rows[4]);
      // What later bakes gave to the first coat; none has come after the last.
      const later = (row: number) =>
        table.locator('tr').nth(row).locator('[fill="url(#hatch-later)"]');
      expect(await later(4).count()).toBe(1);
      expect(await later(0).count()).toBe(0);
      // Its own heat is in the window: the load says what is not.
      if (path.startsWith('/load/')) await page.getByText(because).waitFor();
      expect(await faultsOf(page)).toEqual([]);
      await pictured(page, `coats-${path.split('/')[1]}-${lang}-${theme}`);
    } finally {
      await context.close();
    }
  },
  patient,
);
