import { ClosingFinder } from '@setwell/shared-models/condition/closing-finder';
import type { EdgeSource, FinderSetting } from '@setwell/shared-models/condition/closing-finder';
import { coldChargeOf, singleMs } from '@setwell/shared-models/condition/closing';
import type { Closing } from '@setwell/shared-models/condition/closing';
import {
  finderSettingOf,
  pressureLevels,
  switchLevels,
} from '@setwell/shared-models/condition/station-edges';
import { celsiusOfSignal, temperatureSignalOf } from '@setwell/shared-models/metrology/signal';
import { measuresTemperature, type Plant, type Station } from '@setwell/shared-models/plant/plant';
import { readPlant } from '@setwell/shared-models/plant/read-plant';
import type { Command } from 'commander';
import { readNumberTable, type ColumnRule, type NumberTable } from '../number-table.ts';
import { CommandProblem } from '../problem.ts';
import { answered, type Answer } from './answer.ts';
import { readOwnFile } from './own-file.ts';
import { stationNamed } from './scored-station.ts';
import { timesOf } from './load-table.ts';

interface ClosingsOptions {
  plant?: string;
  station?: string;
}

const what =
  'a logger’s file with time_s or time, and upper_c, lower_c, air_c or other names ending in _c, pressure_bar, closed or door; with --plant, columns named by point';

/** Faces of which nobody says how hot they work: a charge on plates cooler than this is not looked for [°C]. */
const hotC = 60;

export function registerClosings(program: Command): void {
  program
    .command('closings')
    .description('when the station was closed on a cold charge, as a logger’s readings show it')
    .argument('<file>', 'CSV with time_s or time and a column a point; an empty cell is no reading')
    .option('--plant <file>', 'plant.yaml: columns are its points')
    .option('--station <id>', 'the station of the plant')
    .action(answered(answerClosings));
}

function answerClosings(file: string, options: ClosingsOptions): Answer {
  const asked = stationAsked(options);
  const table = tableOf(file, asked);
  const timesMs = timesOf(table, what);
  const columns = table.headings.filter((name) => name !== 'time' && name !== 'time_s');
  if (columns.length === 0) {
    throw new CommandProblem({
      ...{ code: 'missing-column', file, line: 1 },
      found: table.headings.join(', '),
      expected:
        'a column of readings beside the time: upper_c, lower_c, pressure_bar, closed, door',
    });
  }
  const setting =
    asked === null ? settingOfColumns(table, columns) : pointsOf(asked, columns, file);
  const closings = found(new ClosingFinder(setting.finder), table, timesMs, setting);
  const untilMs = timesMs.reduce((a, b) => Math.max(a, b), -Infinity);
  const dated = table.headings.includes('time');
  return {
    document: closings.map((closing) => documentOf(closing, dated, untilMs)),
    text: textOf(closings, dated, untilMs),
  };
}

interface Columns {
  finder: FinderSetting;
  /** What a cell says in the finder's units; null where it says nothing. */
  value(column: string, cell: number): number | null;
}

function stationAsked({
  plant,
  station,
}: ClosingsOptions): { plant: Plant; station: Station } | null {
  if (plant === undefined && station === undefined) return null;
  if (plant === undefined || station === undefined) {
    throw new CommandProblem({
      code: 'missing-option',
      field: plant === undefined ? '--plant' : '--station',
      found: plant === undefined ? '--station alone' : '--plant alone',
      expected: '--plant and --station together',
    });
  }
  const read = readOwnFile(plant, readPlant, 'a plant');
  return { plant: read, station: stationNamed(read, plant, station) };
}

function tableOf(file: string, asked: { plant: Plant; station: Station } | null): NumberTable {
  const known = new Set<string>();
  if (asked !== null) {
    const { edges, faces } = finderSettingOf(asked.station, asked.plant);
    for (const { point } of [...edges, ...faces]) known.add(point);
    // Other columns of the plant are no fault, only no help.
    for (const point of asked.plant.sensors.keys()) known.add(point);
  }
  const isColumn = (name: string) =>
    asked === null ? /(_c|_bar)$|^(pressure|closed|door)/.test(name) : known.has(name);
  return readNumberTable(file, {
    what: asked === null ? what : `time_s or time, and points of ${asked.station.id}`,
    columns: [
      { name: 'time_s', optional: true, order: 'not-falling', least: -1e9, most: 1e12 },
      { name: 'time', kind: 'instant', optional: true, order: 'not-falling' },
      ...[...known].map((name): ColumnRule => ({ name, mayBeEmpty: true, optional: true })),
    ],
    other: (name) => (isColumn(name) ? { name, mayBeEmpty: true } : null),
  });
}

