import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import type { Locator } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { sceneHello, wholeScene } from './floor-scene.ts';
import { open, stage, type Stage } from './harness.ts';
import { scan } from './keyboard.ts';
import { pictured } from './pictures.ts';
import { shown } from './pressed-plant.ts';
import { webAndBrowser } from './staged.ts';

const patient = 180_000;
const desk = { width: 1440, height: 900, path: '/settings' };
const password = 'a long walk to the press';
const given = webAndBrowser();
let on: Stage;

beforeAll(async () => {
  const plant = { ...sceneHello, site: { ...sceneHello.site, demo: false } };
  on = await stage(given.web, wholeScene, plant);
}, patient);

afterAll(() => on.close(), patient);

/** A secret typed as fast as a scanner does, and Enter: no scan is made of it. */
async function secret(at: Locator, text: string): Promise<void> {
  await at.focus();
  await scan(at.page(), text);
}

test(
  'from a plant of nobody to an act with a badge: code, person, wall, act, all by keyboard where hands type',
  async () => {
    const { page, context } = await open(given.browser, on, desk);
    const code = (await readFile(join(on.dataFolder, 'setup-code'), 'utf8')).trim();
    await pictured(page, 'settings-first');
    await page.getByLabel('Code').fill(code);
    await page.getByLabel('Name', { exact: true }).fill('Ada Berg');
    await secret(page.getByLabel(/^Password/), password);
    await page.getByText('Ada Berg').first().waitFor();

    // A person is let in: the password is asked again, with its meaning.
    await page.getByText('Let somebody in').first().click();
    await page.getByLabel('Name', { exact: true }).fill('R. Voss');
    await page.getByRole('checkbox', { name: 'shift lead' }).check();
    await page.getByLabel(/^Badge: scan/).fill('badge 0017');
    await page.getByRole('button', { name: 'Let somebody in' }).click();
    const dialog = page.getByRole('dialog');
    await dialog.getByText('I let somebody or something in or out').waitFor();
    await pictured(page, 'settings-signature');
    await secret(dialog.getByLabel('Password'), password);
    await page.getByRole('cell', { name: 'R. Voss' }).waitFor();
    await pictured(page, 'settings-people');

    // A wall of the hall: nothing but its code, then the floor.
    const wall = await open(given.browser, on, { width: 1920, height: 1080, wall: true });
    const shown = wall.page.locator('.pairing');
    await expect.poll(() => shown.innerText()).toMatch(/\d{3} \d{3}/);
    await pictured(wall.page, 'wall-unpaired');
    const digits = /\d{3} \d{3}/.exec(await shown.innerText())?.[0] ?? '';
    await page.getByText('Pair a wall').click();
    await page.getByLabel('Six digits').fill(digits);
    await page.getByLabel('What it is called').first().fill('Wall at press 1');
    await page.getByRole('button', { name: 'Pair', exact: true }).click();
    await secret(dialog.getByLabel('Password'), password);
    await wall.page.locator('li[data-station="press-1"]').waitFor({ timeout: 30_000 });
    await page.getByRole('cell', { name: 'Wall at press 1 · wall' }).waitFor();
    await wall.context.close();

    // What is kept of people is said on a page of its own.
    const kept = await page.context().newPage();
    await kept.goto(`${on.url}/settings/people-kept?lang=en&theme=light`);
    await kept.getByText('namesKeptD').waitFor();
    await pictured(kept, 'people-kept');
    await kept.close();

    // Signed out, the page shows nothing of the plant.
    await page.getByRole('button', { name: 'Sign out' }).click();
    await page.getByText('This plant shows nothing to strangers').waitFor();
    await pictured(page, 'shut');
    await context.close();
  },
  patient,
);

test(
  'an act on a shared PC asks for a badge, and the record has its number',
  async () => {
    const look = { ...desk, path: '/' };
    const { page, context } = await open(given.browser, on, look);
    await page.getByText('This plant shows nothing to strangers').waitFor();
    await page.getByLabel('Name', { exact: true }).first().fill('Ada Berg');
    // Signing in takes its time: meanwhile the button says that it was pressed.
    let letGo = (): void => undefined;
    const held = new Promise<void>((done) => (letGo = done));
    await page.route('**/api/v1/sign-in', async (route) => {
      await held;
      await route.continue();
    });
    await secret(page.getByLabel('Password').first(), password);
    expect(await page.getByRole('button', { name: 'Sending…' }).first().isDisabled()).toBe(true);
    await shown(page, 'sign-in-sending');
    letGo();
    const goes = page.getByRole('button', { name: /I go/ }).first();
    // Whoever presses something is here: his sign-in does not rest.
    const here = page.waitForRequest('**/api/v1/me/here');
    await goes.click();
    await here;
    // An administrator has no right on the floor: the server says so, nobody is asked in vain.
    await page
      .getByText(/Not recorded/)
      .first()
      .waitFor();
    // Where a whole form would have to be filled, it is said before.
    await page.goto(`${on.url}/start?lang=en`);
    await page.getByText('Ada Berg, your jobs do not start loads.').waitFor();
    await page.getByText('let somebody in as shift lead').waitFor();
    expect(await page.getByLabel('Lot').count()).toBe(0);
    await pictured(page, 'start-may-not');
    await context.close();

    const second = await open(given.browser, on, { ...look, width: 390, height: 844 });
    await second.page.getByRole('heading', { name: 'Sign in', exact: true }).waitFor();
    const answer = await second.page.evaluate(async () => {
      const headers = { 'content-type': 'application/json' };
      const body = JSON.stringify({ badge: 'badge 0017' });
      const got = await fetch('/api/v1/identify', { method: 'POST', headers, body });
      return got.status;
    });
    expect(answer).toBe(200);
    // Taking a lot's file away is not the floor's: whoever may not is told who may.
    await second.page.goto(`${on.url}/lots/K-118?lang=en`);
    await second.page.getByText('Only auditors, engineers and administrators').waitFor();
    expect(await second.page.locator('a[download]').count()).toBe(0);
    await second.page.goto(on.url);
    await second.page.getByRole('button', { name: /I go/ }).first().click();
    await expect
      .poll(() => on.fake.acts.find(({ kind }) => kind === 'call-acknowledged')?.by)
      .toBe('p-2');
    await second.context.close();
  },
  patient,
);
