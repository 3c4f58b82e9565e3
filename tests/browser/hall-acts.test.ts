// Longer than the limit because it is one shift, told in its order: each act follows from the last.
import { actCode } from '@setwell/shared-models/plant/act-code';
import { asTyped } from '@setwell/shared-models/plant/scanner-layout';
import type { Page } from 'playwright-core';
import { expect, test } from 'vitest';
import { facesOf, inHall, patient, rooms, settled, warm, type Courses, type Hall } from './hall.ts';
import { scan, tabTo } from './keyboard.ts';
import { pictured } from './pictures.ts';
import { faultsOf, measuresOf } from './screen-quality.ts';
import { desk } from './staged.ts';

let hall: Hall;
let page: Page;
inHall(async (opened) => {
  ({ hall, page } = opened);
  await hall.play(3, { ...rooms, ...warm });
});

/** Press 1 from so many minutes after its closing on. */
const press1 = (holdC: number, fromMin: number): Courses => facesOf('p1', holdC, fromMin);

const go = (path: string) => page.goto(`${hall.url}${path}?lang=en&theme=light`);
/** A scan on a computer set to another layout: keys that no keyboard here has come as events. */
async function scanAsGerman(code: string): Promise<void> {
  await page.evaluate(
    (keys) => {
      for (const key of keys) {
        const event = new KeyboardEvent('keydown', { key, bubbles: true, cancelable: true });
        (document.activeElement ?? document.body).dispatchEvent(event);
      }
    },
    [...asTyped(code, 'de'), 'Enter'],
  );
}

test(
  'a load is started by keyboard and a scan, five minutes ago; a second start is taken back',
  async () => {
    await go('/start/press-1');
    await page.getByRole('heading', { name: 'Start load' }).waitFor();
    await tabTo(page, /^Start$/);
    // The scan must fill in the lot, and its Enter must not press the button that has the focus.
    await scan(page, 'K-118');
    await settled(() => page.getByLabel('Lot').inputValue()).toBe('K-118');
    expect(await page.locator('.refused').count()).toBe(0);
    await page.getByLabel('Recipe').selectOption('shell-13ply');
    await page.getByRole('radio', { name: '5 min ago' }).check();
    await page.getByText('the time of this entry is kept as well').waitFor();
    await tabTo(page, /^Start$/);
    await page.keyboard.press('Enter');
    await page.getByText('Recorded: K-118 in press-1 since 09:38.').waitFor();
    await pictured(page, 'start-recorded');
    await page.getByRole('radio', { name: 'rack-a' }).check();
    await page.getByLabel('Lot').fill('S-1');
    await page.getByRole('button', { name: 'Start', exact: true }).click();
    await settled(() => page.locator('.outcome').innerText()).toContain('Recorded: S-1 in rack-a');
    await page.getByRole('button', { name: /^Take it back/ }).click();
    await page.getByText('There was no such load.').waitFor();
    await go('/');
    await settled(() => page.locator('li[data-station="rack-a"] .mins').innerText()).toMatch(
      /^empty/,
    );
  },
  patient,
);

test(
  'the pictures by keyboard: the cursor speaks, + and − change what is seen, a place is chosen',
  async () => {
    await hall.play(8, { ...rooms, ...warm, ...press1(128, 5) });
    await go('/');
    await tabTo(page, /^press-1$/);
    await page.keyboard.press('Enter');
    const cursor = page.getByRole('slider');
    await cursor.waitFor();
    const whole = await cursor.getAttribute('max');
    await tabTo(page, /^Cursor through the pictures/);
    await page.keyboard.press('ArrowLeft');
    const words =
      /^\d\d:\d\d:\d\d, left · glue line \d+, \d+ to \d+ °C computed, cure [\d.]+ to [\d.]+ of 6 equivalent min$/;
    await settled(() => cursor.getAttribute('aria-valuetext')).toMatch(words);
    await page.keyboard.press('+');
    const from = page.getByLabel('from minute');
    await settled(async () => Number(await from.inputValue())).toBeGreaterThan(3);
    await page.getByRole('button', { name: 'all of the load' }).click();
    await settled(async () => Number(await from.inputValue())).toBe(0);
    await settled(() => cursor.getAttribute('max')).toBe(whole);
    await page
      .getByRole('button', { name: 'left · line 1', exact: true })
      .or(page.getByRole('button', { name: /Show all/ }))
      .first()
      .click();
    await page.getByRole('button', { name: 'left · line 1', exact: true }).click();
    await settled(() => cursor.getAttribute('aria-valuetext')).toContain('glue line 1,');
    await page.getByText('temperatures as a table').click();
    await page.getByRole('columnheader', { name: 'upper − lower, K' }).waitFor();
    await page.getByRole('button', { name: '°F' }).first().click();
    await page.getByRole('columnheader', { name: 'upper − lower, °F difference' }).waitFor();
    const cell = page.locator('.picture-table[open] tbody tr').nth(5).locator('td').nth(3);
    expect(await cell.innerText()).toBe('0.0');
    await page.getByRole('button', { name: '°C' }).first().click();
    await pictured(page, 'load-plan-too-early');
  },
  patient,
);

