import type { FeatureRow } from '@setwell/shared-models/condition/feature';
import type { HeatUp } from '@setwell/shared-models/condition/heat-up';
import { stationReport, summaryOf } from '@setwell/shared-models/condition/station-report';
import { featureCondition } from '@setwell/shared-models/condition/zone-condition';
import type { FaceHistory, HeatUpReport, StationSurveys } from '@setwell/shared-models/api/heat-up';
import { execFileSync } from 'node:child_process';
import { expect, test } from 'vitest';
import { seededNormal } from '../fixtures/seeded-normal.ts';
import { wholeScene } from './floor-scene.ts';
import { desk, patient, staged } from './staged.ts';

const { played, see } = staged();
const dayMs = 86_400_000;
const firstMs = Date.UTC(2026, 0, 12, 5);

const layout = ['p1-ul', 'p1-ll', 'p1-ur', 'p1-lr'].map((point, i) => ({
  point,
  zone: i < 2 ? 'left' : 'right',
  row: i % 2,
  rows: 2,
}));

/** A heat-up a day; right lower is slower each day from the 26th on. */
function rowsOf(days: number): FeatureRow[] {
  const normal = seededNormal(5);
  return Array.from({ length: days }, (_, day) => day).flatMap((day) =>
    layout.flatMap(({ point }): FeatureRow[] => {
      const slower = point === 'p1-lr' ? Math.max(0, day - 25) * 0.4 : 0;
      const row = { point, atMs: firstMs + day * dayMs, startC: 18 };
      return [
        { ...row, feature: 'minutes-to-ready', value: 35 + slower + 0.3 * normal() },
        { ...row, feature: 'charge-rise', value: 13.9 },
      ];
    }),
  );
}

function heatUpOf(point: string, day: number, minutes: number): HeatUp {
  const startMs = firstMs + day * dayMs;
  const curveC = Array.from({ length: 60 }, (_, min) => 18 + 120 * (1 - Math.exp(-min / 15)));
  const readyMs = startMs + minutes * 60_000;
  return { point, startMs, startC: 18, readyMs, interrupted: null, curveC, done: true };
}

function reportOf(days: number, silent: string[] = []): HeatUpReport {
  const nowMs = firstMs + (days - 1) * dayMs + 3_600_000;
  return stationReport({
    station: 'press-1',
    title: 'Press 1',
    kind: 'press',
    nowMs,
    readyC: 128,
    expectedReadyMs: null,
    layout,
    controlled: new Set(),
    summary: summaryOf(rowsOf(days), new Set(), []),
    heatUps: layout.map(({ point }) => heatUpOf(point, days - 1, point === 'p1-lr' ? 44 : 35)),
    closings: [],
    work: [],
    surveys: [],
    nowC: new Map(layout.map(({ point }) => [point, 137])),
    silentSinceMs: new Map(silent.map((point) => [point, nowMs - 600_000])),
    due: [],
    readUpTo: 1,
    limitOf: () => ({ inForce: 12, approved: null, recipes: [] }),
    costOf: () => null,
  });
}

function historyOf(days: number): FaceHistory {
  const rows = rowsOf(days).filter(
    ({ point, feature }) => point === 'p1-lr' && feature === 'minutes-to-ready',
  );
  return {
    station: 'press-1',
    point: 'p1-lr',
    readyC: 128,
    newest: heatUpOf('p1-lr', days - 1, 44),
    usual: null,
    recovery: null,
    feature: 'minutes-to-ready',
    condition: featureCondition(rows, []),
    dots: rows.map(({ atMs, value }) => ({ atMs, value })),
    marks: [],
  };
}

function set(heatUps: Map<string, unknown>, report: HeatUpReport, days: number): void {
  const { station, title, kind, readyC, newest } = report;
  heatUps.set('', [{ station, title, kind, readyC, heating: newest, worst: 'weakens' }]);
  heatUps.set('press-1', report);
  for (const { point } of layout) heatUps.set(`press-1/${point}`, { ...historyOf(days), point });
}

/** Words of a PDF with where they end [pt], and how wide its sheet is. */
function wordsOn(pdf: Buffer): { words: { text: string; toPt: number }[]; sheetPt: number } {
  const told = execFileSync('pdftotext', ['-bbox', '-', '-'], { input: pdf }).toString();
  const words = [...told.matchAll(/xMax="([\d.]+)"[^>]*>([^<]*)</g)].map(([, toPt, text]) => ({
    text: text ?? '',
    toPt: Number(toPt),
  }));
  return { words, sheetPt: Number(/<page width="([\d.]+)"/.exec(told)?.[1]) };
}

test('printed for the stop, Heat-up has every face on it and nothing beside the sheet', () =>
  played(wholeScene, (on) => {
    set(on.fake.heatUps, reportOf(45), 45);
    return see(on, desk, async (page) => {
      await page.goto(new URL('/heat-up/press-1', page.url()).href);
      await page.getByText('Goes next: right lower').waitFor();
      await page.locator('.dots circle').first().waitFor();
      const { words, sheetPt } = wordsOn(await page.pdf({ format: 'A4' }));
      const text = words.map((word) => word.text).join(' ');
      for (const { point } of layout) expect(text).toContain(point);
      expect(text).toContain('44.0 min');
      expect(text).not.toContain('Print for the stop');
      const marginPt = (12 / 25.4) * 72;
      expect(words.filter(({ toPt }) => toPt > sheetPt - marginPt + 1)).toEqual([]);
    });
  }));

