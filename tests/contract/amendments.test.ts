import { randomUUID } from 'node:crypto';
import { afterEach, expect, test } from 'vitest';
import type { Entry } from '@setwell/shared-models/record/entry';
import type { LoadAmended, LoadSealed, RecipeApproved } from '@setwell/shared-models/record/bodies';
import { leafHash } from '@setwell/collector/ledger/ledger';
import { openWorks, usualFaceC, type Works } from '../fixtures/press-plant/works.ts';

let works: Works;
afterEach(() => works.end());

const load = { load: 'P1-1', lot: 'K-1', recipe: 'shell-13ply' };
const minuteMs = 60_000;
const hourMs = 60 * minuteMs;

/** A load of 24 min whose upper face is silent from minute 10 to 16; sealed by the deadline. */
function sealedWithGap(): { missingFromMs: number } {
  works = openWorks();
  works.event('load-start', load);
  works.press(10, usualFaceC);
  const missingFromMs = works.clock.nowMs();
  works.clock.advance(6 * minuteMs);
  works.press(8, (min) => usualFaceC(min + 16));
  works.event('load-end', { load: 'P1-1' });
  works.press(0.5, () => 138);
  expect(works.entries('load-sealed')).toHaveLength(1);
  return { missingFromMs };
}

/** What a gateway kept back, both faces, from so many minutes into the load. */
function comesLate(fromMs: number, minutes: number, addK = 0): void {
  const rows = Array.from({ length: minutes * 12 }, (_, i) => ({
    t: fromMs + i * 5000,
    v: usualFaceC(10 + (i * 5) / 60) + addK,
  }));
  for (const face of ['p1-ul', 'p1-ll']) works.reading(face, rows);
}

function wait(ms: number): void {
  for (let left = ms; left > 0; left -= minuteMs) {
    works.clock.advance(Math.min(minuteMs, left));
    works.collector.step();
  }
}

const amended = () => works.entries('load-amended') as Entry<LoadAmended>[];
const sealed = () => works.entries('load-sealed')[0] as Entry<LoadSealed>;

test('late readings amend after ten quiet minutes, with the whole account, and not before', () => {
  const { missingFromMs } = sealedWithGap();
  comesLate(missingFromMs, 6);
  works.collector.step();
  wait(10 * minuteMs - 1);
  expect(amended()).toEqual([]);
  wait(1);
  const [entry] = amended();
  expect(amended()).toHaveLength(1);
  const before = sealed();
  expect(entry?.body).toMatchObject({ revision: 2, because: 'late', verdict: 'in-window' });
  expect(entry?.body.readings.count).toBeGreaterThan(before.body.readings.count);
  expect(entry?.body.quality.gaps).toBeLessThan(before.body.quality.gaps);
  const [stored] = works.collector.ledger.entriesAfter(before.n - 1, 1);
  expect(entry?.body.amends).toBe(leafHash(stored?.bytes ?? Buffer.of()).toString('hex'));
  expect(entry?.cites).toEqual([{ log: before.log, n: before.n, leaf: entry?.body.amends }]);
});

test('a gateway that never falls quiet amends after an hour, and then once an hour', () => {
  const { missingFromMs } = sealedWithGap();
  for (let part = 0; part < 72; part += 1) {
    comesLate(missingFromMs + part * 5000, 1 / 12);
    wait(5 * minuteMs);
    if (part === 10) expect(amended()).toHaveLength(0);
    if (part === 11) expect(amended()).toHaveLength(1);
  }
  const times = amended().map(({ at }) => at);
  for (const [i, at] of times.slice(1).entries()) {
    expect(at - (times[i] ?? 0)).toBeGreaterThanOrEqual(hourMs);
  }
  expect(times.length).toBeGreaterThan(3);
  expect(times.length).toBeLessThanOrEqual(6);
});

test('what comes twice changes nothing: no second account', () => {
  const { missingFromMs } = sealedWithGap();
  comesLate(missingFromMs, 6);
  wait(11 * minuteMs);
  comesLate(missingFromMs, 6);
  wait(2 * hourMs);
  expect(amended()).toHaveLength(1);
});