test(
  'kept closed by promise; put on hold; the card at the station says "I go"; read as on any keyboard',
  async () => {
    await page.getByRole('button', { name: /^I keep it closed until/ }).click();
    await page.getByText(/^shift lead keeps it closed until \d\d:\d\d\.$/).waitFor();
    await page.getByRole('button', { name: 'Hold…' }).click();
    await page.getByRole('button', { name: 'Hold lot K-118' }).click();
    await page.getByText('Say why: the record keeps it.').waitFor();
    await page.getByLabel('Why nobody may use it').fill('blister seen');
    await page.getByRole('button', { name: 'Hold lot K-118' }).click();
    await page.getByText(/On hold since .*: blister seen/).waitFor();
    await go('/scanner');
    await page.getByRole('heading', { name: 'Scanner check' }).waitFor();
    await scanAsGerman('K-118.YZ');
    await page.getByText('this computer reads German: K-118.YZ came as Kß118.ZY').waitFor();
    await go('/');
    await page
      .locator('.call')
      .getByText(/^press \d+ min longer/)
      .waitFor();
    await scanAsGerman(actCode({ act: 'go', station: 'press-1' }));
    await page.getByText('Recorded: you go to press-1.').waitFor();
    await page.locator('.call').getByText('shift lead, ').waitFor();
    await scanAsGerman('K-118');
    await page.getByText('“Kß118” read as K-118').waitFor();
    await page.getByRole('heading', { name: 'Lot K-118' }).waitFor();
    await page.getByText('It is on hold already.').waitFor();
  },
  patient,
);

test(
  'one field finds what bears a name by keyboard: its page, a list, or what may have been meant',
  async () => {
    const look = async (text: string) => {
      await tabTo(page, /^Scan or search/);
      await page.keyboard.type(text, { delay: 80 });
      await page.keyboard.press('Enter');
    };
    await go('/');
    await look('k-118');
    await page.getByRole('heading', { name: 'Lot K-118' }).waitFor();
    await look('p1-u');
    await page.getByRole('heading', { name: 'p1-u' }).waitFor();
    await look('p1');
    await page.getByRole('link', { name: 'p1-l', exact: true }).waitFor();
    expect(await faultsOf(page)).toEqual([]);
    await pictured(page, 'search-several');
    await look('K-181');
    await page.getByText('“K-181” isn’t known.').waitFor();
    expect(await faultsOf(page)).toEqual([]);
    await pictured(page, 'search-nothing');
    await page.getByRole('link', { name: 'K-118' }).click();
    await page.getByRole('heading', { name: 'Lot K-118' }).waitFor();
    // Where a screen takes scans for itself, this field still looks for them.
    await go('/start/press-2');
    await page.getByRole('searchbox').first().focus();
    await scan(page, 'shell-13ply');
    await page.getByRole('heading', { name: /shell-13ply/ }).waitFor();
    expect(await faultsOf(page)).toEqual([]);
    await pictured(page, 'recipe');
  },
  patient,
);

test(
  'a call is shelved with a reason and an end, and had back',
  async () => {
    await hall.event('oven-1', 'load-start', { load: 'O1-1' });
    await go('/calls');
    const card = page.locator('.call-card').filter({ hasText: 'oven-1' });
    await card.getByText('If ignored: nothing proves the load.').waitFor();
    await card.getByRole('button', { name: 'Shelve…' }).click();
    await card.getByLabel('Why it can wait').fill('card is on its way');
    await card.getByRole('button', { name: 'Shelve it' }).click();
    await page.locator('.shelved').getByText('card is on its way').waitFor();
    await pictured(page, 'calls-one-shelved');
    await go('/handover');
    await page.getByText(/oven-1.*card is on its way/).waitFor();
    await go('/calls');
    await page.getByRole('button', { name: 'Back on the list' }).click();
    await card.waitFor();
    // Named on its own screen, the load is judged from its start on, and the call goes.
    await go('/load/O1-1');
    await page.getByLabel('Lot').fill('S-3');
    await page.getByLabel('Recipe').selectOption('top-coat');
    await page.getByRole('button', { name: 'Name it' }).click();
    await page.getByText('It is judged from its start on.').waitFor();
    await hall.play(1, { ...rooms, ...warm, ...press1(128, 13) });
    await page.getByText('lot S-3 · top-coat rev 1').waitFor();
  },
  patient,
);

