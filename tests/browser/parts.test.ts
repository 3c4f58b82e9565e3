import { randomUUID } from 'node:crypto';
import { cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { afterAll, expect, test } from 'vitest';
import { facesOf, inHall, patient, rooms, settled, warm, type Hall } from './hall.ts';
import { pictured } from './pictures.ts';
import { faultsOf } from './screen-quality.ts';

const folder = mkdtempSync(join(tmpdir(), 'setwell-parts-'));
cpSync(new URL('../fixtures/hall', import.meta.url).pathname, folder, { recursive: true });
afterAll(() => rmSync(folder, { recursive: true }));
const coat = join(folder, 'recipes/top-coat.yaml');
const recoat = 'recoatH: { least: 2, most: 16 }\nplannedMin:';
writeFileSync(coat, readFileSync(coat, 'utf8').replace('plannedMin:', recoat));

let hall: Hall;
let page: Page;
inHall(
  async (opened) => {
    ({ hall, page } = opened);
    await hall.play(1, { ...warm, ...rooms });
  },
  join(folder, 'plant.yaml'),
);

const parts = ['K-9-01', 'K-9-02', 'K-9-03'];
const main = () => page.locator('main').innerText();
const open = (part: string, lang = 'en') =>
  page.goto(`${hall.url}/lots/K-9/${part}?lang=${lang}&theme=light&degrees=C`);

async function decide(load: string, decision: string, of: string[]): Promise<void> {
  const body = { id: randomUUID(), by: 'E. Brandt', decision, reason: 'looked at', parts: of };
  const answer = await fetch(`${hall.url}/api/v1/loads/${load}/disposition`, {
    method: 'POST',
    headers: { 'content-type': 'application/json', origin: hall.url },
    body: JSON.stringify(body),
  });
  expect(answer.status).toBe(200);
}

test(
  'a part that is pressed says what was said of it before, where it is, and when it is ready',
  async () => {
    await hall.event('press-1', 'spread', { lot: 'K-9', mix: 'M-1' });
    await hall.play(2, { ...warm, ...rooms });
    await hall.event('press-1', 'load-start', {
      ...{ load: 'P1-9', lot: 'K-9', recipe: 'shell-13ply', parts },
    });
    await hall.play(10, { ...warm, ...rooms, ...facesOf('p1', 138, 0) });
    await open('K-9-02');
    await settled(main).toMatch(/Part K-9-02 of lot K-9/);
    await settled(main).toMatch(/It is in press-1: Not yet, .* more\. Ready about \d\d:\d\d/);
    const told = await page.locator('.part-history > li').allInnerTexts();
    expect(told[0]).toMatch(/Glue spread: M-1/);
    expect(told[1]).toMatch(/Not yet\s+Press · press-1 · P1-9/);
    expect(told[1]).toMatch(/with 2 other parts/);
    await page.getByRole('link', { name: 'All that proves it' }).click();
    await page.getByRole('heading', { level: 1, name: /P1-9 · lot K-9/ }).waitFor();
  },
  patient,
);

test(
  'ended short it is held by rule, each part is let go by itself, and each says its own',
  async () => {
    await hall.event('press-1', 'load-end', { load: 'P1-9' });
    await hall.play(12, { ...warm, ...rooms });
    await open('K-9-01');
    await settled(main).toMatch(
      /It is on hold since \d\d:\d\d \(by rule: it ended short\): nobody may use it/,
    );
    await settled(main).toMatch(/Undercured/);
    await decide('P1-9', 'rework', ['K-9-01']);
    await decide('P1-9', 'scrap', ['K-9-03']);
    await open('K-9-03');
    await settled(main).toMatch(/It is scrapped since .*, by E\. Brandt: looked at/);
    expect(await main()).toMatch(/Decided: hold, by rule/);
    expect(await main()).not.toMatch(/Decided: rework/);
    await open('K-9-02');
    await settled(main).toMatch(/It is on hold/);
    expect(await main()).not.toMatch(/Decided: scrap/);
    await pictured(page, 'part-held');
  },
  patient,
);

test(
  'its lot leads to it: by exception, by all parts, and by the search',
  async () => {
    await page.goto(`${hall.url}/lots/K-9?lang=en`);
    const list = page.getByRole('heading', { name: 'Parts', exact: true }).locator('..');
    await settled(() => list.innerText()).toMatch(/K-9-01\s+Undercured/);
    await pictured(page, 'lot-parts');
    await page.getByRole('link', { name: 'K-9-02', exact: true }).click();
    await page.getByRole('heading', { level: 1, name: 'Part K-9-02 of lot K-9' }).waitFor();
    await page.goto(`${hall.url}/search/K-9-02?lang=en`);
    await page.getByRole('link', { name: 'K-9-02', exact: true }).click();
    await page.getByRole('heading', { level: 1, name: 'Part K-9-02 of lot K-9' }).waitFor();
  },
  patient,
);

test(
  'after a bake it says from when and until when the next coat may follow, and lies under it',
  async () => {
    await hall.event('oven-1', 'coat', { lot: 'S-9', coat: 1, gPerM2: 120 });
    await hall.event('oven-1', 'load-start', {
      ...{ load: 'O1-9', lot: 'S-9', recipe: 'top-coat', parts: ['S-9-1', 'S-9-2'] },
    });
    await hall.play(30, { ...warm, ...rooms });
    await hall.event('oven-1', 'load-end', { load: 'O1-9' });
    await hall.play(12, { ...warm, ...rooms });
    await page.goto(`${hall.url}/lots/S-9/S-9-1?lang=en&theme=light`);
    await settled(main).toMatch(/Ready for the next coat about \d\d:\d\d; by .*\d\d:\d\d/);
    const told = await page.locator('.part-history > li').allInnerTexts();
    expect(told[0]).toMatch(/Coat laid: Coat 1, 120 g\/m²/);
    expect(await main()).toMatch(/In window/);
    expect(await main()).toMatch(/with 1 other part ·/);
    await page.getByRole('rowheader', { name: 'Coat 1' }).waitFor();
    await pictured(page, 'part-coated');
    await hall.play(125, { ...warm, ...rooms });
    await page.reload();
    await settled(main).toMatch(/Ready for the next coat since/);
    await page.goto(`${hall.url}/lots/S-9/S-9-1?lang=de`);
    await settled(main).toMatch(/Bereit zur nächsten Schicht seit/);
  },
  patient,
);

test(
  'it is whole on every screen, in both themes, and what nobody knows is told',
  async () => {
    await page.goto(`${hall.url}/lots/S-9/S-9-1?lang=en&theme=light`);
    await settled(main).toMatch(/What it has been through/);
    for (const width of [390, 1440, 3840]) {
      await page.setViewportSize({ width, height: 900 });
      for (const theme of ['light', 'dark']) {
        await page.evaluate((each) => (document.documentElement.dataset['theme'] = each), theme);
        expect([width, theme, await faultsOf(page)]).toEqual([width, theme, []]);
      }
    }
    await page.emulateMedia({ media: 'print' });
    expect(await page.getByRole('button', { name: 'Print' }).isVisible()).toBe(false);
    await page.emulateMedia({ media: null });
    await page.goto(`${hall.url}/lots/K-9/nobody?lang=en`);
    await page.getByText('No part “nobody” of lot “K-9” is known.').waitFor();
    await page.route('**/parts/K-9-01', (route) => route.fulfill({ status: 503, body: '{}' }));
    await page.goto(`${hall.url}/lots/K-9/K-9-01?lang=en`);
    await page.getByRole('heading', { name: 'Part K-9-01' }).waitFor();
    await settled(main).not.toMatch(/…/);
    expect(await main()).not.toMatch(/is known/);
    await page.unroute('**/parts/K-9-01');
  },
  patient,
);
