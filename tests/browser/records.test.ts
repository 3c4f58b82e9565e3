import { createHash, randomUUID } from 'node:crypto';
import { statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it, test, vi } from 'vitest';
import { releasedModels } from '@setwell/collector/verify/released-models';
import { StoredFile } from '@setwell/collector/verify/stored-file';
import { verifyBundle } from '@setwell/collector/verify/verify-bundle';
import { verifyPeriod } from '@setwell/collector/verify/verify-period';
import type {
  Completeness,
  RecordSample,
  RecordsFound,
  Trail,
} from '@setwell/shared-models/api/records';
import { lot, pressedLot, type PressedLot } from '../fixtures/pressed-lot.ts';
import { startMs, usualFaceC } from '../fixtures/press-plant/works.ts';
import { pictured } from './pictures.ts';
import { axeFindings } from './screen-quality.ts';
import { webAndBrowser } from './staged.ts';
import { standingPlant, type StandingPlant } from './standing-plant.ts';

const patient = 300_000;
const given = webAndBrowser();
let pressed: PressedLot;
let plant: StandingPlant;

/** A plant that pressed one load, left a number out, pressed another, and is asked by an auditor. */
beforeAll(async () => {
  pressed = await pressedLot(2, (works) => {
    works.event('load-start', { load: 'P1-00234', lot: 'K-119', recipe: 'shell-13ply' });
    works.press(24, usualFaceC);
    works.event('load-end', { load: 'P1-00234' });
    works.press(3, usualFaceC);
  });
  plant = await standingPlant(pressed.works, given.web);
  await vi.waitFor(async () => expect((await found('')).rows).toHaveLength(2), { timeout: 20_000 });
}, patient);

afterAll(async () => {
  await plant.close();
  await pressed.end();
}, patient);

const period = `from=${startMs - 3_600_000}&to=${startMs + 7_200_000}`;
const asked = async <T>(path: string) =>
  (await (await fetch(`${plant.url}/api/v1${path}`)).json()) as T;
const found = (text: string) =>
  asked<RecordsFound>(`/records?${period}&text=${encodeURIComponent(text)}`);

describe('the auditor’s questions', () => {
  it('finds loads by lot, load, station and recipe, and says how many it looked at', async () => {
    const names = async (text: string) => (await found(text)).rows.map(({ load }) => load);
    expect(await names('k-119')).toEqual(['P1-00234']);
    expect(await names('P1-00231')).toEqual(['P1-00231']);
    expect(await names('press-1')).toHaveLength(2);
    expect(await names('shell-13ply')).toHaveLength(2);
    expect(await found('nothing')).toMatchObject({ rows: [], lookedAt: 2, isCut: false });
  });

  it('names the numbers and the hours that have no load, and the loads not in their window', async () => {
    const answer = await asked<Completeness>(`/records/completeness?${period}`);
    expect(answer.numbers[0]?.missing).toEqual(['P1-00232', 'P1-00233']);
    const [press] = answer.stations;
    // From 07:40 UTC: nothing came in before 08:40, then two loads until 09:12.
    expect(press?.hours.map(({ state }) => state)).toEqual([
      'no-readings',
      'load',
      'load',
      'no-readings',
    ]);
    expect(answer.notInWindow.rows.map(({ load, verdict }) => `${load} ${verdict}`)).toEqual([
      'P1-00231 under',
    ]);
    expect(answer.settings.rows.map(({ kind }) => kind)).toContain('recipe-approved');
  });

  it('draws by the auditor’s seed, which anybody can draw again, bad ones first', async () => {
    const drawn = await asked<RecordSample>(`/records/sample?${period}&seed=7%20geese`);
    expect(drawn.of).toBe(2);
    expect(drawn.rows.map(({ load }) => load)).toEqual(['P1-00231', 'P1-00234']);
    for (const { load, rank } of drawn.rows) {
      expect(rank).toBe(createHash('sha256').update(`7 geese\n${load}`).digest('hex'));
    }
  });

  it('shows a lot as it stood after an entry', async () => {
    const now = await asked<Trail>(`/records/trail?lot=${lot}`);
    expect(now.file?.loads).toMatchObject([{ load: 'P1-00231', state: 'sealed' }]);
    const ended = now.entries.find(({ kind }) => kind === 'load-ended')!.n;
    const then = await asked<Trail>(`/records/trail?lot=${lot}&asOf=${ended}`);
    expect(then.file?.loads).toMatchObject([{ load: 'P1-00231', state: 'ended', revision: null }]);
    expect(await asked(`/records/trail?lot=K-999`)).toMatchObject({ status: 404 });
    expect(await asked(`/records?from=5&to=1`)).toMatchObject({ status: 422, field: 'to' });
  });

  it('gives a bundle that verifies, and the trail says who took it', async () => {
    const answer = await fetch(`${plant.url}/api/v1/lots/${lot}/file?as=bundle`);
    expect(answer.headers.get('content-disposition')).toContain('K-118.bundle.zip');
    const zip = Buffer.from(await answer.arrayBuffer());
    const brought = { key: pressed.key, since: null, nowMs: Date.now() };
    const verified = await verifyBundle(zip, brought, releasedModels());
    expect(verified).toMatchObject({ lot, findings: [] });
    await vi.waitFor(async () => {
      const { entries } = await asked<Trail>(`/records/trail?lot=${lot}`);
      expect(entries.at(-1)).toMatchObject({ kind: 'record-exported' });
    });
  });
});