test('a second value for a time takes both out, and the account says conflict', () => {
  const { missingFromMs } = sealedWithGap();
  works.reading('p1-ul', [{ t: missingFromMs - 60_000, v: 20 }]);
  wait(11 * minuteMs);
  const [entry] = amended();
  expect(entry?.body.because).toBe('conflict');
  expect(entry?.body.quality.conflicts).toBe(1);
  expect(entry?.body.readings.count).toBe(sealed().body.readings.count - 1);
});

test('after 72 h readings are kept, call the engineer once, and count only by a person', () => {
  const { missingFromMs } = sealedWithGap();
  works.clock.advance(72 * hourMs);
  comesLate(missingFromMs, 3);
  wait(2 * hourMs);
  comesLate(missingFromMs + 3 * minuteMs, 3);
  wait(2 * hourMs);
  expect(amended()).toEqual([]);
  const calls = works
    .entries('call-raised')
    .filter(({ body }) => (body as { kind: string }).kind === 'readings-too-late');
  expect(calls).toHaveLength(1);
  works.restart();
  works.collector.step();
  expect(amended()).toEqual([]);
  works.collector.append([
    {
      kind: 'load-corrected',
      by: 'p-3',
      about: { load: 'P1-1', lots: ['K-1'] },
      body: { load: 'P1-1', reason: 'gateway read out by hand', change: { what: 'readings' } },
      act: randomUUID(),
    },
  ]);
  works.collector.step();
  works.collector.step();
  const [entry] = amended();
  expect(entry?.body).toMatchObject({ revision: 2, because: { act: { by: 'p-3' } } });
  expect(entry?.body.readings.count).toBeGreaterThan(sealed().body.readings.count);
});

test('what came while nothing ran is found at the start', () => {
  const { missingFromMs } = sealedWithGap();
  comesLate(missingFromMs, 6);
  works.restart();
  works.collector.step();
  wait(11 * minuteMs);
  expect(amended()).toHaveLength(1);
});

test('a worse account after a release questions it: the parts may be gone, so somebody is called', () => {
  works = openWorks();
  works.event('load-start', load);
  works.press(24, usualFaceC);
  works.event('load-end', { load: 'P1-1' });
  works.press(0.5, () => 138);
  const body = { decision: 'release', reason: 'proven', onRevision: 1 };
  works.collector.append([
    { kind: 'disposition', by: 'p-1', about: { load: 'P1-1', lots: ['K-1'] }, body },
  ]);
  const { startMs } = sealed().body;
  const rows = Array.from({ length: 100 }, (_, i) => ({ t: startMs + (i + 60) * 5000, v: 21 }));
  for (const face of ['p1-ul', 'p1-ll']) works.reading(face, rows);
  wait(11 * minuteMs);
  expect(amended()[0]?.body.verdict).not.toBe('in-window');
  const kinds = works.entries('call-raised').map((e) => (e.body as { kind: string }).kind);
  expect(kinds).toContain('release-questioned');
});

test('a load without a recipe is sealed with its readings, and judged once somebody names it', () => {
  works = openWorks();
  works.event('load-start', { load: 'P1-1' });
  works.press(24, usualFaceC);
  works.event('load-end', { load: 'P1-1' });
  works.press(0.5, () => 138);
  expect(sealed().body).toMatchObject({ verdict: 'unproven', unjudged: 'no-recipe' });
  expect(sealed().body.readings.count).toBeGreaterThan(500);
  const { recipe } = works.entries('recipe-approved')[0]?.body as RecipeApproved;
  works.collector.append([
    {
      kind: 'load-corrected',
      by: 'p-3',
      about: { load: 'P1-1' },
      body: { load: 'P1-1', reason: 'named from the board', change: { what: 'recipe', recipe } },
    },
  ]);
  works.collector.step();
  works.collector.step();
  expect(amended()[0]?.body).toMatchObject({ revision: 2, verdict: 'in-window' });
  expect(amended()[0]?.body.unjudged).toBeUndefined();
});
