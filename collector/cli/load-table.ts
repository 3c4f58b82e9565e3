import type { RawReading } from '@setwell/shared-models/score/readings';
import { readNumberTable, type NumberTable } from '../number-table.ts';
import { CommandProblem } from '../problem.ts';

/** Readings of one load; its first and last row are its marks. */
export interface LoadTable {
  startMs: number;
  endMs: number;
  /** Whether the times are instants, not seconds of a clock that nobody dated. */
  dated: boolean;
  readings: RawReading[];
  /** Points with a column, read or not. */
  points: Set<string>;
}

/**
 * A load's readings from a CSV: `time_s` or `time`, and a column for each point.
 *
 * Rows may stand in any order and more than once: readings are a set.
 *
 * @param columns point of each column the file may have
 */
export function readLoadTable(file: string, columns: ReadonlyMap<string, string>): LoadTable {
  const names = [...columns.keys()];
  const what = `readings with the columns time_s (or time), ${names.join(', ')}`;
  const table = readNumberTable(file, {
    what,
    columns: [
      { name: 'time_s', optional: true, least: -1e9, most: 1e12 },
      { name: 'time', kind: 'instant', optional: true },
      ...names.map((name) => ({ name, mayBeEmpty: true, optional: true })),
    ],
  });
  const timesMs = timesOf(table, what);
  const readings: RawReading[] = [];
  const points = new Set<string>();
  for (const [column, point] of columns) {
    const values = table.numbers(column);
    if (values === undefined) continue;
    points.add(point);
    values.forEach((value, row) => {
      if (value !== null) readings.push({ point, tMs: timesMs[row] ?? 0, value });
    });
  }
  if (points.size === 0) {
    const found = `the columns ${table.headings.join(', ')}`;
    throw new CommandProblem({ code: 'missing-column', file, line: 1, found, expected: what });
  }
  return {
    startMs: least(timesMs),
    endMs: -least(timesMs.map((ms) => -ms)),
    dated: table.headings.includes('time'),
    readings,
    points,
  };
}

/** Times of a table's rows, from `time_s` or `time`, of which it has one [ms]. */
export function timesOf(table: NumberTable, expected: string): number[] {
  const seconds = table.numbers('time_s');
  const instants = table.numbers('time');
  if ((seconds === undefined) === (instants === undefined)) {
    throw new CommandProblem({
      code: seconds === undefined ? 'missing-column' : 'column-twice',
      file: table.file,
      line: 1,
      found: seconds === undefined ? `the columns ${table.headings.join(', ')}` : 'time_s and time',
      expected,
    });
  }
  return seconds === undefined
    ? table.full('time')
    : table.full('time_s').map((s) => Math.round(s * 1000));
}

function least(values: readonly number[]): number {
  return values.reduce((a, b) => Math.min(a, b), Infinity);
}
