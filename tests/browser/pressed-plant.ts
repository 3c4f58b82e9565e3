import { randomUUID } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Browser, BrowserContext, Page } from 'playwright-core';
import { expect } from 'vitest';
import type { Collector } from '@setwell/collector/collector';
import { pressedLot } from '../fixtures/pressed-lot.ts';
import { until } from '../fixtures/until.ts';
import { standingPlant } from './standing-plant.ts';

const password = 'a long walk to the press';
export const administrator = 'Ada Berg';

/** A plant with a lot that ended short, an administrator, and two people who may decide. */
export interface PressedPlant {
  collector: Collector;
  url: string;
  close(): Promise<void>;
}

export async function pressedPlant(webFolder: string): Promise<PressedPlant> {
  const pressed = await pressedLot(2);
  const { collector, url, folder, close } = await standingPlant(pressed.works, webFolder);
  await letPeopleIn(url, folder);
  return {
    collector,
    url,
    async close() {
      await close();
      await pressed.end();
    },
  };
}

async function letPeopleIn(url: string, folder: string): Promise<void> {
  let cookie = '';
  const post = async (path: string, body: object) => {
    const headers = { 'content-type': 'application/json', cookie };
    const address = `${url}/api/v1${path}`;
    const answer = await fetch(address, { method: 'POST', headers, body: JSON.stringify(body) });
    expect([path, answer.status]).toEqual([path, 200]);
    const [line = ''] = answer.headers.getSetCookie();
    if (line !== '') cookie = line.slice(0, line.indexOf(';'));
  };
  await until(async () => (await fetch(`${url}/health/ready`)).ok);
  const code = readFileSync(join(folder, 'setup-code'), 'utf8').trim();
  await post('/setup', { code, name: administrator, password });
  for (const name of ['R. Voss', 'T. Lund']) {
    await post('/sign', { password, meaning: 'granted' });
    await post('/people', { id: randomUUID(), name, jobs: ['engineer'], password });
  }
}

/** At this size alone: a wall has no acts, and one that is under way would be gone. */
export async function shown(page: Page, name: string): Promise<void> {
  const pictures = process.env['SETWELL_PICTURES'];
  if (pictures !== undefined) await page.screenshot({ path: join(pictures, `${name}-1440.png`) });
}

/** As fast as a person who knows the way; a scanner is faster, and nothing here is taken for one. */
export async function type(page: Page, text: string): Promise<void> {
  await page.keyboard.type(text, { delay: 60 });
}

/** Signs in on a browser of his own, with the keyboard, on the page that was asked for. */
export async function signedIn(
  browser: Browser,
  address: string,
  name: string,
): Promise<{ page: Page; context: BrowserContext }> {
  const context = await browser.newContext({ viewport: { width: 1440, height: 900 } });
  const page = await context.newPage();
  await page.goto(`${address}?lang=en&theme=light`);
  await page.getByRole('heading', { name: 'Sign in', exact: true }).waitFor();
  await page.getByLabel('Name', { exact: true }).first().focus();
  await type(page, name);
  await page.keyboard.press('Tab');
  await type(page, password);
  await page.keyboard.press('Enter');
  return { page, context };
}

export async function tabToReason(page: Page): Promise<void> {
  const isThere = () => page.evaluate(() => document.activeElement?.tagName === 'TEXTAREA');
  for (let tabs = 0; tabs < 20 && !(await isThere()); tabs += 1) await page.keyboard.press('Tab');
  expect(await isThere()).toBe(true);
}

/** Gives the password again for what the dialog says it means. */
export async function signAs(page: Page, meaning: string, secret = password): Promise<void> {
  await page.getByRole('dialog').getByText(meaning).waitFor();
  await type(page, secret);
  await page.keyboard.press('Enter');
}
