import { ClosingFinder } from '@setwell/shared-models/condition/closing-finder';
import { coldChargeOf, type Closing } from '@setwell/shared-models/condition/closing';
import { finderSettingOf } from '@setwell/shared-models/condition/station-edges';
import type { Plant, Station } from '@setwell/shared-models/plant/plant';
import { readPlant } from '@setwell/shared-models/plant/read-plant';
import { atClock } from '@setwell/deploy/demo/calendar';
import { loadsOfDay } from '@setwell/deploy/demo/schedule';
import { Works, type WorksReading } from '@setwell/deploy/demo/works';
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { beforeAll, describe, expect, it } from 'vitest';
import { answerOf, csvFile } from '../fixtures/command.ts';

const plantFile = new URL('../../deploy/demo/plant.yaml', import.meta.url);
const seed = 1;
const monday = 3;

let plant: Plant;
let readings: WorksReading[];

/** A working day of the demo without a single event: readings, and nothing else. */
beforeAll(() => {
  const read = readPlant(readFileSync(plantFile, 'utf8'), 'plant.yaml');
  if (!read.ok) throw new Error('the demo’s plant is refused');
  plant = read.value;
  const works = Works.at(atClock(monday, 4), { seed, pressEveryS: 5 });
  readings = [];
  works.advance(atClock(monday, 23), (happening) => {
    if (happening.kind === 'reading' && happening.station.startsWith('press'))
      readings.push(happening);
  });
});

function stationOf(id: string): Station {
  const station = plant.stations.find((each) => each.id === id);
  if (station === undefined) throw new Error(`no ${id}`);
  return station;
}

function closingsOf(id: string, points: (point: string) => boolean, of = readings): Closing[] {
  const finder = new ClosingFinder(finderSettingOf(stationOf(id), plant));
  const closings: Closing[] = [];
  for (const { point, t, v } of of) {
    if (!points(point)) continue;
    for (const told of finder.take(point, t, v)) {
      if (told.what === 'closed') closings.push(told.closing);
    }
  }
  return closings;
}

/** When the boards were really laid in. */
function truthOf(id: string): number[] {
  const starts = loadsOfDay(monday, seed).filter(({ station }) => station === id);
  return [...new Set(starts.map(({ startMs }) => startMs))];
}

const isFace = (point: string) => !/bar|closed/.test(point);

function insideOf(closings: readonly Closing[], truth: readonly number[]): number {
  return closings.filter(({ start }, i) => {
    const ms = truth[i] ?? NaN;
    return start.earliestMs <= ms && ms <= start.latestMs;
  }).length;
}

describe.each(['press-1', 'press-2'])('a day of %s without a single event', (id) => {
  it('has every closing by its gauge, each interval with the true start in it', () => {
    const closings = closingsOf(id, () => true);
    const truth = truthOf(id);
    expect(closings).toHaveLength(truth.length);
    expect(insideOf(closings, truth)).toBe(truth.length);
    expect(closings.every(({ foundBy }) => foundBy === 'pressure')).toBe(true);
    expect(closings.every((closing) => coldChargeOf(closing, Infinity) === 'seen')).toBe(true);
  });

  it('has every closing by the dip of its faces alone, each interval with the true start in it', () => {
    const closings = closingsOf(id, isFace);
    const truth = truthOf(id);
    expect(Math.abs(closings.length - truth.length) / truth.length).toBeLessThanOrEqual(0.02);
    expect(insideOf(closings, truth)).toBe(closings.length);
    expect(closings.every(({ foundBy }) => foundBy === 'dip')).toBe(true);
    // An interval as wide as the cycle would hold anything.
    for (const { start } of closings) {
      expect(start.latestMs - start.earliestMs).toBeLessThan(90_000);
    }
  });
});

