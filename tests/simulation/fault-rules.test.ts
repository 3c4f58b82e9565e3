import { describe, expect, test } from 'vitest';
import { FaultWatch } from '@setwell/shared-models/metrology/fault/fault-watch';
import type { WatchedPoint } from '@setwell/shared-models/metrology/fault/rule';
import { plantRules, pointRules } from '@setwell/shared-models/metrology/fault/rules';
import { faultTable, silencesOf, staged } from './fault-table.ts';
import { demoPlant } from './faulty-works.ts';

const plant = demoPlant();
const quiet = silencesOf(plant);

describe('faults put into the demo works on a Monday at 09:30', () => {
  test.each(staged)('$rule at $point is found, and at no other point', (fault) => {
    const { rule, point, partner } = fault;
    const row = faultTable(plant, quiet, [fault])[0]!;
    expect(row.foundAfterMin, `${rule} is not found`).not.toBeNull();
    expect(row.foundAfterMin).toBeLessThanOrEqual(fault.withinMin);
    // Doubted from its first wrong reading on, not from when somebody noticed.
    expect(Math.abs(row.doubtedFromMin!)).toBeLessThanOrEqual(fault.fromWithinMin ?? 1);
    expect(row.elsewhere.filter((each) => each !== partner)).toEqual([]);
    expect(point).not.toBe(partner);
  });
});

const hourMs = 3_600_000;

/** A station's points over days, read once a minute; what each differs from their common course by. */
function overDays(days: number, differs: Record<string, (hour: number) => number>) {
  const role = (id: string) => (id === 'control' ? ('control' as const) : ('watch' as const));
  const points = Object.keys(differs).map((id): WatchedPoint => ({
    ...{ id, station: 'oven-1', signal: 'celsius', role: role(id), everyMs: 60_000 },
    ...{ onChange: false, resolutionK: 0.1 },
    plausible: { minC: 0, maxC: 200, maxRateKPerMin: 60 },
  }));
  const watch = new FaultWatch(points);
  const found: { point: string; rule: string; hour: number }[] = [];
  for (let tMs = hourMs; tMs < days * 24 * hourMs; tMs += 60_000) {
    const hour = tMs / hourMs;
    const commonC = 62 + 0.4 * Math.sin(hour);
    for (const { id } of points) {
      const c = Math.round(10 * (commonC + differs[id]!(hour) + 0.2 * Math.sin(97 * hour))) / 10;
      const reading = { tMs, receivedMs: tMs, raw: c, shownC: c, conflict: false };
      watch.take(id, reading);
    }
    for (const change of watch.look(tMs)) {
      if (change.change === 'found') found.push({ point: change.point, rule: change.rule, hour });
    }
  }
  return found;
}

const still = (k: number) => () => k;
const from = (startHour: number, kPerDay: number) => (hour: number) =>
  hour < startHour ? 0 : (kPerDay * (hour - startHour)) / 24;

test('a watch point that drifts by half a kelvin a day is found within five days', () => {
  const drifting = { a: still(0), b: still(1), c: from(96, 0.5), control: still(-0.5) };
  const [first, ...more] = overDays(12, drifting);
  expect(first).toMatchObject({ point: 'c', rule: 'drift' });
  expect(first!.hour - 96).toBeLessThan(5 * 24);
  expect(more).toEqual([]);
  expect(overDays(12, { ...drifting, c: still(0.3) })).toEqual([]);
});

test('a control point that drifts is seen by its neighbours, which all leave it the same way', () => {
  const away = from(96, 0.5);
  const found = overDays(12, { a: away, b: away, c: away, control: still(0) });
  expect(found[0]).toMatchObject({ point: 'control', rule: 'control-drift' });
});

const pressPoints = ['p-1', 'p-2', 'p-3', 'p-4'].map((id): WatchedPoint => ({
  ...{ id, station: 'press-9', signal: 'celsius', role: 'watch' as const, everyMs: 5000 },
  ...{ onChange: false, resolutionK: 0.1 },
  plausible: { minC: 0, maxC: 200, maxRateKPerMin: 120 },
}));

