import { createCollector, type Collector } from '@setwell/collector/collector';
import type { Arrival } from '@setwell/collector/intake/intake';
import type { ServerAddress } from '@setwell/collector/serve/server';
import { SteppedClock } from '@setwell/collector/stepped-clock';
import { atClock, minuteMs } from '@setwell/deploy/demo/calendar';
import { Controllers } from '@setwell/deploy/demo/payload';
import { loadsOfDay } from '@setwell/deploy/demo/schedule';
import { Works } from '@setwell/deploy/demo/works';
import type { FaceHistory, HeatUpReport, StationHeat } from '@setwell/shared-models/api/heat-up';
import { StationLimits } from '@setwell/shared-models/condition/station-limits';
import { readPlant } from '@setwell/shared-models/plant/read-plant';
import type { Entry } from '@setwell/shared-models/record/entry';
import Database from 'better-sqlite3';
import { randomUUID } from 'node:crypto';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';

const plantFile = fileURLToPath(new URL('../../deploy/demo/plant.yaml', import.meta.url));
const monday = 3;
const fromMs = atClock(monday, 4.2);
const toMs = atClock(monday, 7.5);
const seed = 1;
const folders: string[] = [];

afterAll(() => {
  for (const folder of folders) rmSync(folder, { recursive: true, force: true });
});

function folder(): string {
  const made = mkdtempSync(join(tmpdir(), 'setwell-condition-'));
  folders.push(made);
  return made;
}

interface Running {
  dataDir: string;
  clock: SteppedClock;
  collector: Collector;
}

function running(dataDir: string, atMs: number, serve?: ServerAddress): Running {
  const clock = new SteppedClock(atMs);
  const collector = createCollector({
    plantFile,
    dataDir,
    clock,
    clockSetting: { originMs: atMs, wallOriginMs: atMs, rate: 1 },
    judge: 'inline',
    judgeEveryMs: 30 * minuteMs,
    version: 'test',
    ...(serve === undefined ? {} : { serve }),
  });
  return { dataDir, clock, collector };
}

/** Readings of the presses of a Monday morning, without an event: nobody says when a load went in. */
function workOn(
  works: Works,
  { clock, collector }: Running,
  untilMs: number,
  controllers = new Controllers(),
): void {
  while (clock.nowMs() < untilMs) {
    clock.advance(minuteMs);
    const arrivals: Arrival[] = [];
    works.advance(clock.nowMs(), (happening) => {
      if (happening.kind === 'event' || !happening.station.startsWith('press')) return;
      for (const { topic, payload } of controllers.write(happening))
        arrivals.push({
          retained: false,
          queued: false,
          act: null,
          topic,
          payload: Buffer.from(payload),
        });
    });
    collector.accept(arrivals);
    collector.step();
  }
}

const tables = ['feature', 'heat_up', 'closing'] as const;

/** Everything the store tells, as rows. */
function told(dataDir: string): Record<string, unknown[]> {
  const db = new Database(join(dataDir, 'condition.db'), { readonly: true });
  try {
    return Object.fromEntries(
      tables.map((table) => [table, db.prepare(`SELECT * FROM ${table}`).all()]),
    );
  } finally {
    db.close();
  }
}

describe('the condition of a Monday morning', () => {
  let dataDir: string;
  beforeAll(async () => {
    dataDir = folder();
    const run = running(dataDir, fromMs);
    workOn(Works.at(fromMs, { seed, pressEveryS: 10 }), run, toMs);
    await run.collector.stop();
  });

  it('is kept: heat-ups of each face, and each closing though nobody named one', () => {
    const { heat_up, closing } = told(dataDir);
    expect(new Set((heat_up ?? []).map((row) => (row as { point: string }).point)).size).toBe(12);
    const starts = new Set(
      loadsOfDay(monday, seed)
        .filter(({ station, startMs }) => station === 'press-1' && startMs < toMs - minuteMs)
        .map(({ startMs }) => startMs),
    );
    const found = (closing ?? []).filter(
      (row) => (row as { station: string }).station === 'press-1',
    );
    expect(found).toHaveLength(starts.size);
  });

  it('comes out the same when its file is deleted and the journal is read again', async () => {
    const before = told(dataDir);
    for (const suffix of ['', '-wal', '-shm']) {
      rmSync(join(dataDir, `condition.db${suffix}`), { force: true });
    }
    const run = running(dataDir, toMs);
    run.collector.step();
    await run.collector.stop();
    expect(told(dataDir)).toEqual(before);
  });

  it('comes out the same when the collector was stopped in between', async () => {
    const other = folder();
    const works = Works.at(fromMs, { seed, pressEveryS: 10 });
    const controllers = new Controllers();
    for (const untilMs of [
      atClock(monday, 4.7),
      atClock(monday, 6.3),
      atClock(monday, 6.95),
      toMs,
    ]) {
      const run = running(other, works.nowMs);
      workOn(works, run, untilMs, controllers);
      await run.collector.stop();
    }
    expect(told(other)).toEqual(told(dataDir));
  });
});

describe('an approved envelope', () => {
  const read = readPlant(readFileSync(plantFile, 'utf8'), plantFile);
  const [station] = read.ok ? read.value.stations : [];
  const approved = (at: number, key: string, value: number): Entry => ({
    ...{ v: 1, log: 'demo-works/c1/1', n: at, at, kind: 'limit-approved', by: 'p-17' },
    ...{ about: {}, cites: [] },
    body: { station: station?.id, key, value, was: 12, cycles: 30, seen: 13 },
  });

  it('counts for loads that start later; a recipe’s phase never changes the station', () => {
    const limits = new StationLimits();
    limits.take(approved(100, 'maxHeatingKPerMin', 17));
    limits.take(approved(200, 'before-load.minC', 130));
    if (station === undefined) throw new Error('no station');
    expect(limits.at(station, 99).maxHeatingKPerMin).toBe(12);
    expect(limits.at(station, 300)).toEqual({ ...station, maxHeatingKPerMin: 17 });
  });
});

