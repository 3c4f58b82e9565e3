import type { LoadSealed } from '@setwell/shared-models/record/bodies';
import type { ScoreInput } from '@setwell/shared-models/score/shape';
import type { Page } from 'playwright-core';
import { expect, test } from 'vitest';
import { facesOf, inHall, patient, rooms, settled, warm, type Courses, type Hall } from './hall.ts';
import { pictured } from './pictures.ts';
import { faultsOf } from './screen-quality.ts';

let hall: Hall;
let page: Page;
inHall(async (opened) => {
  ({ hall, page } = opened);
  await page.addInitScript(() => localStorage.setItem('setwell.job', 'engineer'));
});

/** Press 1 from so many minutes after its closing on; its upper point speaks or does not. */
function pressed(fromMin: number, speaks: boolean): Courses {
  const { 'p1-u': upper, ...rest } = { ...rooms, ...warm, ...facesOf('p1', 138, fromMin) };
  return speaks && upper !== undefined ? { ...rest, 'p1-u': upper } : rest;
}

function sealedInput(): ScoreInput {
  const { ledger } = hall.collector;
  const entries = ledger
    .entriesAfter(-1, 1000)
    .map(({ bytes }) => JSON.parse(bytes.toString('utf8')) as { kind: string; body: LoadSealed });
  const sealed = entries.filter(({ kind }) => kind === 'load-sealed').at(-1);
  const input = ledger.blob(sealed?.body.input.sha256 ?? '');
  return JSON.parse(input?.toString('utf8') ?? 'null') as ScoreInput;
}

test(
  'a point falls silent under a load: another is offered, approved, and the record says so',
  async () => {
    await hall.play(3, { ...rooms, ...warm });
    await hall.event('press-1', 'load-start', {
      ...{ load: 'P1-1', lot: 'K-118', recipe: 'shell-13ply' },
    });
    await hall.play(6, pressed(0, true));
    await hall.play(4, pressed(6, false));
    await page.goto(`${hall.url}/sensors?lang=en&theme=light`);
    await page.getByText(/^Silent: 1 of \d+ points$/).waitFor();
    await page.getByRole('link', { name: 'p1-u' }).first().click();
    await page.getByText('another point may stand in', { exact: false }).waitFor();
    expect(await page.getByText('Nothing wrong is seen').count()).toBe(0);
    await page.getByLabel(/^± /).fill('1.5');
    await page.getByRole('textbox', { name: 'why' }).first().fill('its cable is cut');
    expect(await faultsOf(page)).toEqual([]);
    await pictured(page, 'stand-in-offered');
    await page.getByRole('button', { name: 'Let another point stand in', exact: true }).click();
    await page.getByText('Recorded', { exact: true }).waitFor();
    await hall.play(1, pressed(10, false));
    await page.getByText(/^p1-l stands in until/).waitFor();
    await settled(() =>
      page.getByText('another point may stand in', { exact: false }).count(),
    ).toBe(0);

    // What the next shift has to know of points stands on its sheet.
    const withdrawn = { point: 'p2-u', untilMs: null, reason: 'its cable is renewed' };
    const about = { sensor: 'p2-u', station: 'press-2' };
    hall.collector.append([{ kind: 'point-withdrawn', by: 'plant', about, body: withdrawn }]);
    await page.goto(`${hall.url}/handover?lang=en&theme=light`);
    await page.getByText(/^p1-l stands in for p1-u until .*: its cable is cut$/).waitFor();
    await page.getByText(/^p2-u: out of service, by .*: its cable is renewed$/).waitFor();
    await pictured(page, 'handover-with-a-stand-in');

    await hall.play(13, pressed(11, false));
    await hall.event('press-1', 'load-end', { load: 'P1-1' });
    await hall.play(4, { ...rooms, ...warm });
    const [approved] = sealedInput().sensors['p1-u']?.changes ?? [];
    expect(approved?.sensor).toMatchObject({ readsFrom: 'p1-l' });
    expect(approved?.sensor?.expandedK).toBeGreaterThan(1.5);
    await page.goto(`${hall.url}/load/P1-1?lang=en&theme=light`);
    await page.locator('.seam text').first().waitFor();
    await pictured(page, 'stand-in-load');
  },
  patient,
);
