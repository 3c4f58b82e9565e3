import { rm } from 'node:fs/promises';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import type { Judgement, StationNow } from '@setwell/shared-models/api/collector';
import type { Forecast } from '@setwell/shared-models/score/shape';
import { minuteMs, sceneHello, sceneJudgements, sceneMs, wholeScene } from './floor-scene.ts';
import { builtWeb, launch, stage, type Stage } from './harness.ts';
import { rowText, visit } from './visit.ts';

const patient = 120_000;
const desk = { width: 1440, height: 900 };
let web: string;
let browser: Browser;

beforeAll(async () => {
  web = await builtWeb();
  browser = await launch();
}, patient);

afterAll(async () => {
  await browser.close();
  await rm(web, { recursive: true, force: true });
}, patient);

/** A stage of its own for a test that changes what the plant says. */
async function played(
  prepare: Parameters<typeof stage>[1],
  play: (on: Stage) => Promise<void>,
  hello = sceneHello,
): Promise<void> {
  const on = await stage(web, prepare, hello);
  try {
    await play(on);
  } finally {
    await on.close();
  }
}

const row = (page: Page, station: string) => page.locator(`li[data-station="${station}"]`);

const station = (id: string, condition: StationNow['condition'], sinceMin: number): StationNow => ({
  type: 'station',
  station: id,
  condition,
  sinceMs: sceneMs - sinceMin * minuteMs,
  asOfMs: sceneMs,
  service: null,
});

test(
  'each station says its word and its minutes, in the plant’s order',
  () =>
    played(wholeScene, (on) =>
      visit(browser, on, desk, async (page) => {
        await row(page, 'bench-1').locator('.cure-bar').waitFor();
        const said = await Promise.all(
          sceneHello.stations.map(async ({ id }) => `${id}|${await rowText(page, id)}`),
        );
        expect(said).toEqual([
          'press-1|Not yet|7 min more',
          'press-2|In window|out by 15:09',
          'rack-a|Not yet|38 min more',
          'oven-1|Not yet|blind 7 min',
          'store-1|Not yet|1 d 4 h more',
          'bench-1|Unproven|on hold',
        ]);
        const order = await page
          .locator('li[data-station]')
          .evaluateAll((rows) => rows.map((each) => each.getAttribute('data-station')));
        expect(order).toEqual(sceneHello.stations.map(({ id }) => id));
        const reversed = await page
          .locator('li.called')
          .evaluateAll((rows) => rows.map((each) => each.getAttribute('data-station')));
        expect(reversed).toEqual(['press-1', 'oven-1', 'bench-1']);
        expect(await row(page, 'press-1').locator('.minutes small').innerText()).toBe(
          'plan 14:28 is 5 min early',
        );
        expect(await row(page, 'press-1').getByRole('img').getAttribute('aria-label')).toBe(
          'cure so far 5.1 to 6.6, nominal 5.9, window 8 to 60 equivalent min, worst left · glue line 6',
        );
        await page.getByText('demo', { exact: true }).first().waitFor();
      }),
    ),
  patient,
);

test(
  'a station holding three loads shows the first out, and all of them when asked',
  () =>
    played(wholeScene, (on) =>
      visit(browser, on, desk, async (page) => {
        await page.getByRole('button', { name: '3 in rack-a: show all' }).click();
        const further = page.locator('li.further .mins');
        await further.first().waitFor();
        expect(await further.allInnerTexts()).toEqual(['55 min more', '74 min more']);
      }),
    ),
  patient,
);

test(
  'between loads a row says cold, heating, empty or that nothing is read, and shows no old verdict',
  () =>
    played(
      (fake) => {
        fake.station(station('press-1', 'cold', 200));
        fake.station(station('press-2', 'heating', 12));
        fake.station(station('rack-a', 'empty', 14));
        fake.station(station('oven-1', 'no-readings', 9));
      },
      (on) =>
        visit(browser, on, desk, async (page) => {
          await row(page, 'rack-a').getByText('empty 14 min').waitFor();
          expect(await rowText(page, 'press-1')).toBe('|cold');
          expect(await rowText(page, 'press-2')).toBe('|heating');
          expect(await rowText(page, 'rack-a')).toBe('|empty 14 min');
          expect(await rowText(page, 'oven-1')).toBe('|no readings');
          expect(await rowText(page, 'store-1')).toBe('|…');
          expect(await page.locator('.row .cure-bar').count()).toBe(0);
        }),
    ),
  patient,
);

type Change = Omit<Partial<Judgement>, 'forecast'> & { forecast?: Partial<Forecast> | null };