/** A legal hold needs a reason, and somebody who may. */
async function asksForReason(page: Page): Promise<void> {
  await page.getByText(/documents are kept until \d+ Mar 2036/).waitFor();
  const act = page.getByRole('button', { name: 'Put a legal hold on it' });
  await act.click();
  await act.click();
  await page.locator('.reason-form [role=alert]').waitFor();
  await page.getByRole('button', { name: 'Cancel' }).click();
}

it('lets nobody hold a lot who may not, and says what there is to keep', async () => {
  const body = { id: randomUUID(), by: 'A. Lind', reason: 'a claim' };
  const answer = await fetch(`${plant.url}/api/v1/lots/${lot}/legal-hold`, {
    method: 'POST',
    headers: { 'content-type': 'application/json', origin: plant.url },
    body: JSON.stringify(body),
  });
  expect(answer.status).toBe(401);
  expect(await asked(`/lots/${lot}/retention`)).toMatchObject({ hold: null, dropped: null });
  expect(await asked('/checkpoint')).toMatchObject({ key: pressed.key });
});

it(
  'gives a whole period as one bundle that verifies',
  async () => {
    const answer = await fetch(`${plant.url}/api/v1/records/period?${period}`);
    expect(answer.headers.get('content-disposition')).toContain('.period.zip');
    const file = join(plant.folder, 'period.zip');
    writeFileSync(file, Buffer.from(await answer.arrayBuffer()));
    const stored = new StoredFile(file, statSync(file).size);
    const brought = { key: pressed.key, since: null, nowMs: Date.now() };
    const verified = await verifyPeriod(stored, brought, releasedModels());
    stored.close();
    expect(verified).toMatchObject({ complete: true, recomputed: true, findings: [] });
    expect(verified.lots.map((each) => each.lot)).toEqual([lot, 'K-119']);
    const none = await fetch(`${plant.url}/api/v1/records/period?from=0&to=1000`);
    expect(none.status).toBe(404);
  },
  patient,
);

it(
  'hands over a lot’s bundle and its PDF where the lot is looked at',
  async () => {
    const context = await given.browser.newContext({ viewport: { width: 390, height: 844 } });
    const page = await context.newPage();
    try {
      await page.goto(`${plant.url}/lots/${lot}?lang=en`);
      for (const [name, file] of [
        ['Bundle to verify', 'K-118.bundle.zip'],
        ['PDF', 'K-118.pdf'],
      ] as const) {
        const link = page.getByRole('link', { name, exact: true });
        await link.waitFor();
        const [taken] = await Promise.all([page.waitForEvent('download'), link.click()]);
        expect(taken.suggestedFilename()).toBe(file);
      }
      await page.getByRole('link', { name: 'Trail and checks' }).click();
      await page.getByText('Record of lot K-118').waitFor();
    } finally {
      await context.close();
    }
  },
  patient,
);

test.each(['light', 'dark'] as const)(
  'the Records screens, %s: a gap is seen, a sample is drawn, a record is read as of then',
  async (theme) => {
    const context = await given.browser.newContext({ viewport: { width: 1440, height: 900 } });
    const page = await context.newPage();
    try {
      await page.goto(`${plant.url}/records?lang=en&theme=${theme}`);
      await page.getByText('2 numbers are missing: P1-00232, P1-00233').waitFor();
      await page.getByLabel('Your seed').fill('7 geese');
      await page.keyboard.press('Enter');
      await page.getByText('2 of 2 loads drawn with the seed “7 geese”.').waitFor();
      expect(await axeFindings(page)).toEqual([]);
      await pictured(page, `records-${theme}`);
      await page.getByRole('link', { name: lot }).first().click();
      await page.getByText('Record of lot K-118').waitFor();
      const field = page.getByLabel(/^As of entry/);
      await field.fill(String(await field.getAttribute('min')));
      await page.keyboard.press('Tab');
      await page.getByText('no sealed account').waitFor();
      await page.getByText('Signed checkpoint').waitFor();
      await asksForReason(page);
      await pictured(page, `record-${theme}`);
      expect(await axeFindings(page)).toEqual([]);
      const width = await page.evaluate('document.documentElement.scrollWidth');
      expect(width).toBe(1440);
    } finally {
      await context.close();
    }
  },
  patient,
);

it(
  'tells a lot’s trail in the reader’s own words, down to the rule, the call and what was said',
  async () => {
    const context = await given.browser.newContext({ viewport: { width: 390, height: 844 } });
    const page = await context.newPage();
    try {
      await page.goto(`${plant.url}/records/${lot}?lang=de`);
      await page.getByText('entschieden: sperren. nach Regel: zu wenig am Ende').waitFor();
      const trail = await page.locator('.trail').innerText();
      expect(trail).toContain('gesagt: Noch nicht');
      expect(trail).toContain(`gerufen: Los ${lot} endete mit zu wenig`);
      for (const kept of await page.locator('.trail .id').all()) {
        expect(await kept.evaluate((id) => id.getClientRects().length)).toBe(1);
      }
    } finally {
      await context.close();
    }
  },
  patient,
);
