import { execFileSync } from 'node:child_process';
import { writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import type { LoadSealed } from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';
import { lot } from '../fixtures/pressed-lot.ts';
import { tabTo } from './keyboard.ts';
import { administrator, pressedPlant, shown, signAs, signedIn } from './pressed-plant.ts';
import { tabToReason, type, type PressedPlant } from './pressed-plant.ts';
import { faultsOf } from './screen-quality.ts';
import { webAndBrowser } from './staged.ts';

const patient = 300_000;
const given = webAndBrowser();
let plant: PressedPlant;

beforeAll(async () => {
  plant = await pressedPlant(given.web);
}, patient);

afterAll(() => plant.close(), patient);

const holds = () =>
  plant.collector.ledger
    .entriesAfter(-1, 10_000)
    .map(({ bytes }) => JSON.parse(bytes.toString('utf8')) as Entry)
    .filter(({ kind }) => kind.startsWith('legal-hold'));

async function textOf(pdf: Buffer, name: string): Promise<{ text: string; pages: number }> {
  const file = join(given.web, `${name}.pdf`);
  await writeFile(file, pdf);
  const text = execFileSync('pdftotext', ['-layout', file, '-']).toString();
  const pages = /^Pages: +(\d+)$/m.exec(execFileSync('pdfinfo', [file]).toString())?.[1];
  return { text, pages: Number(pages) };
}

async function recordText(page: Page): Promise<string> {
  const answer = await page.request.get(`${plant.url}/api/v1/lots/${lot}/file?as=pdf`);
  expect(answer.status()).toBe(200);
  return (await textOf(await answer.body(), 'record')).text;
}

/** Button, why, the same words once more, the password: by Tab, letters and Enter. */
async function act(page: Page, button: RegExp, reason: string): Promise<void> {
  await tabTo(page, button);
  await page.keyboard.press('Enter');
  await tabToReason(page);
  await type(page, reason);
  await tabTo(page, button);
  await page.keyboard.press('Enter');
  await signAs(page, 'I approve this');
}

test(
  'a legal hold is set and lifted with the keyboard alone; trail, record and PDF say so',
  async () => {
    const { page, context } = await signedIn(
      given.browser,
      `${plant.url}/records/${lot}`,
      administrator,
    );
    await page.getByText(/documents are kept until \d+ Mar 2036/).waitFor({ timeout: 30_000 });
    expect(await recordText(page)).not.toContain('Legal hold');

    await act(page, /^Put a legal hold on it$/, 'claim 17 of the buyer');
    await page.getByText('The legal hold is on the record.').waitFor();
    await page
      .getByText(
        /^Legal hold since 2 Mar 2026 by Ada Berg .*nothing is deleted\. claim 17 of the buyer$/,
      )
      .waitFor();
    await page
      .locator('.trail')
      .getByText(/put a legal hold on the lot/)
      .waitFor();
    expect(await faultsOf(page)).toEqual([]);
    await shown(page, 'legal-hold-set');
    expect((await recordText(page)).replaceAll(/\s+/g, ' ')).toMatch(
      /Legal hold since 2026-03-02T\S+ by p-1, entry \d+: nothing is deleted\. claim 17 of the buyer/,
    );

    await act(page, /^Lift the legal hold$/, 'claim 17 is settled');
    await page.getByText('The legal hold is lifted, on the record.').waitFor();
    await page.getByText(/documents are kept until \d+ Mar 2036/).waitFor();
    await page
      .locator('.trail')
      .getByText(/lifted the legal hold. claim 17 is settled/)
      .waitFor();
    expect(await recordText(page)).not.toContain('Legal hold');
    expect(holds()).toMatchObject([
      { kind: 'legal-hold-set', by: 'p-1', body: { reason: 'claim 17 of the buyer' } },
      { kind: 'legal-hold-lifted', by: 'p-1', body: { reason: 'claim 17 is settled' } },
    ]);
    await context.close();
  },
  patient,
);

test(
  'the hold tag of a lot carries why it is held and the newest checkpoint, on one small sheet',
  async () => {
    const { page, context } = await signedIn(given.browser, `${plant.url}/lots/${lot}`, 'R. Voss');
    await page.getByRole('link', { name: 'Hold tag' }).waitFor({ timeout: 30_000 });
    await tabTo(page, /^Hold tag$/);
    await page.keyboard.press('Enter');
    await page.getByRole('heading', { name: 'ON HOLD' }).waitFor();
    await page.getByText(/P1-00231: Undercured/).waitFor();
    await page.getByText(/On hold since .* by rule: it ended short\./).waitFor();
    await page.getByText('Signed checkpoint').waitFor();
    const newest = plant.collector.ledger.checkpoint()!;
    for (const [width, height] of [
      ['100mm', '150mm'],
      ['105mm', '148mm'],
    ] as const) {
      const { text, pages } = await textOf(await page.pdf({ width, height }), 'tag');
      expect([width, pages]).toEqual([width, 1]);
      const printed = text.replaceAll(/\s+/g, '');
      for (const word of [lot, 'ON HOLD', '2 Mar 2026', 'R. Voss', newest.root, newest.key]) {
        expect(printed).toContain(word.replaceAll(' ', ''));
      }
    }
    expect(await faultsOf(page)).toEqual([]);
    await shown(page, 'hold-tag');
    // The tag's own address opens it too.
    await page.reload();
    await page.getByRole('heading', { name: 'ON HOLD' }).waitFor();
    await context.close();
  },
  patient,
);

/** As the collector does it when the lot's time is over. */
function deleteDocuments(): number {
  const { ledger } = plant.collector;
  const sealed = ledger
    .entriesAfter(-1, 10_000)
    .map(({ bytes }) => JSON.parse(bytes.toString('utf8')) as Entry<LoadSealed>)
    .find(({ kind }) => kind === 'load-sealed')!;
  const { input, readings, result } = sealed.body;
  const named = [input, readings, result];
  const drops = named.map(({ sha256 }) => sha256);
  const bytes = named.reduce((sum, { sha256 }) => sum + ledger.blob(sha256)!.length, 0);
  const body = { lot, because: 'age', years: 10, documents: drops.length, bytes };
  const about = { lots: [lot] };
  const kind = 'lot-file-dropped';
  return plant.collector.append([{ kind, by: 'collector', about, body, drops }])[0]!.n;
}

test(
  'record and PDF say when its documents were deleted, and that they cannot be computed again',
  async () => {
    const n = deleteDocuments();
    const { page, context } = await signedIn(
      given.browser,
      `${plant.url}/records/${lot}`,
      administrator,
    );
    const said = `Its documents were deleted on 2 Mar 2026 (entry ${n}); its entries are here.`;
    await page.getByText(said).waitFor({ timeout: 30_000 });
    await page
      .locator('.trail')
      .getByText(/deleted 3 documents of the lot after 10 years/)
      .waitFor();
    const printed = (await recordText(page)).replaceAll(/\s+/g, ' ');
    expect(printed).toMatch(/3 documents were deleted after their time on 2026-03-02T/);
    expect(printed).toContain(`entry ${n}. The entries are here`);
    expect(printed).not.toContain('the bundle holds all');
    await context.close();
  },
  patient,
);