/** Every 5 s over so many minutes; the points' courses by the minute. */
function overMinutes(
  minutes: number,
  courseC: (point: string, min: number) => number | null,
  loads: { atMin: number; points: string[] }[] = [],
) {
  const watch = new FaultWatch(pressPoints);
  const found: { point: string; others: string[]; rule: string }[] = [];
  const open = [...loads];
  for (let s = 5; s < minutes * 60; s += 5) {
    const tMs = s * 1000;
    const [next] = open;
    if (next !== undefined && s >= next.atMin * 60) {
      watch.loaded(next.points, tMs);
      open.shift();
    }
    for (const { id } of pressPoints) {
      const c = courseC(id, s / 60);
      if (c === null) continue;
      watch.take(id, { tMs, receivedMs: tMs, raw: c, shownC: c, conflict: false });
    }
    for (const change of watch.look(tMs)) {
      if (change.change !== 'found') continue;
      found.push({ point: change.point, others: change.others, rule: change.rule });
    }
  }
  return found;
}

test('two points swapped: a cold charge is felt by the one it does not touch, twice', () => {
  const loads = [10, 30].map((atMin) => ({ atMin, points: ['p-1', 'p-2'] }));
  const dipK = (min: number) => (min >= 10 && min % 20 < 14 && min % 20 >= 10 ? 9 : 0);
  const heard = (dipping: string[]) =>
    overMinutes(50, (point, min) => 138 - (dipping.includes(point) ? dipK(min) : 0), loads);
  expect(heard(['p-1', 'p-3'])).toEqual([
    { point: 'p-2', others: ['p-3'], rule: 'swapped' },
    { point: 'p-3', others: ['p-2'], rule: 'swapped' },
  ]);
  expect(heard(['p-1', 'p-2'])).toEqual([]);
});

test('a thermocouple the wrong way round falls while its neighbours rise', () => {
  const heard = overMinutes(20, (point, min) => 70 + (point === 'p-3' ? -2 : 2) * min);
  expect(heard).toEqual([{ point: 'p-3', others: [], rule: 'reversed' }]);
});

test('after hours without a reading a station that begins hot has no wire the wrong way round', () => {
  // Point by point they come back, the first of them into the dip of a cold charge.
  const back = (point: string) => 300 + (Number(point.slice(2)) - 1) / 10;
  const heard = overMinutes(320, (point, min) =>
    min < 20
      ? 20
      : min < back(point)
        ? null
        : 138 - (point === 'p-1' ? Math.min(9, 4 * (min - 300)) : 0),
  );
  expect(heard.filter(({ rule }) => rule === 'reversed')).toEqual([]);
});

test('noise that is gone is told, and doubts nothing', () => {
  const noisy = (point: string, min: number) =>
    138 +
    (point === 'p-1' && min > 240 ? 0.02 : 0.6) * Math.sin(9973 * min + Number(point.slice(2)));
  const heard = overMinutes(420, noisy);
  expect(heard).toEqual([{ point: 'p-1', others: [], rule: 'noise-gone' }]);
  expect(pointRules.find(({ rule }) => rule === 'noise-gone')?.doubts).toBe(false);
});

test('a press that was read at its closings alone and then stands idle has no noise that is gone', () => {
  const noiseK = (point: string, min: number) =>
    0.06 * Math.sin(9973 * min + Number(point.slice(2)));
  const worked = (point: string, min: number) => {
    const since = min % 24;
    const isRead = since < 7 && Math.round(min * 60) % 20 === 0;
    const dipK = since < 1 ? 9 * since : 9 * Math.exp(-(since - 1) / 1.7);
    return isRead ? 138 - dipK + noiseK(point, min) : null;
  };
  // More closings than tell what is usual.
  const idleMin = 24 * 75;
  const heard = overMinutes(idleMin + 60, (point, min) =>
    min < idleMin ? worked(point, min) : 138 + noiseK(point, min),
  );
  expect(heard.filter(({ rule }) => rule.startsWith('noise'))).toEqual([]);
});

test('every rule names itself, its evidence and its false alarms', () => {
  const names = [...pointRules, ...plantRules].map(({ rule }) => rule);
  expect(new Set(names).size).toBe(names.length);
  for (const { evidence, falseAlarms } of [...pointRules, ...plantRules]) {
    expect(evidence.length).toBeGreaterThan(20);
    expect(falseAlarms.length).toBeGreaterThan(20);
  }
});

