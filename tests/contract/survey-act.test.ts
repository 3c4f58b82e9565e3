import { createCollector, type Collector } from '@setwell/collector/collector';
import { SteppedClock } from '@setwell/collector/stepped-clock';
import type { PointDetail } from '@setwell/shared-models/api/points';
import type { HeatUpReport, SoakNow, StationSurveys } from '@setwell/shared-models/api/heat-up';
import { execFileSync } from 'node:child_process';
import { randomUUID } from 'node:crypto';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, expect, it } from 'vitest';

const plantFile = fileURLToPath(new URL('../../deploy/demo/plant.yaml', import.meta.url));
const startMs = Date.parse('2026-03-02T08:00:00Z');
const minuteMs = 60_000;
const dataDir = mkdtempSync(join(tmpdir(), 'setwell-survey-'));
const clock = new SteppedClock(startMs);
let collector: Collector;
let url: string;
let token: string;

beforeAll(async () => {
  const clockSetting = { originMs: startMs, wallOriginMs: startMs, rate: 1 };
  collector = createCollector({
    ...{ plantFile, dataDir, clock, clockSetting, judge: 'inline' as const },
    ...{ judgeEveryMs: 30 * minuteMs, version: 'test', serve: { port: 0 } },
  });
  // What holds, as shown: left is right by its certificate C-0401 of −0.2 at 100 and −0.3 K at 150 °C.
  hold({ 'p1-1l': 138.276, 'p1-2l': 138.08, 'p1-3l': 137.8 }, 40);
  const started = await collector.start();
  url = started.url ?? '';
  token = readFileSync(started.tokenFile ?? '', 'utf8').trim();
});
afterAll(async () => {
  await collector.stop();
  rmSync(dataDir, { recursive: true, force: true });
});

/** Points that show the same for so many minutes, once a minute. */
function hold(shownC: Record<string, number>, minutes: number): void {
  for (let minute = 0; minute <= minutes; minute++) {
    const t = clock.nowMs();
    const arrivals = Object.entries(shownC).map(([point, v]) => ({
      ...{ retained: false, queued: false, act: null, topic: `plant/press-1/${point}` },
      payload: Buffer.from(JSON.stringify({ t, v })),
    }));
    collector.accept(arrivals);
    clock.advance(minuteMs);
  }
  collector.step();
}

async function asked<T>(path: string): Promise<T> {
  const response = await fetch(url + path, { headers: { authorization: `Bearer ${token}` } });
  return (await response.json()) as T;
}

async function act(
  kind: string,
  body: object,
  on?: number,
): Promise<{ status: number; answer: unknown }> {
  const response = await fetch(`${url}/acts`, {
    method: 'POST',
    headers: { authorization: `Bearer ${token}`, 'content-type': 'application/json' },
    body: JSON.stringify({
      id: randomUUID(),
      kind,
      by: 'M. Aker',
      about: { station: 'press-1' },
      body,
      ...(on === undefined ? {} : { on: { n: on } }),
    }),
  });
  return { status: response.status, answer: await response.json() };
}

const goal = { station: 'press-1', setPointC: 138, toleranceK: 2 };
const points = ['p1-1l', 'p1-2l', 'p1-3l'];
const live = (fromMs: number, toMs: number) => ({ kind: 'live', points, fromMs, toMs });

it('runs on the plant’s own points: corrected first, and how it stands is told meanwhile', async () => {
  const toMs = clock.nowMs() - minuteMs;
  const query = `fromMs=${startMs}&points=${points.join(',')}&setPointC=138&toleranceK=2`;
  const soak = await asked<SoakNow>(`/surveys/press-1/soak?${query}`);
  expect(soak.trouble).toBeNull();
  expect(soak.samples).toBeGreaterThan(30);
  const body = { ...goal, survey: 'V-1', grid: '3x1', soak: live(toMs - 30 * minuteMs, toMs) };
  const taken = await act('survey-taken', body);
  expect(taken.status).toBe(200);
  const { surveys, points: offered, grid: lies } = await asked<StationSurveys>('/surveys/press-1');
  expect(offered.slice(0, 4)).toEqual(['p1-1l', 'p1-1r', 'p1-2l', 'p1-2r']);
  expect(lies).toBe('3x2');
  // By hand: C-0401 takes 0.2 + 0.1 · 38.276/50 K off, C-0403 0.1 · 38.08/50 K, C-0405 adds 0.2 K.
  const means = surveys[0]?.figures.means.map(({ c }) => c) ?? [];
  expect(means[0]).toBeCloseTo(138.276 - 0.2 - (0.1 * 38.276) / 50, 6);
  expect(means[1]).toBeCloseTo(138.08 - (0.1 * 38.08) / 50, 6);
  expect(means[2]).toBeCloseTo(138.0, 6);
  expect(surveys[0]).toMatchObject({
    comparison: null,
    figures: { inside: true },
    by: [{ certificate: 'C-0401' }, { certificate: 'C-0403' }, { certificate: 'C-0405' }],
    grid: { rows: 3, columns: 1 },
  });
  expect(surveys[0]?.recipes).toContainEqual({ title: 'Chair shell, 13 plies', placeK: 1.5 });
});