test(
  'short at the end, on hold by rule, released by two; and the handover says it all',
  async () => {
    await hall.event('press-2', 'load-start', {
      load: 'P2-1',
      lot: 'K-200',
      recipe: 'shell-13ply',
    });
    await hall.play(6, { ...rooms, ...warm, ...press1(128, 14) });
    await go('/load/P2-1');
    await page.getByRole('button', { name: 'End this load' }).click();
    await page.getByRole('button', { name: 'Yes, it is out' }).click();
    await page.getByText('Recorded. The record is sealed').waitFor();
    await hall.play(3, { ...rooms, ...warm, ...press1(128, 20) });
    await go('/load/P2-1');
    await page.getByText(/^Ended .* Undercured: short by/).waitFor();
    await page.getByText('by rule: it ended short').waitFor();
    await page.getByRole('button', { name: 'Decide…' }).click();
    await page.getByRole('radio', { name: 'release' }).check();
    await page.getByText('It counts once a second person has said the same.').waitFor();
    await page.getByLabel('Why').fill('test piece held');
    await page.getByRole('button', { name: 'Yes: release' }).click();
    await page.getByText('a second person must say the same').waitFor();
    await pictured(page, 'load-ended-short');
    await go('/handover');
    await page.getByText('K-200').first().waitFor();
    await page.getByText('a second person must say the same').waitFor();
    await page.getByText(/press-1, lot K-118: closed until/).waitFor();
    await page.getByRole('button', { name: 'I have read it' }).click();
    await page.getByText(/^shift lead, \d\d:\d\d$/).waitFor();
    await pictured(page, 'handover');
    // On paper: one sheet, black on white, nothing to press.
    const pdf = await page.pdf({ format: 'A4' });
    expect(pdf.toString('latin1').match(/\/Type\s*\/Page[^s]/g)).toHaveLength(1);
  },
  patient,
);

test(
  'a station stands by plan, with who and until when; sound is quiet about one call alone',
  async () => {
    await go('/start/store-1');
    await page.getByRole('button', { name: 'Take store-1 out of service…' }).click();
    await page.getByRole('radio', { name: 'planned stop' }).check();
    await page.getByLabel('Why').fill('filters are changed');
    await page.getByRole('button', { name: 'Take it out' }).click();
    await page.getByText('Recorded: store-1 is out of service.').waitFor();
    await hall.play(1, { ...rooms, ...warm, ...press1(128, 23) });
    await page
      .getByText(/^planned stop since \d\d:\d\d, by shift lead: filters are changed$/)
      .waitFor();
    await go('/');
    await settled(() => page.locator('li[data-station="store-1"] .mins').innerText()).toBe(
      'planned stop',
    );
    await page.locator('li[data-station="store-1"]').getByText('by shift lead').waitFor();
    await page.getByRole('button', { name: 'Sound off' }).first().click();
    const quiet = page.getByRole('button', { name: /^Quiet here about/ });
    await quiet.first().waitFor();
    const before = await quiet.count();
    await quiet.first().click();
    await settled(() => quiet.count()).toBe(before - 1);
    await page
      .getByRole('button', { name: /^Sound (on|locked)/ })
      .first()
      .click();
    await go('/start/store-1');
    await page.getByRole('button', { name: 'Put it back into service' }).click();
    await page.getByText('Recorded: back in service.').waitFor();
  },
  patient,
);

/** Each screen with what shows that it has come. */
const screens = [
  ['/', 'li[data-station="press-1"] .mins'],
  ['/load/P1', '.cure-bar'],
  ['/load/P2-1', '.cure-bar'],
  ['/calls', '.call-card'],
  ['/start/press-1', 'form.start select'],
  ['/handover', '.handover table'],
  ['/scanner', 'h1'],
  ['/act-card/press-1', 'h1'],
  ['/last/press-2', '.cure-bar'],
  ['/lots', 'table.lots'],
  ['/lots/K-118', '.steps .cure-bar'],
  ['/hold-tag/K-200', 'h1'],
  ['/records', 'table'],
  ['/records/K-118', '.trail'],
  ['/recipes/shell-13ply', 'table'],
  ['/search/p1', 'table.found'],
  ['/heat-up/press-1', '.cell'],
  ['/sensors', 'table code'],
  ['/sensors/p1-u', 'h1'],
  ['/sensors/due', 'h1'],
  ['/sensors/health', 'table'],
  ['/settings', 'h1'],
  ['/settings/upkeep', '.upkeep-rows li'],
  ['/settings/people-kept', 'table'],
] as const;

test.each(screens)(
  'no finding on %s at any size, in either language and theme',
  async (screen, shown) => {
    await page.setViewportSize(desk);
    await go(await pathOf(screen));
    await page.locator(shown).first().waitFor({ state: 'attached' });
    await pictured(page, `screen${screen.replaceAll('/', '-')}`);
  },
  patient,
);

test.each(['en', 'de'])(
  'on a wall that stands upright nothing is cut off or over its neighbour, %s',
  async (lang) => {
    await page.setViewportSize({ width: 1080, height: 1920 });
    for (const [screen, shown] of screens.slice(0, 3)) {
      await page.goto(`${hall.url}${await pathOf(screen)}?wall=1&lang=${lang}`);
      await page.locator(shown).first().waitFor();
      expect(await measuresOf(page), `${screen} ${lang}`).toEqual([]);
    }
  },
  patient,
);

/** A screen's address; the name of the load that was started by hand was the collector's to give. */
async function pathOf(screen: string): Promise<string> {
  return screen === '/load/P1' ? `/load/${await firstLoad()}` : screen;
}

async function firstLoad(): Promise<string> {
  const answer = await fetch(`${hall.url}/api/v1/loads?station=press-1`);
  const { loads } = (await answer.json()) as { loads: { id: string }[] };
  return loads[0]?.id ?? '';
}
