import type { Judgement } from '@setwell/shared-models/api/collector';
import { expect, test } from 'vitest';
import type { FakeCollector } from './fake-collector.ts';
import { sceneJudgements, sceneMs, wholeScene } from './floor-scene.ts';
import { pictured } from './pictures.ts';
import { faultsOf } from './screen-quality.ts';
import { desk, patient, staged } from './staged.ts';

const { played, see } = staged();
const minuteMs = 60_000;

const toldRequirements: Judgement['requirements'] = [
  {
    kind: 'mix-age',
    coveredBy: 'entered',
    procedure: null,
    verdict: 'over',
    side: 'long',
    checks: [
      {
        what: 'mix-age K-M-077',
        least: null,
        most: 30,
        unit: 'min',
        low: 53.9,
        high: 56.2,
        atMs: sceneMs - 20 * minuteMs,
        verdict: 'over',
        side: 'long',
      },
    ],
    deviations: [],
    evidence: 'mix-age K-M-077 53.9 to 56.2 min',
  },
  {
    kind: 'piece-temperature',
    coveredBy: 'measured',
    procedure: null,
    verdict: 'in-window',
    side: null,
    checks: [
      {
        what: 'piece-temperature',
        least: 15,
        most: null,
        unit: '°C',
        low: 18.4,
        high: 20,
        atMs: null,
        verdict: 'in-window',
        side: null,
      },
    ],
    deviations: [],
    evidence: 'piece-temperature 18.4 to 20 °C',
  },
  {
    kind: 'test',
    coveredBy: 'not-monitored',
    procedure: null,
    verdict: 'not-monitored',
    side: null,
    checks: [],
    deviations: [],
    evidence: 'no sample of this load',
  },
];

/** The paper model's first load with all that may be said of one beside its heat. */
function toldLoad(fake: FakeCollector): void {
  wholeScene(fake);
  const load: Judgement = {
    ...sceneJudgements()[0]!,
    requirements: toldRequirements,
    repress: {
      noReturn: 2,
      zone: 'left',
      glueLine: 1,
      low: 6.1,
      high: 7.7,
      answer: 'refused',
    },
    deviations: [
      {
        phase: 'recovery',
        zone: 'left',
        what: 'p1-ul',
        side: 'long',
        by: 2.4,
        unit: 'min',
        atMs: sceneMs - 11 * minuteMs,
      },
      {
        phase: 'hold',
        zone: 'left',
        what: 'p1-ul',
        side: 'short',
        by: 8,
        unit: 'K',
        atMs: null,
      },
    ],
  };
  load.quality = {
    ...load.quality,
    seams: [
      {
        point: 'left-u',
        atMs: sceneMs - 6 * minuteMs,
        before: { instrument: 'pt-17', certificate: 'C-0401' },
        after: { instrument: 'pt-22', certificate: null },
      },
    ],
  };
  fake.judge(load);
}

test.each([
  {
    look: { ...desk, path: '/load/P1-00231', lang: 'en' as const },
    said: [
      /age of mix K-M-077\s+53\.9–56\.2 min asked at most 30 min · worst at 14:06\s+Overcured/,
      /pieces\s+18\.4–20 °C asked at least 15 °C\s+In window/,
      /test\s+not monitored · no sample of this load/,
      /not pressed again: left · glue line 1 has been through at least 6\.1 min, and the bound is 2/,
      /p1-ul \(left\) recovered 2\.40 min too late\. From 14:15\./,
      /p1-ul \(left\) was up to 8 K too cold\./,
      /left-u at 14:20: pt-17 \(certificate C-0401\), then pt-22\./,
    ],
    seam: 'left-u changed',
  },
  {
    look: { ...desk, path: '/load/P1-00231', lang: 'de' as const, theme: 'dark' as const },
    said: [
      /Alter der Mischung K-M-077\s+53,9–56,2 min verlangt höchstens 30 min · am schlechtesten um 14:06/,
      /keine Probe dieser Beschickung/,
      /Kein Nachpressen: links · Leimfuge 1 hat mindestens 6,1 min hinter sich/,
      /p1-ul \(links\) erholte sich um 2,40 min zu spät\. Ab 14:15\./,
      /left-u um 14:20: pt-17 \(Kalibrierschein C-0401\), dann pt-22\./,
    ],
    seam: 'left-u gewechselt',
  },
])(
  'a load says each figure, deviation, change and whether it may be pressed again: $look.lang',
  ({ look, said, seam }) =>
    played(toldLoad, (on) =>
      see(on, look, async (page) => {
        await page.locator('.deviations li').first().waitFor();
        const text = await page.locator('article').innerText();
        for (const words of said) expect(text).toMatch(words);
        // In the picture as well, where the faces are drawn.
        await page.locator('.seam text').first().waitFor();
        expect(await page.locator('.seam text').allTextContents()).toEqual([seam]);
        expect(await faultsOf(page)).toEqual([]);
        await pictured(page, `load-words-${look.lang}`);
      }),
    ),
  patient,
);

test(
  'a load whose cure cannot be computed says what carries it, and asks for no picture',
  () =>
    played(
      (fake) => {
        wholeScene(fake);
        const because = 'conduction cannot follow it';
        fake.judge({
          ...sceneJudgements()[0]!,
          ...{ verdict: 'unproven', side: 'both', worst: null, places: [] },
          reasons: [{ code: 'refused', what: 'ultraviolet', because }],
        });
      },
      (on) =>
        see(on, desk, async (page) => {
          const asked: string[] = [];
          page.on('request', (request) => asked.push(request.url()));
          await page.goto(new URL('/load/P1-00231', page.url()).href);
          await page.getByText(/^Nothing is drawn: the cure of this load cannot be/).waitFor();
          await page.getByText(/^Light is a dose that no temperature tells/).waitFor();
          expect(asked.filter((url) => url.includes('/series'))).toEqual([]);
          await pictured(page, 'load-cannot-be-computed');
        }),
    ),
  patient,
);