/** A file that knows no plant: what a column is follows from its name. */
function settingOfColumns(table: NumberTable, columns: readonly string[]): Columns {
  const edges = columns.flatMap((point): EdgeSource[] => {
    if (point.startsWith('door')) return [{ point, by: 'door', ...switchLevels }];
    if (point.startsWith('closed')) return [{ point, by: 'limit-switch', ...switchLevels }];
    if (point.endsWith('_c')) return [];
    const most = (table.numbers(point) ?? []).reduce<number>((a, b) => Math.max(a, b ?? 0), 0);
    return most > 0 ? [{ point, by: 'pressure', ...pressureLevels(most) }] : [];
  });
  const rank = { pressure: 0, 'limit-switch': 1, door: 2 };
  edges.sort((a, b) => rank[a.by] - rank[b.by]);
  const faces = columns
    .filter((point) => point.endsWith('_c'))
    .map((point) => ({ point, depthMm: 0 }));
  return { finder: { edges, faces, hotC }, value: (_, cell) => cell };
}

function pointsOf(
  { plant, station }: { plant: Plant; station: Station },
  columns: readonly string[],
  file: string,
): Columns {
  const finder = finderSettingOf(station, plant);
  const edges = finder.edges.filter(({ point }) => columns.includes(point));
  const faces = finder.faces.filter(({ point }) => columns.includes(point));
  if (edges.length + faces.length === 0) {
    const points = [...finder.edges, ...finder.faces].map(({ point }) => point);
    throw new CommandProblem({
      code: 'missing-column',
      file,
      line: 1,
      found: `the columns ${columns.join(', ')}`,
      expected: `a point of ${station.id}: ${points.join(', ')}`,
    });
  }
  return {
    finder: { ...finder, edges, faces },
    value: (column, cell) => {
      const sensor = plant.sensors.get(column);
      if (sensor === undefined || !measuresTemperature(sensor)) return cell;
      const signal = temperatureSignalOf(sensor);
      const c = signal === null ? null : celsiusOfSignal(cell, signal);
      const { minC, maxC } = sensor.plausible;
      return c === null || c < minC || c > maxC ? null : c;
    },
  };
}

function found(
  finder: ClosingFinder,
  table: NumberTable,
  timesMs: readonly number[],
  { value }: Columns,
): Closing[] {
  const closings: Closing[] = [];
  const columns = table.headings
    .filter((name) => name !== 'time' && name !== 'time_s')
    .map((name) => ({ name, cells: table.numbers(name) ?? [] }));
  timesMs.forEach((tMs, row) => {
    for (const { name, cells } of columns) {
      const cell = cells[row] ?? null;
      const read = cell === null ? null : value(name, cell);
      if (read === null) continue;
      for (const told of finder.take(name, tMs, read)) {
        if (told.what === 'closed') closings.push(told.closing);
      }
    }
  });
  return closings;
}

function documentOf(closing: Closing, dated: boolean, untilMs: number): object {
  const time = (ms: number | null) =>
    ms === null ? null : dated ? new Date(ms).toISOString() : Math.round(ms) / 1000;
  const { start, end, endEarliestMs, foundBy, dips } = closing;
  return {
    start: time(start.bestMs),
    startEarliest: time(start.earliestMs),
    startLatest: time(start.latestMs),
    end: time(end === null ? null : singleMs(end)),
    endEarliest: time(end?.earliestMs ?? endEarliestMs),
    endLatest: time(end?.latestMs ?? null),
    foundBy,
    coldCharge: coldChargeOf(closing, untilMs),
    dips: dips.map(({ point, levelC, bottomC, recoveredMs }) => ({
      point,
      depthK: levelC - bottomC,
      recovered: time(recoveredMs),
    })),
  };
}

function textOf(closings: readonly Closing[], dated: boolean, untilMs: number): string {
  if (closings.length === 0) return 'no cold charge seen, and no closing by gauge, switch or door';
  const time = (ms: number) => (dated ? new Date(ms).toISOString() : `${Math.round(ms / 1000)} s`);
  const lines = closings.map((closing, n) => {
    const { start, end, foundBy } = closing;
    const half = Math.round((start.latestMs - start.earliestMs) / 2000);
    const until = end === null ? null : singleMs(end);
    const ends = until === null ? 'end not known' : `to ${time(until)}`;
    const charge = {
      seen: '',
      'not-seen': ', no cold charge seen',
      'plates-cold': ', plates were not hot',
      'not-yet': ', the file ends before a dip would show',
    }[coldChargeOf(closing, untilMs)];
    return `${String(n + 1).padStart(3)}  ${time(start.bestMs)} ±${half} s ${ends}, by ${foundBy}${charge}`;
  });
  return [...lines, `${closings.length} closings`].join('\n');
}
