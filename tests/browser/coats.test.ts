import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, expect, test, vi } from 'vitest';
import { createCollector, type Collector } from '@setwell/collector/collector';
import { startDashboard, type Dashboard } from '@setwell/dashboard/server/server';
import type { LotDetail } from '@setwell/shared-models/api/dashboard';
import { coatLoad, lot, openOven, type Oven } from '../fixtures/coated-lot.ts';
import { builtWeb, launch } from './harness.ts';
import { pictured } from './pictures.ts';
import { faultsOf } from './screen-quality.ts';

const patient = 120_000;
let oven: Oven;
let collector: Collector;
let dashboard: Dashboard;
let browser: Browser;
let web: string;
let folder: string;
let url: string;

/** Five coats; the gate was left open at the third. */
beforeAll(async () => {
  web = await builtWeb();
  browser = await launch();
  folder = mkdtempSync(join(tmpdir(), 'coats-'));
  oven = openOven(5);
  for (const coat of [1, 2, 4, 5]) {
    oven.bake(coat);
    oven.rest(3);
  }
  const { dataDir, clock } = oven.works;
  await oven.works.collector.stop();
  collector = createCollector({
    ...{
      plantFile: oven.plantFile,
      dataDir,
      clock,
      keyDir: join(dataDir, 'keys'),
      version: 'test',
    },
    clockSetting: { originMs: clock.nowMs(), wallOriginMs: 0, rate: 0 },
    judge: 'inline',
    serve: {},
  });
  const { url: collectorUrl, tokenFile } = await collector.start();
  dashboard = await startDashboard({
    collectorUrl: collectorUrl!,
    token: readFileSync(tokenFile!, 'utf8').trim(),
    ...{ port: 0, dataFolder: folder, webFolder: web, version: 'test', log: () => {} },
  });
  url = `http://127.0.0.1:${dashboard.port}`;
  await vi.waitFor(
    async () => {
      const { steps } = (await (await fetch(`${url}/api/v1/lots/${lot}`)).json()) as LotDetail;
      expect(steps).toHaveLength(4);
    },
    { timeout: 20_000 },
  );
}, patient);

afterAll(async () => {
  await browser.close();
  await dashboard.stop();
  await collector.stop();
  await oven.end();
  rmSync(folder, { recursive: true, force: true });
  await rm(web, { recursive: true, force: true });
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
    const context = await browser.newContext({ viewport: { width, height: 900 } });
    const page = await context.newPage();
    try {
      await page.goto(`${url}${path}?lang=${lang}&theme=${theme}`);
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
