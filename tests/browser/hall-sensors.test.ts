import type { Page } from 'playwright-core';
import { expect, test } from 'vitest';
import { facesOf, inHall, patient, rooms, settled, warm, type Hall } from './hall.ts';
import { tabTo } from './keyboard.ts';
import { pictured } from './pictures.ts';
import { faultsOf } from './screen-quality.ts';

let hall: Hall;
let page: Page;
inHall(async (opened) => {
  ({ hall, page } = opened);
  // On a demo one is looked as, without a password.
  await page.addInitScript(() => localStorage.setItem('setwell.job', 'engineer'));
  await hall.play(3, { ...rooms, ...warm });
  await hall.event('press-1', 'load-start', { load: 'P1-1', lot: 'K-118', recipe: 'shell-13ply' });
  await hall.play(12, { ...rooms, ...warm, ...facesOf('p1', 138, 0) });
  await hall.event('press-1', 'load-end', { load: 'P1-1' });
  await hall.play(1, { ...rooms, ...warm });
});

const go = (path: string) => page.goto(`${hall.url}${path}?lang=en&theme=light`);
/** A point's page, once its acts are there. */
async function goTo(point: string): Promise<void> {
  await go(`/sensors/${point}`);
  await page.getByRole('heading', { name: 'Change' }).waitFor();
}
/** A person's pace: what is faster is a scanner's. */
const hand = { delay: 50 };

/** Goes on by keyboard alone: to what has this name, and types or presses there. */
async function type(name: RegExp, text: string): Promise<void> {
  await tabTo(page, name);
  await page.keyboard.type(text, hand);
}
async function press(name: RegExp): Promise<void> {
  await tabTo(page, name);
  await page.keyboard.press('Enter');
}

test(
  'a thermocouple is changed by keyboard alone: out of service, new element, warmed by hand, back',
  async () => {
    await goTo('p1-u');
    await type(/^why$/, 'jacket torn');
    await press(/^Take out of service$/);
    await page.getByText(/^Out of service by engineer since/).waitFor();
    await type(/^instrument/, 'pt-0412');
    await type(/^serial/, 'A 881');
    await press(/^It is fitted$/);
    await hall.play(0.5, { ...rooms, ...warm });
    await settled(() => page.locator('section', { hasText: 'Fitted' }).first().innerText());
    await page.getByText('A 881 · Pt100', { exact: false }).first().waitFor();
    await page.getByText('The wire is not proven', { exact: false }).first().waitFor();
    await press(/^Start$/);
    await page.locator('.find-answer').waitFor();
    await hall.play(1, { ...rooms, ...warm, 'p1-u': (min) => 138 + 8 * min });
    await page.getByText(/^p1-u moves, \+\d/).waitFor();
    await pictured(page, 'sensor-change');
    await press(/^The wire is proven$/);
    await page.getByText('The wire is proven to end here.').waitFor();
    await press(/^Back in service$/);
    await settled(() => page.getByText(/^Out of service by/).count()).toBe(0);
    const kinds = ['point-withdrawn', 'instrument-fitted', 'wire-proven', 'point-restored'];
    const told = hall.collector.ledger
      .entriesAfter(-1, 1000)
      .map(({ bytes }) => (JSON.parse(bytes.toString('utf8')) as { kind: string }).kind);
    expect(told.filter((kind) => kinds.includes(kind))).toEqual(kinds);
  },
  patient,
);

test(
  'two thermometers are swapped by name: each leaves where it was, and both wires are asked for',
  async () => {
    await goTo('p2-u');
    await type(/^instrument/, 'p2-l');
    await page.getByText('p2-l leaves p2-l with it').waitFor();
    await press(/^It is fitted$/);
    await hall.play(0.5, { ...rooms, ...warm });
    await settled(() => page.locator('section p b.id').first().innerText()).toBe('p2-l');
    await goTo('p2-l');
    await page.getByText('Nothing is fitted here: its readings count as a gap.').waitFor();
    await type(/^instrument/, 'p2-u');
    await press(/^It is fitted$/);
    await hall.play(0.5, { ...rooms, ...warm });
    await settled(() => page.locator('section p b.id').first().innerText()).toBe('p2-u');
    await page.getByText('The wire is not proven', { exact: false }).first().waitFor();
    await press(/^Start$/);
    await page.locator('.find-answer').waitFor();
    await hall.play(1, { ...rooms, ...warm, 'p2-u': (min) => 138 + 8 * min });
    await page.getByText(/^p2-u moves \(.* K\), not p2-l: the wires are swapped\.$/).waitFor();
  },
  patient,
);

