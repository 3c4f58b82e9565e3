import { randomUUID } from 'node:crypto';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser, BrowserContext, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { createCollector, type Collector } from '@setwell/collector/collector';
import { startDashboard, type Dashboard } from '@setwell/dashboard/server/server';
import type { Disposition } from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';
import { pressedLot, type PressedLot } from '../fixtures/pressed-lot.ts';
import { plantFile } from '../fixtures/press-plant/works.ts';
import { until } from '../fixtures/until.ts';
import { builtWeb, launch } from './harness.ts';
import { tabTo } from './keyboard.ts';
import { faultsOf } from './screen-quality.ts';

const patient = 300_000;
const password = 'a long walk to the press';
let web: string;
let browser: Browser;
let folder: string;
let pressed: PressedLot;
let collector: Collector;
let dashboard: Dashboard;
let url: string;

/** A plant with a lot that ended short, an administrator, and two people who may decide. */
beforeAll(async () => {
  web = await builtWeb();
  browser = await launch();
  folder = mkdtempSync(join(tmpdir(), 'setwell-approval-'));
  pressed = await pressedLot(2);
  const { dataDir, clock } = pressed.works;
  collector = createCollector({
    ...{ plantFile, dataDir, clock, keyDir: join(dataDir, 'keys'), version: 'test' },
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
  url = `http://127.0.0.1:${String(dashboard.port)}`;
  await letPeopleIn();
}, patient);

afterAll(async () => {
  await browser.close();
  await dashboard.stop();
  await collector.stop();
  await pressed.end();
  rmSync(folder, { recursive: true });
  await rm(web, { recursive: true, force: true });
}, patient);

async function letPeopleIn(): Promise<void> {
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
  await post('/setup', { code, name: 'Ada Berg', password });
  for (const name of ['R. Voss', 'T. Lund']) {
    await post('/sign', { password, meaning: 'granted' });
    await post('/people', { id: randomUUID(), name, jobs: ['engineer'], password });
  }
}

/** At this size alone: a wall has no acts, and one that is under way would be gone. */
async function shown(page: Page, name: string): Promise<void> {
  const pictures = process.env['SETWELL_PICTURES'];
  if (pictures !== undefined) await page.screenshot({ path: join(pictures, `${name}-1440.png`) });
}

/** As fast as a person who knows the way; a scanner is faster, and nothing here is taken for one. */
async function type(page: Page, text: string): Promise<void> {
  await page.keyboard.type(text, { delay: 60 });
}

/** Signs in on a browser of his own, with the keyboard, and opens the load. */
async function atTheLoad(name: string): Promise<{ page: Page; context: BrowserContext }> {
  const context = await browser.newContext({ viewport: { width: 1440, height: 900 } });
  const page = await context.newPage();
  await page.goto(`${url}/load/P1-00231?lang=en&theme=light`);
  await page.getByRole('heading', { name: 'Sign in', exact: true }).waitFor();
  await page.getByLabel('Name', { exact: true }).first().focus();
  await type(page, name);
  await page.keyboard.press('Tab');
  await type(page, password);
  await page.keyboard.press('Enter');
  await page.getByRole('button', { name: 'Decide…' }).waitFor({ timeout: 30_000 });
  return { page, context };
}

async function tabToReason(page: Page): Promise<void> {
  const isThere = () => page.evaluate(() => document.activeElement?.tagName === 'TEXTAREA');
  for (let tabs = 0; tabs < 20 && !(await isThere()); tabs += 1) await page.keyboard.press('Tab');
  expect(await isThere()).toBe(true);
}

/** Decide…, release (which stands there first), why, yes: by Tab, letters and Enter. */
async function askForRelease(page: Page, reason: string): Promise<void> {
  await tabTo(page, /^Decide…$/);
  await page.keyboard.press('Enter');
  await page.getByText('It counts once a second person has said the same.').waitFor();
  await tabToReason(page);
  await type(page, reason);
  await tabTo(page, /^Yes: release$/);
  await page.keyboard.press('Enter');
}

async function signAs(page: Page, secret: string): Promise<void> {
  const dialog = page.getByRole('dialog');
  await dialog.getByText('I release this').waitFor();
  await type(page, secret);
  await page.keyboard.press('Enter');
}

const dispositions = (): Entry<Disposition & { meaning?: string }>[] =>
  collector.ledger
    .entriesAfter(-1, 10_000)
    .map(({ bytes }) => JSON.parse(bytes.toString('utf8')) as Entry<Disposition>)
    .filter(({ kind, by }) => kind === 'disposition' && by !== 'collector');

test(
  'a lot that ended short is let go by two people, each by password with its meaning, with the keyboard alone',
  async () => {
    const first = await atTheLoad('R. Voss');
    await askForRelease(first.page, 'test pieces of this lot held');
    // A wrong password is no signature, and nothing is recorded.
    await signAs(first.page, 'not this one at all');
    await first.page.getByText('Name and secret do not belong together.').waitFor();
    expect(await faultsOf(first.page)).toEqual([]);
    await shown(first.page, 'approval-signature');
    expect(dispositions()).toEqual([]);
    await first.page.keyboard.press('ControlOrMeta+a');
    await signAs(first.page, password);
    await first.page
      .getByText('Recorded. It counts once a second person has said the same.')
      .waitFor();
    await first.page.getByText(/has said “release”.* a second person must say the same/).waitFor();
    await shown(first.page, 'approval-first');

    // The same person is not a second one.
    await first.page.reload();
    await first.page.getByRole('button', { name: 'Decide…' }).waitFor();
    await askForRelease(first.page, 'said again');
    await signAs(first.page, password);
    await first.page
      .getByText(/you have said so already; another person must say the same/)
      .waitFor();
    expect(dispositions()).toHaveLength(1);

    const second = await atTheLoad('T. Lund');
    await askForRelease(second.page, 'seen the test pieces');
    await signAs(second.page, password);
    await until(() => dispositions().length === 2);
    const [one, two] = dispositions();
    expect(one).toMatchObject({
      ...{ by: 'p-2', body: { decision: 'release', needsSecond: true, seconds: null } },
    });
    expect(two).toMatchObject({ by: 'p-3', body: { decision: 'release', seconds: one?.n } });
    expect([one?.body.meaning, two?.body.meaning]).toEqual(['released', 'released']);
    await second.page.getByText(/Decided .*: release\. seen the test pieces/).waitFor();
    await shown(second.page, 'approval-second');
    await first.context.close();
    await second.context.close();
  },
  patient,
);
