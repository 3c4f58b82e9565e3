import type { Page } from 'playwright-core';
import { expect, test } from 'vitest';
import { facesOf, inHall, patient, rooms, settled, warm, type Courses, type Hall } from './hall.ts';
import { scan } from './keyboard.ts';
import { pictured } from './pictures.ts';

let hall: Hall;
let page: Page;
inHall(async (opened) => {
  ({ hall, page } = opened);
  await hall.play(3, { ...rooms, ...warm });
});

const go = (path: string) => page.goto(`${hall.url}${path}?lang=en&theme=light`);

interface Named {
  id: string;
  lot: string;
  startMs: number;
}

test(
  'closings that nobody named wait in their row: one is named and has its own clock, one was empty',
  async () => {
    const closedMs = hall.clock.nowMs();
    const press2 = (fromMin: number): Courses => facesOf('p2', 138, fromMin);
    await hall.play(6, { ...rooms, ...warm, ...press2(0) });
    await go('/');
    await settled(() => page.locator('li[data-station="press-2"] .mins').innerText()).toBe(
      'which lot?',
    );
    await pictured(page, 'floor-closing-without-a-name');
    await page.locator('li[data-station="press-2"] a').first().click();
    const closing = page.getByRole('radio', { name: /^since it closed, \d\d:\d\d$/ });
    await settled(() => closing.isChecked()).toBe(true);
    await pictured(page, 'start-names-a-closing');
    await scan(page, 'K-131');
    await page.getByLabel('Recipe').selectOption('shell-13ply');
    await page.getByRole('button', { name: 'Start', exact: true }).click();
    await page.getByText(/^Recorded: K-131 in press-2 since/).waitFor();
    await page.getByRole('link', { name: 'Open' }).click();
    await page.getByText(/put in by shift lead, entered at \d\d:\d\d:\d\d/).waitFor();
    const loads = await fetch(`${hall.url}/api/v1/loads?station=press-2`);
    const [named] = ((await loads.json()) as { loads: Named[] }).loads;
    expect(named?.lot).toBe('K-131');
    expect(Math.abs((named?.startMs ?? 0) - closedMs)).toBeLessThan(60_000);
    await hall.play(20, { ...rooms, ...warm, ...press2(6) });
    await hall.event('press-2', 'load-end', { load: named?.id });
    await hall.play(3, { ...rooms, ...warm });
    await hall.play(6, { ...rooms, ...warm, ...press2(0) });
    await go('/handover');
    await page.getByText(/^press-2: closed since/).waitFor();
    await page.getByRole('link', { name: 'Name it' }).click();
    await page.getByRole('button', { name: 'It was empty…' }).click();
    await page.getByLabel('Why nothing was in it').fill('closed over the break');
    await page.getByRole('button', { name: 'Nothing was in it', exact: true }).click();
    await hall.play(1, { ...rooms, ...warm });
    await go('/handover');
    await page.getByText('Every closing has its load.').waitFor();
  },
  patient,
);