describe('what the Heat-up screen asks', () => {
  let run: Running;
  let url: string;
  let token: string;
  beforeAll(async () => {
    run = running(folder(), fromMs, { port: 0 });
    workOn(Works.at(fromMs, { seed, pressEveryS: 10 }), run, atClock(monday, 6.5));
    const started = await run.collector.start();
    url = started.url ?? '';
    token = readFileSync(started.tokenFile ?? '', 'utf8').trim();
  });
  afterAll(() => run.collector.stop());

  async function asked<T>(path: string): Promise<T> {
    const response = await fetch(url + path, { headers: { authorization: `Bearer ${token}` } });
    return (await response.json()) as T;
  }

  async function act(
    kind: string,
    body: object,
    about = {},
  ): Promise<{ status: number; answer: unknown }> {
    const id = randomUUID();
    const response = await fetch(`${url}/acts`, {
      method: 'POST',
      headers: { authorization: `Bearer ${token}`, 'content-type': 'application/json' },
      body: JSON.stringify({ id, kind, by: 'M. Aker', about, body }),
    });
    return { status: response.status, answer: await response.json() };
  }

  it('keeps a job from planned over done to closed, and asks why where nothing proves it', async () => {
    const job = { work: 'w-1', station: 'press-1', points: ['p1-1l'], what: 'oil-channel' };
    expect((await act('work-planned', { ...job, because: 'holds 8 K low' })).status).toBe(200);
    const doneMs = run.clock.nowMs() - minuteMs;
    expect((await act('work-done', { ...job, note: 'flushed', doneMs })).status).toBe(200);
    const close = { work: 'w-1', evidence: 'not-proven' };
    const bare = await act('work-closed', close, { station: 'press-1' });
    expect(bare).toMatchObject({ status: 422, answer: { field: 'body.note' } });
    const because = { ...close, note: 'no such job there' };
    const elsewhere = await act('work-closed', because, { station: 'press-2' });
    expect(elsewhere).toMatchObject({ status: 422, answer: { field: 'body.work' } });
    const { work } = await asked<HeatUpReport>('/heat-ups/press-1');
    expect(work).toMatchObject([{ done: { what: 'oil-channel' }, closed: null, says: 'wait' }]);
    const stray = await act('work-planned', { ...job, work: 'w-2', points: ['p2-wing-u'] });
    expect(stray).toMatchObject({ status: 422, answer: { field: 'body.points' } });
    const ahead = await act('work-done', { ...job, doneMs: run.clock.nowMs() + 3_600_000 });
    expect(ahead).toMatchObject({ status: 422, answer: { field: 'body.doneMs' } });
  });

  it('is when the press was ready, and which face was last', async () => {
    const report = await asked<HeatUpReport>('/heat-ups/press-1');
    expect(report.newest.lastPoint).toBe('p1-1l');
    const readyMin = ((report.newest.readyMs ?? 0) - atClock(monday, 4.5)) / minuteMs;
    expect(readyMin).toBeGreaterThan(10);
    expect(readyMin).toBeLessThan(60);
    expect(report.faces.map(({ point, zone, row }) => [point, zone, row])).toContainEqual([
      'p1-3r',
      'right',
      2,
    ]);
    expect(report.faces.every(({ state }) => state === 'too-few')).toBe(true);
  });

  it('has a line a station, and the curve of a face', async () => {
    const lines = await asked<StationHeat[]>('/heat-ups');
    expect(lines.map(({ station }) => station)).toContain('oven-1');
    const face = await asked<FaceHistory>('/heat-ups/press-1/p1-1l?feature=hold-level');
    expect(face.newest?.curveC.length).toBeGreaterThan(20);
    expect(face.usual).toBeNull();
  });

  it('takes an envelope over for what starts later, and none that is narrower than what was seen', async () => {
    const before = (await asked<HeatUpReport>('/heat-ups/press-1')).proposals;
    const proposed = before.find(({ key }) => key === 'maxHeatingKPerMin');
    expect(proposed).toMatchObject({ inForce: 12, approved: null });
    const { key, value, cycles, seen } = proposed ?? { seen: 0 };
    const body = { station: 'press-1', key, value, cycles, seen };
    const narrow = await act('limit-approved', { ...body, value: seen - 0.1 });
    expect(narrow).toMatchObject({ status: 422, answer: { field: 'body.value' } });
    const { status, answer } = await act('limit-approved', body);
    expect(status).toBe(200);
    expect(answer).toMatchObject({ entry: { about: { station: 'press-1' }, body: { was: 12 } } });
    const after = (await asked<HeatUpReport>('/heat-ups/press-1')).proposals;
    expect(after.find((each) => each.key === key)).toMatchObject({
      inForce: value,
      approved: { by: 'M. Aker' },
    });
    const level = after.find((each) => each.key === 'before-load.minC');
    expect(level === undefined || level.recipes.length > 0).toBe(true);
  });

  it('refuses a station and a feature that there are none of, by name', async () => {
    expect(await asked('/heat-ups/press-9')).toMatchObject({ found: 'press-9' });
    expect(await asked('/heat-ups/press-1/p1-1l?feature=speed')).toMatchObject({
      field: 'feature',
      found: 'speed',
    });
  });
});
