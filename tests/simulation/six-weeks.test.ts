import { readFileSync } from 'node:fs';
import { beforeAll, describe, expect, it } from 'vitest';
import { atClock, firstRecordMs, isWorkingDay } from '@setwell/deploy/demo/calendar';
import { heaterChanged, pastDays } from '@setwell/deploy/demo/past-plates';
import { pastReadings } from '@setwell/deploy/demo/past-readings';
import { loadsOfDay } from '@setwell/deploy/demo/schedule';
import type { Closing } from '@setwell/shared-models/condition/closing';
import { CyclePoint } from '@setwell/shared-models/condition/cycle-point';
import type { FeatureName, FeatureRow } from '@setwell/shared-models/condition/feature';
import { repairEvidence } from '@setwell/shared-models/condition/repair';
import { cyclesSettingOf, StationCycles } from '@setwell/shared-models/condition/station-cycles';
import { featureCondition } from '@setwell/shared-models/condition/zone-condition';
import { readPlant } from '@setwell/shared-models/plant/read-plant';

const plantFile = new URL('../../deploy/demo/plant.yaml', import.meta.url);
const seed = 1;
const stations = ['press-1', 'press-2'];
const weakZone = 'p1-1l';
const repaired = 'p2-seat-l';

let rows: FeatureRow[];
let closings: Record<string, Closing[]>;

/** The six weeks as an old logger kept them, read as the collector reads them; nobody named a load. */
beforeAll(() => {
  const read = readPlant(readFileSync(plantFile, 'utf8'), 'plant.yaml');
  if (!read.ok) throw new Error('the demo’s plant is refused');
  const plant = read.value;
  rows = [];
  closings = Object.fromEntries(stations.map((id) => [id, []]));
  const points = new Map<string, CyclePoint>();
  const cycles = new Map<string, StationCycles>();
  for (const station of plant.stations.filter(({ id }) => stations.includes(id))) {
    const own = [...plant.sensors.values()].filter((sensor) => sensor.station === station.id);
    cycles.set(station.id, new StationCycles(cyclesSettingOf(station, own, plant)));
  }
  const take = (station: string, point: string, t: number, v: number): void => {
    const sensor = plant.sensors.get(point);
    if (sensor === undefined) throw new Error(`the plant has no ${point}`);
    const course = points.get(point) ?? new CyclePoint(sensor);
    points.set(point, course);
    const value = course.take({ t, v, quality: 'late', ahead: false });
    if (typeof value !== 'number') return;
    const news = cycles.get(station)?.take(point, t, value);
    rows.push(...(news?.features ?? []));
    for (const { what, closing } of news?.closings ?? []) {
      if (what === 'closed') closings[station]?.push(closing);
    }
  };
  for (const { commits } of pastReadings(seed)) {
    for (const { topic, payload } of commits.flat()) {
      const [, station = '', point = ''] = topic.split('/');
      for (const { t, v } of JSON.parse(payload) as { t: number; v: number }[])
        take(station, point, t, v);
    }
  }
}, 60_000);

function of(feature: FeatureName, point: string): FeatureRow[] {
  return rows.filter((row) => row.feature === feature && row.point === point);
}

/** What somebody who looks at the end of the six weeks is told. */
function conditionOf(feature: FeatureName, point: string) {
  const restarts = point === repaired ? [heaterChanged.doneMs] : [];
  const condition = featureCondition(of(feature, point), restarts);
  if (condition === null) throw new Error(`nothing is told of ${point}`);
  return condition;
}

describe('the demo’s six weeks', () => {
  it.each(stations)('have every closing of %s by its gauge, and no other', (id) => {
    const days = Array.from(
      { length: 1 - pastDays.first + pastDays.last },
      (_, i) => pastDays.first + i,
    );
    const starts = days
      .filter(isWorkingDay)
      .flatMap((day) => loadsOfDay(day, seed))
      .filter(({ station, startMs }) => station === id && startMs < firstRecordMs)
      .map(({ startMs }) => startMs);
    const truth = [...new Set(starts)].sort((a, b) => a - b);
    const found = closings[id] ?? [];
    expect(found).toHaveLength(truth.length);
    expect(found.every(({ foundBy }) => foundBy === 'pressure')).toBe(true);
    const holds = found.filter(({ start }, i) => {
      const ms = truth[i] ?? NaN;
      return start.earliestMs <= ms && ms <= start.latestMs;
    });
    expect(holds).toHaveLength(truth.length);
  });

  it('show the slow decline of the upper left platen: −1.2 K a month, within its interval', () => {
    const { state, trend, calledMs } = conditionOf('hold-level', weakZone);
    expect(state).toBe('weakens');
    expect(calledMs).not.toBeNull();
    const perWeek = (-1.2 * 7) / 30;
    expect(trend?.lowPerWeek).toBeLessThan(perWeek);
    expect(trend?.highPerWeek).toBeGreaterThan(perWeek);
    // An interval that holds nothing at all would hold the truth too.
    expect(trend?.highPerWeek).toBeLessThan(0);
  });

  it.each(['p1-1r', 'p1-2l', 'p1-2r', 'p1-3l', 'p1-3r', 'p2-back-u', 'p2-back-l', 'p2-wing-u'])(
    'leave %s as it was',
    (point) => {
      for (const feature of ['hold-level', 'minutes-to-ready'] as const)
        expect(conditionOf(feature, point).state, feature).toBe('as-it-was');
    },
  );

  it('begin a new baseline with the changed heater, and tell by how much it heats up sooner', () => {
    const slow = of('minutes-to-ready', repaired);
    const { baselineSinceMs, state, cycles } = conditionOf('minutes-to-ready', repaired);
    expect(baselineSinceMs).toBeGreaterThanOrEqual(heaterChanged.doneMs);
    const since = slow.filter(({ atMs }) => atMs >= heaterChanged.doneMs);
    expect(cycles).toBe(since.length);
    expect(cycles).toBeLessThan(slow.length);
    expect(state).toBe('as-it-was');
    const evidence = repairEvidence(slow, heaterChanged.doneMs);
    expect(evidence?.says).toBe('better');
    // A rod of three was out: 82 % of the heat, and so 1/0.82 of the minutes, less what is lost on the way.
    const share = (evidence?.before.value ?? NaN) / (evidence?.after.value ?? NaN);
    expect(share).toBeGreaterThan(1.15);
    expect(share).toBeLessThan(1.4);
    expect(repairEvidence(of('minutes-to-ready', 'p2-back-l'), heaterChanged.doneMs)?.says).toBe(
      'same',
    );
  });

  it('begin on a Monday and end where the demo’s own records begin', () => {
    const times = Object.values(closings).flatMap((own) => own.map(({ start }) => start.bestMs));
    expect(Math.min(...times)).toBeGreaterThan(atClock(pastDays.first, 6));
    expect(Math.max(...times)).toBeLessThan(firstRecordMs);
    expect(times.length).toBeGreaterThan(1900);
  });
});