it('is refused where a point was silent, is not calibrated, or the grid has other places', async () => {
  const toMs = clock.nowMs() - minuteMs;
  const early = await act('survey-taken', {
    ...{ ...goal, survey: 'V-2' },
    soak: live(startMs - 30 * minuteMs, toMs),
  });
  expect(early).toMatchObject({ status: 422, answer: { field: 'p1-1l' } });
  const grid = { ...goal, survey: 'V-2', grid: '2x2', soak: live(toMs - 10 * minuteMs, toMs) };
  expect(await act('survey-taken', grid)).toMatchObject({
    status: 422,
    answer: { field: 'body.grid', found: '"2x2" for 3 points' },
  });
  hold({ 'p2-back-u': 138, 'p2-back-l': 138 }, 5);
  const bare = await act('survey-taken', {
    ...{ ...goal, station: 'press-2', survey: 'V-2' },
    soak: {
      ...live(clock.nowMs() - 4 * minuteMs, clock.nowMs() - minuteMs),
      points: ['p2-back-u', 'p2-back-l'],
    },
  });
  expect(bare).toMatchObject({ status: 422, answer: { field: 'p2-back-u' } });
});

it('is read from a logger’s file, which is refused by its line and column', async () => {
  const file = (text: string) => ({
    ...{ kind: 'file', name: 'logger.csv', asShown: false, atMs: clock.nowMs() },
    text,
  });
  const broken = file('time_s,s1,s2\n0,138,137\n60,138,\n');
  expect(await act('survey-taken', { ...goal, survey: 'V-3', soak: broken })).toMatchObject({
    status: 422,
    answer: { field: 'logger.csv, line 3, s2', found: 'an empty cell inside the soak' },
  });
  const whole = file('time_s,s1,s2\n0,138,135\n60,138.2,135.2\n');
  const taken = await act('survey-taken', { ...goal, survey: 'V-3', soak: whole });
  expect(taken.status).toBe(200);
  const { surveys } = await asked<StationSurveys>('/surveys/press-1');
  expect(surveys[0]).toMatchObject({
    ...{ survey: 'V-3', source: { kind: 'file', name: 'logger.csv' } },
    figures: { inside: false, uniformityK: 3 },
  });
});

it('closes a job by what it says beside the one before, and only then', async () => {
  const doneMs = clock.nowMs() - minuteMs;
  const job = { work: 'W-1', station: 'press-1', points: ['p1-3l'], what: 'oil-channel' };
  expect((await act('work-done', { ...job, doneMs })).status).toBe(200);
  const early = await act('work-closed', { work: 'W-1', evidence: 'proven' });
  expect(early).toMatchObject({ status: 422, answer: { field: 'body.evidence' } });
  hold({ 'p1-1l': 138.276, 'p1-2l': 138.08, 'p1-3l': 136.6 }, 12);
  const toMs = clock.nowMs() - minuteMs;
  const soak = live(toMs - 10 * minuteMs, toMs);
  await act('survey-taken', { ...goal, survey: 'V-4', soak });
  const worse = await asked<HeatUpReport>('/heat-ups/press-1');
  expect(worse.work[0]).toMatchObject({
    says: 'not-proven',
    survey: { before: { survey: 'V-1' }, after: { survey: 'V-4' }, says: 'worse' },
  });
  const closed = await act('work-closed', {
    ...{ work: 'W-1', evidence: 'not-proven', note: 'channel is scaled, flush again' },
  });
  expect(closed).toMatchObject({
    answer: { entry: { body: { rests: { survey: { says: 'worse' } } } } },
  });
  const nobody = await act('work-closed', { work: 'W-9', evidence: 'not-proven', note: 'x' });
  expect(nobody).toMatchObject({ status: 422, answer: { field: 'body.work' } });
});

it('has a sheet with the last one beside it, in both languages', async () => {
  const textOf = async (query: string) => {
    const response = await fetch(`${url}/surveys/press-1/V-4/sheet${query}`, {
      headers: { authorization: `Bearer ${token}` },
    });
    expect(response.headers.get('content-type')).toBe('application/pdf');
    const path = join(dataDir, 'sheet.pdf');
    writeFileSync(path, Buffer.from(await response.arrayBuffer()));
    expect(execFileSync('qpdf', ['--check', path]).toString()).toContain('No syntax or stream');
    return execFileSync('pdftotext', ['-layout', path, '-'], { encoding: 'utf8' });
  };
  const english = await textOf('');
  for (const told of ['V-4', 'C-0401', 'Against the last survey', 'M. Aker', 'reviewed by']) {
    expect(english).toContain(told);
  }
  const german = await textOf('?language=de');
  for (const told of ['C-0401', 'Gegen die letzte Vermessung', 'geprüft von', 'Sollwert 138 ± 2']) {
    expect(german).toContain(told);
  }
  expect(german).toMatch(/Gleichmäßigkeit: \D+\d,\d\d K/);
  expect(german).not.toMatch(/\b(the|of|and|point|page)\b/);
});