test.each<[string, Change, string]>([
  [
    'a load past the most',
    { verdict: 'over', side: null, forecast: { overAtMs: sceneMs - 3 * minuteMs } },
    'Overcured|since 14:23',
  ],
  [
    'nine minutes to the most',
    { verdict: 'in-window', side: null, forecast: { overAtMs: sceneMs + 9.5 * minuteMs } },
    'In window|9 min left',
  ],
  [
    'no way to a proof',
    { verdict: 'unproven', side: 'both', forecast: { waitingHelps: false } },
    'Unproven|ask engineer',
  ],
  [
    'a window without a most',
    { verdict: 'in-window', side: null, window: { least: 8, most: null } },
    'In window|no end',
  ],
  ['no recipe', { recipe: null, forecast: null }, 'Not yet|no recipe'],
  [
    'a range until the platens have recovered',
    {
      forecast: {
        provenEarliestMs: sceneMs + 5.2 * minuteMs,
        provenLatestMs: sceneMs + 8.1 * minuteMs,
      },
    },
    'Not yet|6–9 min',
  ],
  ['nothing computed yet', { forecast: null, places: [] }, 'Not yet|counting'],
])(
  'the row of %s',
  (_, change, expected) =>
    played(
      (fake) => {
        const [first] = sceneJudgements();
        if (first === undefined) throw new Error('the scene has a first load');
        const forecast =
          change.forecast === null || first.forecast === null
            ? null
            : { ...first.forecast, ...change.forecast };
        fake.judge({ ...first, ...change, forecast });
      },
      (on) =>
        visit(browser, on, desk, async (page) => {
          await row(page, 'press-1').locator('.st[href]').waitFor();
          expect(await rowText(page, 'press-1')).toBe(expected);
          expect(await row(page, 'press-1').locator('.bar').getByRole('img').count()).toBe(1);
        }),
    ),
  patient,
);

test(
  'no stations: the page says what to do next',
  () =>
    played(
      () => undefined,
      (on) =>
        visit(browser, on, desk, async (page) => {
          await page.getByRole('heading', { name: 'No stations yet.' }).waitFor();
          await page.getByText('npm start -- --plant plant.yaml').waitFor();
        }),
      { ...sceneHello, stations: [] },
    ),
  patient,
);

test(
  'the collector gone: said once, all bars dashed, minutes stand still; back without a reload',
  () =>
    played(wholeScene, (on) =>
      visit(browser, on, desk, async (page) => {
        await row(page, 'press-1').getByText('7 min more').waitFor();
        await page.evaluate(() => {
          (globalThis as { notReloaded?: boolean }).notReloaded = true;
        });
        await on.fake.stop();
        await page.getByText('what you do is not recorded').waitFor();
        expect(await row(page, 'press-1').locator('.proven-dashed').count()).toBe(1);
        expect(await rowText(page, 'press-1')).toBe('Not yet|7 min more');
        await page.getByRole('button', { name: 'I go: press-1' }).click();
        await page.getByText('Not recorded: the collector does not answer').waitFor();
        await on.fake.start();
        await page.getByText('what you do is not recorded').waitFor({ state: 'detached' });
        expect(
          await page.evaluate(() => (globalThis as { notReloaded?: boolean }).notReloaded),
        ).toBe(true);
      }),
    ),
  patient,
);

test(
  'the server restarted, its view deleted: the same screen without a reload',
  () =>
    played(wholeScene, (on) =>
      visit(browser, on, desk, async (page) => {
        await row(page, 'bench-1').locator('.cure-bar').waitFor();
        await page.evaluate(() => {
          (globalThis as { notReloaded?: boolean }).notReloaded = true;
        });
        const before = await page.locator('.rows').innerText();
        await on.restart(async () => {
          await page.getByText('No connection since').waitFor();
          for (const end of ['', '-wal', '-shm']) {
            await rm(join(on.dataFolder, `view.db${end}`), { force: true });
          }
        });
        await page.getByText('No connection since').waitFor({ state: 'detached' });
        await row(page, 'bench-1').locator('.cure-bar').waitFor();
        await expect.poll(() => page.locator('.rows').innerText()).toBe(before);
        expect(
          await page.evaluate(() => (globalThis as { notReloaded?: boolean }).notReloaded),
        ).toBe(true);
      }),
    ),
  patient,
);

test(
  'trouble of the collector and of the broker are each one line',
  () =>
    played(
      (fake) => {
        wholeScene(fake);
        fake.notReady = 'disk full on box-1';
        fake.hello.broker.connected = false;
      },
      (on) =>
        visit(browser, on, desk, async (page) => {
          await page.getByText('is not well: disk full on box-1').waitFor();
          await page.getByText('The broker is not connected since').waitFor();
        }),
    ),
  patient,
);

test(
  'a screen whose clock is off shows the plant’s time and says so',
  () =>
    played(
      (fake) => {
        fake.clock = { originMs: 0, wallOriginMs: 0, rate: 1 };
        wholeScene(fake);
      },
      async (on) => {
        const context = await browser.newContext({ viewport: desk });
        try {
          const page = await context.newPage();
          await page.clock.install({ time: Date.now() - 40_000 });
          await page.goto(`${on.url}/?lang=en`);
          await page.getByText(/This screen’s clock is off by (39|40|41) s/).waitFor();
        } finally {
          await context.close();
        }
      },
    ),
  patient,
);
