import { errorAt, reviewLoad, type AsFound } from '@setwell/shared-models/condition/impact';
import type { ScoreInput } from '@setwell/shared-models/score/shape';
import { asFoundOff } from '@setwell/shared-models/metrology/as-found';
import { randomUUID } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import type { LoadSealed } from '@setwell/shared-models/record/bodies';
import { until } from '../fixtures/until.ts';
import { afterEach, describe, expect, test } from 'vitest';
import { impactReview } from '@setwell/collector/export/impact-review';
import { faceSensor, platenC, pressLoad, readingsOf } from '../fixtures/press-load.ts';
import { openWorks, usualFaceC, type Works } from '../fixtures/press-plant/works.ts';

const day = 86_400_000;
const found: AsFound = {
  instrument: 'pt-1',
  errorK: 3.5,
  lastGoodMs: 0,
  foundMs: 28 * day,
  lastEventMs: 20 * day,
};

test('three ways an error may have come about', () => {
  const at = (days: number) =>
    (['from-the-start', 'growing', 'since-last-event'] as const).map((each) =>
      errorAt(found, each, days * day),
    );
  expect(at(14)).toEqual([3.5, 1.75, 0]);
  expect(at(21)).toEqual([3.5, 2.625, 3.5]);
  expect(at(-1)).toEqual([0, 0, 0]);
});

const sensors: ScoreInput['sensors'] = {
  ul: { ...faceSensor, instrument: 'pt-1' },
  ll: { ...faceSensor, instrument: 'pt-2' },
};
const readings = (minutes: number) => readingsOf({ ul: platenC, ll: platenC }, minutes * 60, 5);

describe('one load', () => {
  test('one that was barely proven loses its verdict, by the hypotheses that reach it', () => {
    const reviewed = reviewLoad(pressLoad(20.5, { sensors }), readings(20.5), found);
    expect(reviewed).toMatchObject({
      verdict: 'in-window',
      effect: 'verdict-changed',
      by: {
        'from-the-start': { errorK: 3.5, verdict: 'unproven' },
        growing: { errorK: 0, verdict: 'in-window' },
        'since-last-event': { errorK: 0, verdict: 'in-window' },
      },
    });
  });

  test('one with room to spare is narrower; one that another instrument read is not listed', () => {
    const reviewed = reviewLoad(pressLoad(24, { sensors }), readings(24), found);
    expect(reviewed?.effect).toBe('narrower');
    expect(reviewed!.by['from-the-start'].margin).toBeLessThan(reviewed!.margin!);
    const other = { ...found, instrument: 'pt-9' };
    expect(reviewLoad(pressLoad(24, { sensors }), readings(24), other)).toBeNull();
  });
});

let works: Works | null = null;
afterEach(async () => {
  await works?.end();
  works = null;
});

/** Two loads, one proven by far and one barely. */
function pressTwo(works: Works): void {
  for (const [load, minutes] of [
    ['P1-1', 26],
    ['P1-2', 20.75],
  ] as const) {
    works.event('load-start', { load, lot: 'K-1', recipe: 'shell-13ply' });
    works.press(minutes, usualFaceC);
    works.event('load-end', { load });
    works.press(3, () => 138);
  }
}

test('all sealed loads of an instrument since its last certificate, changed verdicts first', () => {
  works = openWorks();
  pressTwo(works);
  const review = impactReview(works.collector.ledger, 'p1-ul', 4, Infinity);
  expect(review.lastGoodBy).toBe('the beginning of the ledger');
  expect(review.loads.map(({ load }) => load).sort()).toEqual(['P1-1', 'P1-2']);
  const total = Object.values(review.counts).reduce((sum, each) => sum + each, 0);
  expect(total).toBe(2);
  expect(review.counts.unaffected).toBe(0);
  expect(impactReview(works.collector.ledger, 'nobody', 4, Infinity).loads).toEqual([]);
});

const calibrated = (correctionK: number) => ({
  ...{ certificate: 'C-9', date: '2026-03-02', due: '2027-03-02', k: 2 },
  points: [
    { atC: 20, correctionK: 0, expandedK: 0.5 },
    { atC: 160, correctionK: 0, expandedK: 0.5 },
  ],
  asFound: [{ atC: 138, correctionK, expandedK: 0.5 }],
});

