import { appendFileSync, cpSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { afterAll, expect, test } from 'vitest';
import { freePort } from '../fixtures/free-port.ts';
import { inHall, patient, rooms, settled, steady, warm, type Hall } from './hall.ts';
import { pictured } from './pictures.ts';

/** The hall with a long history that nobody answers at. */
const folder = mkdtempSync(join(tmpdir(), 'setwell-behind-'));
const plantFile = join(folder, 'plant.yaml');
const historyUrl = `http://127.0.0.1:${String(await freePort())}`;
cpSync(new URL('../fixtures/hall', import.meta.url).pathname, folder, { recursive: true });
appendFileSync(
  plantFile,
  `uplink: { influx: { url: '${historyUrl}', version: 1, database: plant } }\n`,
);
afterAll(() => rmSync(folder, { recursive: true }));

let hall: Hall;
let page: Page;
inHall((opened) => {
  ({ hall, page } = opened);
  return Promise.resolve();
}, plantFile);

const row = (name: string) => page.locator('tr', { has: page.getByText(name, { exact: true }) });

test(
  'a silent point, a clock that is off, one that follows nobody and a long history that is behind stand on one page',
  async () => {
    hall.isSynchronised = false;
    await hall.play(4, { ...rooms, ...warm });
    const { 'ra-1': silent, ...speaking } = { ...rooms, ...warm };
    expect(silent).toBeDefined();
    await hall.play(14, speaking);
    // The controller of a press has a clock of its own, seven seconds ahead of ours.
    await hall.send({ 'p1-l': steady(138) }, hall.clock.nowMs() - 53_000, 1);
    await page.goto(`${hall.url}/sensors/health?lang=en&theme=light`);
    await row('ra-1')
      .getByText(/^silent since 09:4\d$/)
      .waitFor();
    await row('p1-l').getByText('7.0 s', { exact: true }).waitFor();
    await row('long history')
      .getByText(/^\d+ batches and 1\d min behind$/)
      .waitFor();
    // Nothing odd stands below what is well.
    await settled(() =>
      page.locator('table').last().locator('tbody tr').first().innerText(),
    ).toContain('ra-1');
    await pictured(page, 'health-silent-off-and-behind');
  },
  patient,
);
