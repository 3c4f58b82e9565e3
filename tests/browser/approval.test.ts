import type { BrowserContext, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import type { Disposition } from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';
import { until } from '../fixtures/until.ts';
import { tabTo } from './keyboard.ts';
import { pressedPlant, shown, signAs, signedIn, tabToReason, type } from './pressed-plant.ts';
import type { PressedPlant } from './pressed-plant.ts';
import { faultsOf } from './screen-quality.ts';
import { webAndBrowser } from './staged.ts';

const patient = 300_000;
const given = webAndBrowser();
let plant: PressedPlant;

beforeAll(async () => {
  plant = await pressedPlant(given.web);
}, patient);

afterAll(() => plant.close(), patient);

async function atTheLoad(name: string): Promise<{ page: Page; context: BrowserContext }> {
  const opened = await signedIn(given.browser, `${plant.url}/load/P1-00231`, name);
  await opened.page.getByRole('button', { name: 'Decide…' }).waitFor({ timeout: 30_000 });
  return opened;
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

const meaning = 'I release this';
const dispositions = (): Entry<Disposition & { meaning?: string }>[] =>
  plant.collector.ledger
    .entriesAfter(-1, 10_000)
    .map(({ bytes }) => JSON.parse(bytes.toString('utf8')) as Entry<Disposition>)
    .filter(({ kind, by }) => kind === 'disposition' && by !== 'collector');

test(
  'a lot that ended short is let go by two people, each by password with its meaning, with the keyboard alone',
  async () => {
    const first = await atTheLoad('R. Voss');
    await askForRelease(first.page, 'test pieces of this lot held');
    // A wrong password is no signature, and nothing is recorded.
    await signAs(first.page, meaning, 'not this one at all');
    await first.page.getByText('Name and secret do not belong together.').waitFor();
    expect(await faultsOf(first.page)).toEqual([]);
    await shown(first.page, 'approval-signature');
    expect(dispositions()).toEqual([]);
    await first.page.keyboard.press('ControlOrMeta+a');
    await signAs(first.page, meaning);
    await first.page
      .getByText('Recorded. It counts once a second person has said the same.')
      .waitFor();
    await first.page.getByText(/has said “release”.* a second person must say the same/).waitFor();
    await shown(first.page, 'approval-first');

    // The same person is not a second one.
    await first.page.reload();
    await first.page.getByRole('button', { name: 'Decide…' }).waitFor();
    await askForRelease(first.page, 'said again');
    await signAs(first.page, meaning);
    await first.page
      .getByText(/you have said so already; another person must say the same/)
      .waitFor();
    expect(dispositions()).toHaveLength(1);

    const second = await atTheLoad('T. Lund');
    await askForRelease(second.page, 'seen the test pieces');
    await signAs(second.page, meaning);
    await until(() => dispositions().length === 2);
    const [one, two] = dispositions();
    expect(one).toMatchObject({
      ...{ by: 'p-2', body: { decision: 'release', needsSecond: true, seconds: null } },
    });
    expect(two).toMatchObject({ by: 'p-3', body: { decision: 'release', seconds: one?.n } });
    expect([one?.body.meaning, two?.body.meaning]).toEqual(['released', 'released']);
    await second.page.getByText(/Decided .*: release\. seen the test pieces/).waitFor();
    await shown(second.page, 'approval-second');
    // The lot says it too, with who and when.
    await second.page.goto(`${plant.url}/lots/K-118`);
    await second.page
      .locator('.steps li', { hasText: 'P1-00231' })
      .getByText(/^Decided .+: release\. seen the test pieces$/)
      .waitFor();
    await shown(second.page, 'lot-released');
    await first.context.close();
    await second.context.close();
  },
  patient,
);