async function comesBack(of: Works, correctionK: number): Promise<void> {
  const { url = '', tokenFile = '' } = (await of.collector.start()) as Record<string, string>;
  const response = await fetch(`${url}/acts`, {
    method: 'POST',
    headers: {
      authorization: `Bearer ${readFileSync(tokenFile, 'utf8').trim()}`,
      'content-type': 'application/json',
    },
    body: JSON.stringify({
      ...{ id: randomUUID(), kind: 'instrument-calibrated', by: 'M. Aker', about: {} },
      body: { instrument: 'p1-ul', calibration: calibrated(correctionK) },
    }),
  });
  expect(await response.json()).toMatchObject({ entry: { kind: 'instrument-calibrated' } });
}

test('an as-found certificate out of limits starts the review by itself, once', async () => {
  works = openWorks(undefined, { port: 0 });
  pressTwo(works);
  const held = works;
  await comesBack(held, -4);
  held.press(1, () => 138);
  await until(() => held.entries('impact-reviewed').length > 0);
  const [entry] = held.entries('impact-reviewed');
  expect(entry?.body).toMatchObject({
    ...{ instrument: 'p1-ul', certificate: 'C-9', atC: 138, errorK: 4 },
    ...{ lastGoodBy: 'C-1', lastGoodMs: Date.parse('2026-01-12') },
    counts: { 'verdict-changed': 1, narrower: 1, unaffected: 0 },
  });
  held.restart();
  held.press(1, () => 138);
  expect(held.entries('impact-reviewed')).toHaveLength(1);
});

/** Another text in place of a document, as a disk that errs leaves it; answers what was there. */
function damaged({ dataDir }: Works, sha256: string, bytes: Buffer): Buffer {
  const db = new Database(join(dataDir, 'ledger.db'));
  db.exec('DROP TRIGGER IF EXISTS blob_no_update');
  const select = db.prepare<[string], { bytes: Buffer }>('SELECT bytes FROM blob WHERE sha256 = ?');
  const before = select.get(sha256);
  if (before === undefined) throw new Error(`the ledger has no document ${sha256}`);
  db.prepare('UPDATE blob SET bytes = ? WHERE sha256 = ?').run(bytes, sha256);
  db.close();
  return before.bytes;
}

test('a review that breaks off calls the engineer once, is tried again each hour, and lets the call go', async () => {
  works = openWorks(undefined, { port: 0 });
  pressTwo(works);
  const held = works;
  const sealed = held.entries('load-sealed')[0]!.body as LoadSealed;
  const input = damaged(held, sealed.input.sha256, Buffer.from('{'));
  await comesBack(held, -4);
  held.press(1, () => 138);
  const reviews = () =>
    held.entries('call-raised').filter(({ about }) => about.call?.startsWith('impact-failed'));
  await until(() => reviews().length > 0);
  expect(reviews()[0]!.body).toMatchObject({
    ...{ kind: 'collector', who: 'engineer' },
    values: { because: 'impact-failed', instrument: 'p1-ul', certificate: 'C-9' },
  });
  // A start anew tries at once, and calls nobody a second time.
  held.restart();
  held.press(1, () => 138);
  held.press(61, () => 138);
  expect(reviews()).toHaveLength(1);
  expect(held.entries('impact-reviewed')).toEqual([]);
  damaged(held, sealed.input.sha256, input);
  held.press(61, () => 138);
  await until(() => held.entries('impact-reviewed').length > 0);
  const cleared = held
    .entries('call-cleared')
    .filter(({ about }) => about.call === reviews()[0]!.about.call);
  expect(cleared.map(({ body }) => body)).toEqual([{ because: 'recovered' }]);
  expect(reviews()).toHaveLength(1);
});

test('one inside what both certificates allow starts none', () => {
  const before = { ...calibrated(0), certificate: 'C-1', date: '2026-01-12' };
  expect(asFoundOff(calibrated(-0.7), [before], () => null)).toBeNull();
  // 0.8 K against √(0.5² + 0.5²) = 0.707 K.
  expect(asFoundOff(calibrated(-0.8), [before], () => null)).toMatchObject({ errorK: 0.8 });
  expect(asFoundOff(calibrated(-0.8), [before], () => null)?.en).toBeCloseTo(0.8 / 0.70711, 4);
});