test(
  'a certificate that was out of limits as found is entered, and its loads are listed by themselves',
  async () => {
    await goTo('p1-l');
    await press(/^Certificate of p1-l/);
    await type(/^certificate$/, 'C-0999');
    for (const [row, atC] of [
      [1, '20'],
      [2, '160'],
    ] as const) {
      await type(new RegExp(`^As left.* ${row}: at \\[°C\\]$`), atC);
      await page.keyboard.press('Tab');
      await page.keyboard.type('0', hand);
      await page.keyboard.press('Tab');
      await page.keyboard.type('0.3', hand);
    }
    await type(/^As found.* 1: at \[°C\]$/, '138');
    await page.keyboard.press('Tab');
    await page.keyboard.type('-3.5', hand);
    await page.keyboard.press('Tab');
    await page.keyboard.type('none', hand);
    await press(/^Record the certificate$/);
    // What is refused keeps what was typed, and is sent again once it is put right.
    await page.locator('.papers .refused').waitFor();
    const typed = await page
      .locator('.papers input:not([type=date])')
      .evaluateAll((fields) => fields.map((field) => (field as HTMLInputElement).value));
    expect(typed).toEqual(['C-0999', '20', '0', '0.3', '160', '0', '0.3', '138', '-3.5', 'none']);
    await pictured(page, 'sensor-certificate-refused');
    await page.getByLabel(/^As found.* 1: U \(k = 2\) \[K\]$/).fill('0.3');
    await press(/^Record the certificate$/);
    await page.getByText('Recorded', { exact: true }).waitFor();
    await hall.play(1, { ...rooms, ...warm });
    await go('/sensors');
    await page.getByText('p1-l showed 3.5 K too much at 138 °C').waitFor();
    expect(await faultsOf(page)).toEqual([]);
    await pictured(page, 'sensors-impact');
    await page.getByRole('link', { name: 'P1-1' }).click();
    await settled(() => page.locator('.sentence').innerText()).toContain('K-118');
  },
  patient,
);

test(
  'another point stands in for a week, with what that costs',
  async () => {
    await goTo('p1-u');
    await press(/^Let another point stand in…$/);
    await type(/^± /, '1.5');
    await type(/^why$/, 'waits for the spare');
    await press(/^Let another point stand in$/);
    await page.getByText('Recorded', { exact: true }).waitFor();
    await hall.play(1, { ...rooms, ...warm });
    await page.getByText(/^p1-l stands in until/).waitFor();
    expect(await faultsOf(page)).toEqual([]);
    await pictured(page, 'sensor-stand-in');
  },
  patient,
);

test(
  'a value that comes is on the sensors’ screens without being asked for',
  async () => {
    const asked: string[] = [];
    page.on('request', (request) => asked.push(new URL(request.url()).pathname));
    for (const path of ['/sensors/p1-l', '/sensors']) {
      // The page before asks too, and its asking is not the first of this one.
      await page.goto('about:blank');
      // Only the first asking is answered: whatever comes later has come by itself.
      const answered = new Set<string>();
      await page.route('**/api/v1/points**', (route) => {
        const { pathname } = new URL(route.request().url());
        if (answered.has(pathname)) return;
        answered.add(pathname);
        return route.continue();
      });
      const streams = () => asked.filter((each) => each === '/api/v1/readings/stream').length;
      const before = streams();
      await go(path);
      await settled(streams).toBe(before + 1);
      await hall.play(0.1, { ...rooms, ...warm, 'p1-l': () => 131.7 });
      await page.getByText('131.7 °C').first().waitFor();
      await hall.play(0.1, { ...rooms, ...warm, 'p1-l': () => 129.4 });
      await page.getByText('129.4 °C').first().waitFor();
      await page.unroute('**/api/v1/points**');
    }
    await go('/');
  },
  patient,
);