it('has a plan to carry there: places numbered as they lie, what measures, what to do, in both languages', async () => {
  const plan = (more: Record<string, string>) => {
    const query = new URLSearchParams({
      ...{ points: points.join(','), setPointC: '138', toleranceK: '2.5', soakMin: '30' },
      ...more,
    });
    const headers = { authorization: `Bearer ${token}` };
    return fetch(`${url}/surveys/press-1/plan?${query.toString()}`, { headers });
  };
  const textOf = async (more: Record<string, string>) => {
    const path = join(dataDir, 'plan.pdf');
    writeFileSync(path, Buffer.from(await (await plan(more)).arrayBuffer()));
    expect(execFileSync('qpdf', ['--check', path]).toString()).toContain('No syntax or stream');
    return execFileSync('pdftotext', ['-layout', path, '-'], { encoding: 'utf8' });
  };
  const own = await textOf({ grid: '3x1' });
  for (const told of ['set point 138 ± 2.5 °C', 'lock out before anybody', 'the local code']) {
    expect(own.replaceAll(/\s+/g, ' ')).toContain(told);
  }
  expect(own).toMatch(/1 +p1-1l +\S+ +C-0401 +20\d\d-\d\d-\d\d/);
  expect(own).toContain('you stand here');
  expect(own).not.toContain('changed since original');
  const names = Array.from({ length: 40 }, (_, i) => `s${String(i + 1)}`).join(',');
  const german = await textOf({ points: names, grid: '5x8', from: 'file', language: 'de' });
  expect(german).toContain('Sollwert 138 ± 2,5 °C, Haltezeit 30 min');
  expect(german.replaceAll(/\s+/g, ' ')).toContain('time_s,s1,s2,s3,');
  expect(german).toMatch(/40 +s40/);
  for (const [field, more] of [
    ['grid', { grid: '2x2' }],
    ['toleranceK', { toleranceK: '0' }],
    ['points', { points: '' }],
    ['language', { language: 'fr' }],
  ] as const) {
    const refused = await plan(more);
    expect([refused.status, await refused.json()]).toMatchObject([422, { field }]);
  }
});

it('is taken over as place by a person, as it says and not less, and stands in a reading’s budget', async () => {
  const { surveys, place: before } = await asked<StationSurveys>('/surveys/press-1');
  const { n, placeK, offeredK } = surveys.find(({ survey }) => survey === 'V-3')!;
  expect([before, placeK, offeredK]).toEqual([null, 1.5, 1.5]);
  const body = { station: 'press-1', survey: 'V-3', placeK: offeredK };
  for (const [field, refused] of [
    ['body.placeK', await act('place-approved', { ...body, placeK: 1.4 }, n)],
    ['body.placeK', await act('place-approved', { ...body, placeK: 1.7 }, n)],
    ['on.n', await act('place-approved', { ...body, survey: 'V-1' }, n)],
    ['on.n', await act('place-approved', body, 0)],
    ['on.n', await act('place-approved', body)],
  ] as const) {
    expect(refused).toMatchObject({ status: 422, answer: { field } });
  }
  expect((await asked<PointDetail>('/instruments/p1-1l')).worth).toMatchObject({ place: null });
  const { answer } = await act('place-approved', body, n);
  expect(answer).toMatchObject({
    entry: { by: 'M. Aker', cites: [{ n }], body: { ...body, was: null } },
  });
  const counts = { survey: 'V-3', placeK: 1.5, by: 'M. Aker' };
  expect((await asked<StationSurveys>('/surveys/press-1')).place).toMatchObject(counts);
  hold({ 'p1-1l': 138.276, 'p1-2l': 138.08, 'p1-3l': 137.8 }, 1);
  const { worth } = await asked<PointDetail>('/instruments/p1-1l');
  // By hand: a half-width of 1.5 K, rectangular, is a standard uncertainty of 1.5/√3 K (JCGM 100:2008, 4.3.7).
  expect(worth).toMatchObject({
    place: counts,
    rows: expect.arrayContaining([
      expect.objectContaining({
        ...{ source: 'place', evaluation: 'B', distribution: 'rectangular', valueK: 1.5 },
        standardK: expect.closeTo(0.866, 3) as number,
      }),
    ]) as unknown,
  });
});