test.each([desk, { width: 390, height: 844 }])(
  'Heat-up says which zone goes next and since when, and nothing is wider than a screen of %o',
  (look) =>
    played(wholeScene, (on) => {
      set(on.fake.heatUps, reportOf(45), 45);
      return see(on, look, async (page) => {
        await page.goto(new URL('/heat-up/press-1', page.url()).href);
        await page.getByText('Goes next: right lower').waitFor();
        const cell = page.locator('.cell.weakens');
        expect(await cell.count()).toBe(1);
        expect(await cell.innerText()).toContain('44.0 min');
        const slope = page.getByText(/minutes to ready: \+\d\.\d+ min a week \(\+\d/);
        expect(await slope.count()).toBe(1);
        expect(await page.locator('.dots circle').count()).toBe(45);
        const wider = await page.evaluate(
          () => document.documentElement.scrollWidth - window.innerWidth,
        );
        expect(wider).toBeLessThanOrEqual(0);
      });
    }),
  patient,
);

test(
  'in German a zone is told as one says it there',
  () =>
    played(wholeScene, (on) => {
      set(on.fake.heatUps, reportOf(45), 45);
      return see(on, { ...desk, lang: 'de' }, async (page) => {
        await page.goto(new URL('/heat-up/press-1?lang=de', page.url()).href);
        await page.getByText('unten rechts').first().waitFor();
        expect(await page.locator('.cell.weakens .where').innerText()).toMatch(/^unten rechts/);
      });
    }),
  patient,
);

test(
  'Heat-up in its first weeks judges nothing, and a silent zone is never "as it was"',
  () =>
    played(wholeScene, (on) => {
      set(on.fake.heatUps, reportOf(4, ['p1-ul']), 4);
      return see(on, desk, async (page) => {
        await page.goto(new URL('/heat-up/press-1', page.url()).href);
        await page.getByText(/^4 heat-ups so far\./).waitFor();
        const silent = page.locator('.cell.silent');
        expect(await silent.innerText()).toMatch(/silent since \w+ \d+ \w+ \d\d:\d\d/);
        expect(await page.getByText('as it was').count()).toBe(0);
        await page.getByText('Nothing weakens.').waitFor();
      });
    }),
  patient,
);

test(
  'work that is planned is on the record with what it rests on',
  () =>
    played(wholeScene, (on) => {
      set(on.fake.heatUps, reportOf(45), 45);
      return see(on, desk, async (page) => {
        await page.goto(new URL('/heat-up/press-1', page.url()).href);
        await page.getByRole('button', { name: 'Plan work' }).click();
        await page.getByLabel('Note').fill('look at rod 2');
        await page.getByRole('banner').getByLabel('look as').selectOption('maintenance');
        await page.getByRole('button', { name: 'Plan work' }).click();
        await page.getByText(/^Recorded/).waitFor();
        expect(on.fake.acts).toMatchObject([
          { kind: 'work-planned', body: { points: ['p1-lr'], note: 'look at rod 2' } },
        ]);
      });
    }),
  patient,
);

test(
  'an envelope that the cycles have overrun is told as too narrow, and a person takes the wider one over',
  () =>
    played(wholeScene, (on) => {
      set(on.fake.heatUps, reportOf(45), 45);
      return see(on, desk, async (page) => {
        await page.goto(new URL('/heat-up/press-1', page.url()).href);
        await page.getByText('Fastest heating: 17.5 K/min').waitFor();
        expect(await page.getByText('Narrower than what was seen').count()).toBe(1);
        await page.getByRole('banner').getByLabel('look as').selectOption('engineer');
        await page.getByRole('button', { name: 'Approve… Fastest heating' }).click();
        await page.getByRole('button', { name: 'Approve 17.5 K/min' }).click();
        await page.getByText(/^Approved/).waitFor();
        expect(on.fake.acts).toMatchObject([
          { kind: 'limit-approved', body: { key: 'maxHeatingKPerMin', value: 17.5, seen: 13.9 } },
        ]);
      });
    }),
  patient,
);

test(
  'a survey is taken from the last half hour, and a refused one says of which point',
  () =>
    played(wholeScene, (on) => {
      const report = reportOf(45);
      set(on.fake.heatUps, report, 45);
      const points = layout.map(({ point }) => point);
      const known: StationSurveys = {
        station: 'press-1',
        nowMs: report.nowMs,
        points,
        faces: 4,
        grid: '2x2',
        place: null,
        surveys: [],
      };
      on.fake.surveys.set('press-1', known);
      on.fake.refuse = ({ body }) =>
        (body['grid'] as string) === ''
          ? null
          : {
              status: 422,
              body: { field: 'body.grid', found: '"3x3" for 3 points', expected: 'a grid of 3' },
            };
      return see(on, desk, async (page) => {
        await page.goto(new URL('/heat-up/press-1', page.url()).href);
        await page.getByText('No survey of this station yet.').waitFor();
        await page.getByRole('banner').getByLabel('look as').selectOption('maintenance');
        await page.getByRole('button', { name: 'Take a survey…' }).click();
        await page.getByLabel('Set point').fill('138');
        await page.getByLabel('p1-ul').uncheck();
        await page.getByLabel('Places').fill('3x3');
        await page.getByRole('button', { name: 'Record the survey' }).click();
        await page.getByText(/"3x3" for 3 points/).waitFor();
        await page.getByLabel('Places').fill('');
        await page.getByRole('button', { name: 'Record the survey' }).click();
        await page.getByText(/^Recorded/).waitFor();
        const body: Record<string, unknown> = on.fake.acts.at(-1)?.body ?? {};
        const soak = body['soak'] as { points: string[]; fromMs: number; toMs: number };
        expect(body).toMatchObject({ setPointC: 138, toleranceK: 5 });
        expect(soak.points).toEqual(['p1-ll', 'p1-ur', 'p1-lr']);
        expect(soak.toMs - soak.fromMs).toBe(30 * 60_000);
      });
    }),
  patient,
);