describe.each(['press-1', 'press-2'])('setwell closings on the file of a day of %s', (id) => {
  /** As a logger writes it: a row a time, an empty cell where a point said nothing then. */
  function fileOf(points: (point: string) => boolean): string {
    const own = readings.filter(({ station, point }) => station === id && points(point));
    const columns = [...new Set(own.map(({ point }) => point))];
    const rows = new Map<number, Map<string, number>>();
    for (const { point, t, v } of own) {
      const row = rows.get(t) ?? new Map<string, number>();
      rows.set(t, row.set(point, v));
    }
    const lines = [...rows].map(([t, row]) =>
      [new Date(t).toISOString(), ...columns.map((point) => row.get(point) ?? '')].join(','),
    );
    return csvFile([['time', ...columns].join(','), ...lines, ''].join('\n'));
  }

  it.each([
    ['the gauge', () => true, 0, 'pressure'],
    ['the faces alone', isFace, 0.02, 'dip'],
  ] as const)('finds what was pressed by %s', async (_by, points, allowed, foundBy) => {
    const plant = ['--plant', fileURLToPath(plantFile), '--station', id];
    const { exit, document } = await answerOf(['closings', fileOf(points), ...plant]);
    const found = document as unknown as { foundBy: string }[];
    const truth = truthOf(id);
    expect(exit).toBe(0);
    expect(Math.abs(found.length - truth.length) / truth.length).toBeLessThanOrEqual(allowed);
    expect(new Set(found.map((closing) => closing.foundBy))).toEqual(new Set([foundBy]));
  });
});

it('knows the true end too, as closely as the gauge is read, and only between two dips without one', () => {
  const truth = loadsOfDay(monday, seed).filter(({ station }) => station === 'press-2');
  for (const by of [() => true, isFace]) {
    const closings = closingsOf('press-2', by);
    closings.slice(0, -1).forEach(({ end }, i) => {
      const endMs = truth[i]?.endMs ?? NaN;
      expect(end?.earliestMs).toBeLessThanOrEqual(endMs);
      expect(end?.latestMs).toBeGreaterThanOrEqual(endMs);
    });
  }
});

it('says of a press that is shut hot and empty that no cold charge was seen', () => {
  const from = atClock(monday, 5.9);
  const empty = readings.filter(({ t, station }) => station === 'press-1' && t < from);
  const last = empty.at(-1)?.t ?? 0;
  const shut = [1, 2, 3].map((n): WorksReading => {
    return { kind: 'reading', station: 'press-1', point: 'p1-bar', t: last + n * 5000, v: 162 };
  });
  const [closing, ...others] = closingsOf('press-1', () => true, [...empty, ...shut]);
  expect(others).toEqual([]);
  if (closing === undefined) throw new Error('not seen');
  expect(coldChargeOf(closing, last + 10_000)).toBe('not-yet');
  expect(coldChargeOf(closing, last + 10 * 60_000)).toBe('not-seen');
});

it('takes a press that lets steam off for seconds as still closed', () => {
  const of = readings.filter(({ station }) => station === 'press-2');
  const breaths = of.map((reading) => {
    const inBreath = reading.point === 'p2-bar' && reading.t % (27 * 60_000) < 10_000;
    return inBreath ? { ...reading, v: 0 } : reading;
  });
  expect(closingsOf('press-2', () => true, breaths)).toHaveLength(truthOf('press-2').length);
});

it('goes by the dips while the gauge is dead, and by the gauge again', () => {
  const deadFrom = atClock(monday, 9);
  const deadTo = atClock(monday, 13);
  const of = readings.filter(
    ({ point, t, station }) =>
      station === 'press-1' && !(/bar|closed/.test(point) && t > deadFrom && t < deadTo),
  );
  const closings = closingsOf('press-1', () => true, of);
  const truth = truthOf('press-1');
  expect(closings).toHaveLength(truth.length);
  expect(insideOf(closings, truth)).toBe(truth.length);
  const by = new Set(closings.map(({ foundBy }) => foundBy));
  expect(by).toEqual(new Set(['pressure', 'dip']));
});

it('takes the dip of a single face for a loose element, not for a closing', () => {
  const before = readings.filter(
    ({ t, station }) => station === 'press-1' && t < atClock(monday, 6),
  );
  const loose = before.map((reading) => {
    const fallen = reading.point === 'p1-2l' && reading.t > atClock(monday, 5.8);
    return fallen ? { ...reading, v: reading.v - 20 } : reading;
  });
  expect(closingsOf('press-1', isFace, loose)).toEqual([]);
});

it('finds the same whatever the gateway did to the order of the points', () => {
  const of = readings.filter(({ station }) => station === 'press-2');
  const late = of
    .map((reading) => ({ reading, at: reading.t + (reading.point === 'p2-bar' ? 75_000 : 0) }))
    .sort((a, b) => a.at - b.at)
    .map(({ reading }) => reading);
  const starts = (closings: Closing[]) => closings.map(({ start }) => start.latestMs);
  expect(starts(closingsOf('press-2', () => true, late))).toEqual(
    starts(closingsOf('press-2', () => true, of)),
  );
});
