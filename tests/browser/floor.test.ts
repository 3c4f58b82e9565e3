import { rm } from 'node:fs/promises';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { expect, test } from 'vitest';
import { sceneHello, sceneJudgements, wholeScene } from './floor-scene.ts';
import { pictured } from './pictures.ts';
import { desk, patient, staged } from './staged.ts';
import { rowText } from './visit.ts';

const { browser, played, see } = staged();

const row = (page: Page, station: string) => page.locator(`li[data-station="${station}"]`);

test(
  'each station says its word and its minutes, in the plant’s order',
  () =>
    played(wholeScene, (on) =>
      see(on, desk, async (page) => {
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
  'where something beside heat decides, the row says that, and no place that is well',
  () =>
    played(
      (fake) => {
        wholeScene(fake);
        const [pressed] = sceneJudgements();
        fake.judge({
          ...pressed!,
          ...{ verdict: 'over', side: 'long', say: 'too-long' },
          places: [{ ...pressed!.places[0]!, verdict: 'in-window', side: null }],
          reasons: [{ code: 'requirement', kind: 'mix-age', verdict: 'over' }],
        });
      },
      (on) =>
        see(on, desk, async (page) => {
          await row(page, 'press-1').getByText('Overcured', { exact: true }).waitFor();
          await row(page, 'press-1').getByText('mix age', { exact: true }).waitFor();
        }),
    ),
  patient,
);

test(
  'a station holding three loads shows the first out, and all of them when asked',
  () =>
    played(wholeScene, (on) =>
      see(on, desk, async (page) => {
        await page.getByRole('button', { name: '3 in rack-a: show all' }).click();
        const further = page.locator('li.further .mins');
        await further.first().waitFor();
        expect(await further.allInnerTexts()).toEqual(['55 min more', '74 min more']);
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
        see(on, desk, async (page) => {
          await page.getByRole('heading', { name: 'No stations yet.' }).waitFor();
          await page.getByText('npm start -- --plant plant.yaml').waitFor();
          await pictured(page, 'floor-no-stations');
        }),
      { ...sceneHello, stations: [] },
    ),
  patient,
);

test(
  'the collector gone: said once, all bars dashed, minutes stand still; back without a reload',
  () =>
    played(wholeScene, (on) =>
      see(on, desk, async (page) => {
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
      see(on, desk, async (page) => {
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
        fake.hello.judgeBehindMs = 40_000;
      },
      (on) =>
        see(on, desk, async (page) => {
          await page.getByText('is not well: disk full on box-1').waitFor();
          // A judge that hangs leaves its last verdicts standing: they are shown as old.
          await page.getByText('has judged nothing since').waitFor();
          await page.locator('li[data-station="press-1"] [class*="dashed"]').first().waitFor();
          await page.getByText('The broker is not connected since').waitFor();
          await pictured(page, 'floor-judge-late');
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
        const context = await browser().newContext({ viewport: desk });
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
