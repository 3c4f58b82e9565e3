import { rm } from 'node:fs/promises';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { raiseShortAtPlan, sceneHello, sceneJudgements, wholeScene } from './floor-scene.ts';
import { builtWeb, launch, stage, type Stage } from './harness.ts';
import { visit } from './visit.ts';

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

/** Tabs until what has the focus has this name; a keyboard cannot do more. */
async function tabTo(page: Page, name: RegExp): Promise<void> {
  for (let i = 0; i < 80; i += 1) {
    await page.keyboard.press('Tab');
    const found = await page.evaluate(() => {
      const at = document.activeElement;
      return at?.getAttribute('aria-label') ?? at?.textContent ?? '';
    });
    if (name.test(found)) return;
  }
  throw new Error(`no way to ${String(name)} by keyboard`);
}

test(
  'a call appears while one looks, is spoken once, and has an owner after "I go"',
  () =>
    played(
      (fake) => sceneJudgements().forEach((judgement) => fake.judge(judgement)),
      (on) =>
        visit(browser, on, desk, async (page) => {
          const press = page.locator('li[data-station="press-1"]');
          await press.getByText('7 min more').waitFor();
          expect(await press.getAttribute('class')).toBe('row');
          raiseShortAtPlan(on.fake);
          const sentence =
            'press 5 min longer: until 14:33, or it ends undercured (left · glue line 6)';
          await page.locator('.call').getByText(sentence).waitFor();
          expect(await page.getByRole('alert').first().innerText()).toBe(
            `New call. press-1: ${sentence}`,
          );
          await page.locator('li.called[data-station="press-1"]').waitFor();
          await page.getByRole('button', { name: 'I go: press-1' }).click();
          await page.getByText('shift lead, 14:26').waitFor();
          expect(on.fake.acts).toHaveLength(1);
          expect(on.fake.acts[0]).toMatchObject({ kind: 'call-acknowledged', by: 'shift-lead' });
          on.fake.append('call-cleared', { call: 'short-at-plan.P1-00231' }, { because: 'over' });
          await page.locator('.call').waitFor({ state: 'detached' });
        }),
    ),
  patient,
);

test(
  'by keyboard alone: Floor, a load, back, Calls, I go',
  () =>
    played(wholeScene, (on) =>
      visit(browser, on, desk, async (page) => {
        await page.locator('li[data-station="bench-1"] .cure-bar').waitFor();
        await tabTo(page, /^press-1$/);
        await page.keyboard.press('Enter');
        await page.getByText('Not yet: 7 min more.').waitFor();
        const cursor = page.getByRole('slider');
        await cursor.waitFor();
        await page.getByText('data: 1 gap, 54 s').waitFor();
        await tabTo(page, /Cursor through the pictures/);
        const first = await cursor.getAttribute('aria-valuetext');
        await page.keyboard.press('ArrowLeft');
        await expect.poll(() => cursor.getAttribute('aria-valuetext')).not.toBe(first);
        expect(await cursor.getAttribute('aria-valuetext')).toMatch(
          /^14:25:58, left · glue line 6, \d+ to \d+ °C computed, cure [\d.]+ to [\d.]+ of 8 equivalent min$/,
        );
        await tabTo(page, /^Floor$/);
        await page.keyboard.press('Enter');
        await page.locator('li[data-station="press-1"]').waitFor();
        await tabTo(page, /^Calls/);
        await page.keyboard.press('Enter');
        await page.getByRole('heading', { name: 'Calls' }).waitFor();
        await tabTo(page, /^I go: press-1$/);
        await page.keyboard.press('Enter');
        await page.getByText(/shift lead, 14:26/).waitFor();
      }),
    ),
  patient,
);

test(
  'on a real plant a name is asked for once, and the page says that sign-in comes later',
  () =>
    played(
      wholeScene,
      (on) =>
        visit(browser, on, desk, async (page) => {
          await page.getByRole('button', { name: 'I go: press-1' }).click();
          await page.getByText('Sign-in comes later').waitFor();
          expect(on.fake.acts).toHaveLength(0);
          await page.getByLabel('Your name, for the record').fill('R. Voss');
          await page.keyboard.press('Enter');
          await page.getByText('R. Voss, 14:26').waitFor();
          await page.getByRole('button', { name: 'I go: bench-1' }).click();
          await expect.poll(() => on.fake.acts.map(({ by }) => by)).toEqual(['R. Voss', 'R. Voss']);
          expect(await page.getByText('demo', { exact: true }).count()).toBe(0);
        }),
      { ...sceneHello, site: { ...sceneHello.site, demo: false } },
    ),
  patient,
);

test(
  'a load is started by hand, two minutes ago, and one without a lot is not',
  () =>
    played(wholeScene, (on) =>
      visit(browser, on, { ...desk, path: '/start' }, async (page) => {
        await page.getByRole('button', { name: 'Start', exact: true }).click();
        await page.getByText('Say which lot it is.').waitFor();
        expect(on.fake.acts).toHaveLength(0);
        await page.getByRole('radio', { name: 'rack-a' }).check();
        await page.getByLabel('Lot').fill('K-300');
        await page.getByRole('radio', { name: '2 min ago' }).check();
        await page.getByRole('button', { name: 'Start', exact: true }).click();
        await page.getByText('Recorded: K-300 in rack-a since 14:24.').waitFor();
        expect(on.fake.acts[0]?.body).toMatchObject({
          event: 'load-start',
          lot: 'K-300',
          recipe: 'rack-shell',
          t: on.fake.nowMs() - 120_000,
        });
      }),
    ),
  patient,
);

test(
  'a load is ended by hand in two steps',
  () =>
    played(wholeScene, (on) =>
      visit(browser, on, { ...desk, path: '/load/P1-00231' }, async (page) => {
        await page.getByRole('button', { name: 'End this load' }).click();
        expect(on.fake.acts).toHaveLength(0);
        await page.getByRole('button', { name: 'Yes, it is out' }).click();
        await page.getByText('Recorded. The record is sealed').waitFor();
        expect(on.fake.acts[0]).toMatchObject({ kind: 'load-end', about: { load: 'P1-00231' } });
      }),
    ),
  patient,
);