test('what was found before a restart is not said again, and is said to be over', () => {
  const [point] = [...plant.sensors.values()].map(({ id }) => ({ id }));
  const watch = new FaultWatch([
    {
      ...{ id: point!.id, station: 'press-1', signal: 'celsius', role: 'watch', everyMs: 1000 },
      ...{ onChange: false, resolutionK: 0.1 },
      plausible: { minC: 0, maxC: 220, maxRateKPerMin: 60 },
    },
  ]);
  const open = (tMs: number) =>
    watch.take(point!.id, { tMs, receivedMs: tMs, raw: 850, shownC: 850, conflict: false });
  watch.resume([{ rule: 'open', point: point!.id, others: [], fromMs: 500, evidence: {} }], 900);
  expect(watch.look(950)).toEqual([]);
  for (const tMs of [1000, 2000, 3000]) open(tMs);
  expect(watch.look(3000)).toEqual([]);
  watch.take(point!.id, { tMs: 4000, receivedMs: 4000, raw: 138, shownC: 138, conflict: false });
  expect(watch.look(4000)).toEqual([
    { change: 'over', rule: 'open', point: point!.id, fromMs: 500, toMs: 3000 },
  ]);
});

test('a restart heals nothing: what takes long to see again lasts until it could have been seen', () => {
  const found = (rule: string, point: string, others: string[]) => ({
    ...{ rule, point, others, fromMs: 0, evidence: {} },
  });
  const of = (minutes: number) => {
    const watch = new FaultWatch(pressPoints);
    watch.resume(
      [
        found('stuck', 'p-1', []),
        found('swapped', 'p-2', ['p-3']),
        found('swapped', 'p-3', ['p-2']),
      ],
      0,
    );
    const over: string[] = [];
    for (let s = 5; s <= minutes * 60; s += 5) {
      for (const { id } of pressPoints) {
        // Each wanders by itself; no charge comes.
        const c = 138 + Math.round(10 * Math.sin(s / (30 + 7 * Number(id.slice(2))))) / 10;
        watch.take(id, { tMs: s * 1000, receivedMs: s * 1000, raw: c, shownC: c, conflict: false });
      }
      for (const change of watch.look(s * 1000)) {
        over.push(`${change.change} ${change.rule} ${change.point}`);
      }
    }
    return over;
  };
  expect(of(15)).toEqual([]);
  expect(of(25)).toEqual(['over stuck p-1']);
});

test('crossed wires of two presses: each is felt at the other’s closings, and a fault that is not theirs is not called', () => {
  const two = ['a-1', 'a-2', 'b-1', 'b-2'].map((id): WatchedPoint => ({
    ...{ id, station: `press-${id[0]!}`, signal: 'celsius', role: 'watch' as const, everyMs: 5000 },
    ...{ onChange: false, resolutionK: 0.1 },
    plausible: { minC: 0, maxC: 200, maxRateKPerMin: 120 },
  }));
  /** Presses a and b close in turn every 20 min; what each topic's element touches. */
  const heard = (touches: Record<string, 'a' | 'b' | null>, minutes: number) => {
    const watch = new FaultWatch(two);
    const told: string[] = [];
    for (let s = 5; s < minutes * 60; s += 5) {
      const [tMs, min] = [s * 1000, s / 60];
      const sinceMin = { a: (min + 10) % 20, b: min % 20 };
      if (s % 600 === 0) {
        const press = s % 1200 === 0 ? 'b' : 'a';
        watch.loaded([`${press}-1`, `${press}-2`], tMs);
      }
      for (const { id } of two) {
        const at = touches[id] ?? null;
        const dipK = at === null ? 0 : 9 * Math.exp(-sinceMin[at] / 2);
        const wander = 0.2 * Math.sin(s / (40 + id.charCodeAt(0) + 9 * Number(id[2])));
        const c = Math.round(10 * (138 - dipK + wander)) / 10;
        watch.take(id, { tMs, receivedMs: tMs, raw: c, shownC: c, conflict: false });
      }
      for (const { change, rule, point } of watch.look(tMs)) {
        if (rule === 'swapped') told.push(`${change} ${point}`);
      }
    }
    return told;
  };
  expect(heard({ 'a-1': 'a', 'a-2': 'b', 'b-1': 'a', 'b-2': 'b' }, 75)).toEqual([
    'found a-2',
    'found b-1',
  ]);
  expect(heard({ 'a-1': 'a', 'a-2': 'a', 'b-1': 'b', 'b-2': 'b' }, 75)).toEqual([]);
  // One that touches nothing any more is no swap, whatever the other press does.
  expect(heard({ 'a-1': 'a', 'a-2': null, 'b-1': 'b', 'b-2': 'b' }, 75)).toEqual([]);
});
