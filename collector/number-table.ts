import { nearestName } from '@setwell/shared-models/plant/nearest-name';
import { CsvError, parse } from 'csv-parse/sync';
import { decimalNumber, withPoint } from './decimal-number.ts';
import { CommandProblem } from './problem.ts';
import { readTextFile } from './text-file.ts';

/** A week of 10 columns at 1 Hz is 45 MB; more is `setwell import`'s work, which streams. */
const mostBytes = 64 * 1024 * 1024;

export interface ColumnRule {
  /** Heading, with its unit last: `time_s`, `temp_c`. */
  name: string;
  /** `instant`: RFC 3339 with zone, or epoch milliseconds; its values are ms since the epoch. */
  kind?: 'number' | 'instant' | 'text';
  /** The file may do without it. */
  optional?: boolean;
  /** An empty cell is a missing value, null. */
  mayBeEmpty?: boolean;
  /** Order down the file: each greater than the one before, or at least not less. */
  order?: 'rising' | 'not-falling';
  /** Inclusive. */
  least?: number;
  most?: number;
  /** Exclusive. */
  above?: number;
  /**
   * Where this column's temperatures usually lie [°C]. A file that leaves the range, but fits when
   * its numbers are read as °F, is refused as °F.
   */
  usualC?: readonly [number, number];
}

export interface TableRules {
  columns: ColumnRule[];
  /** Rule for a heading that is not listed, such as a point's name; null refuses it. */
  other?: (heading: string) => ColumnRule | null;
  /** Fewest rows under the heading; 2 unless said otherwise. */
  leastRows?: number;
  /** What the file is, in words. */
  what: string;
}

export interface NumberTable {
  file: string;
  /** In the file's order. */
  headings: string[];
  /** Line of each row in the file, numbered from 1. */
  lines: number[];
  /** Values of a column, one a row; null where the cell is empty. Absent optional columns: undefined. */
  numbers(heading: string): (number | null)[] | undefined;
  /** Values of a column in which no cell may be empty. */
  full(heading: string): number[];
  texts(heading: string): string[];
}

interface RawRow {
  record: string[];
  info: { lines: number };
}

/**
 * A CSV with a heading and named columns: commas between, a point in decimals.
 *
 * @throws CommandProblem naming file, line and column of the first thing that is not as the rules say
 */
export function readNumberTable(file: string, rules: TableRules): NumberTable {
  return parseNumberTable(readTextFile(file, rules.what, mostBytes), file, rules);
}

export function parseNumberTable(text: string, file: string, rules: TableRules): NumberTable {
  const [heading, ...rows] = rowsOf(text, file, rules.what);
  if (heading === undefined) {
    throw new CommandProblem({
      code: 'empty-file',
      file,
      line: 1,
      found: 'an empty file',
      expected: rules.what,
    });
  }
  const columns = columnsOf(heading.record, file, heading.info.lines, rules);
  const leastRows = rules.leastRows ?? 2;
  if (rows.length < leastRows) {
    throw new CommandProblem({
      code: 'too-few-rows',
      file,
      line: rows.at(-1)?.info.lines ?? heading.info.lines,
      found: rows.length === 1 ? '1 row' : `${rows.length} rows`,
      expected: `at least ${leastRows} rows under the heading`,
    });
  }
  const lines = rows.map((row) => row.info.lines);
  const values = columns.map((rule, index) => readColumn(rule, index, rows, file, columns.length));
  const at = (name: string) => columns.findIndex((rule) => rule.name === name);
  return {
    file,
    headings: columns.map((rule) => rule.name),
    lines,
    numbers: (name) => values[at(name)] as (number | null)[] | undefined,
    full: (name) => values[at(name)] as number[],
    texts: (name) => values[at(name)] as string[],
  };
}

function rowsOf(text: string, file: string, what: string): RawRow[] {
  try {
    return parse(text, {
      bom: true,
      info: true,
      trim: true,
      skip_empty_lines: true,
      // Counted by readColumn, which names the line and what was expected.
      relax_column_count: true,
    }) as unknown as RawRow[];
  } catch (error) {
    if (!(error instanceof CsvError)) throw error;
    const line = Number(
      /on line (\d+)|at line (\d+)/.exec(error.message)?.slice(1).find(Boolean) ?? 1,
    );
    throw new CommandProblem({ code: 'no-csv', file, line, found: error.message, expected: what });
  }
}

function columnsOf(
  headings: string[],
  file: string,
  line: number,
  rules: TableRules,
): ColumnRule[] {
  const names = rules.columns.map((rule) => rule.name);
  const listed = `the columns ${names.join(', ')}`;
  if (headings.length === 1 && /[;\t]/.test(headings[0] ?? '')) {
    throw new CommandProblem({
      code: 'other-separator',
      file,
      line,
      found: `${headings[0]?.includes(';') ? 'semicolons' : 'tabs'} between the columns`,
      expected: `commas between the columns and a point in decimals; ${listed}`,
    });
  }
  const columns = headings.map((heading, index) => {
    if (headings.indexOf(heading) !== index) {
      throw new CommandProblem({
        code: 'column-twice',
        file,
        line,
        field: heading,
        found: 'the column twice',
        expected: 'each column once',
      });
    }
    const rule =
      rules.columns.find((each) => each.name === heading) ?? rules.other?.(heading) ?? null;
    if (rule !== null) return rule;
    const fahrenheit = /_f$|°\s?f|fahrenheit/i.test(heading);
    const nearest = nearestName(heading, names);
    throw new CommandProblem({
      code: fahrenheit ? 'fahrenheit' : 'unknown-column',
      file,
      line,
      field: heading,
      found: fahrenheit ? `${JSON.stringify(heading)}, a column in °F` : JSON.stringify(heading),
      expected: `${nearest === null ? '' : `${nearest}; `}${fahrenheit ? 'temperatures in °C; ' : ''}${listed}`,
    });
  });
  for (const rule of rules.columns) {
    if (rule.optional === true || columns.includes(rule)) continue;
    throw new CommandProblem({
      code: 'missing-column',
      file,
      line,
      field: rule.name,
      found: `the columns ${headings.join(', ')}`,
      expected: rule.name,
    });
  }
  return columns;
}

function readColumn(rule: ColumnRule, index: number, rows: RawRow[], file: string, width: number) {
  let before: number | null = null;
  const values = rows.map(({ record, info }) => {
    const cell = record[index];
    const refuse = (code: string, found: string, expected: string) =>
      new CommandProblem({ code, file, line: info.lines, field: rule.name, found, expected });
    if (cell === undefined) {
      throw refuse('short-row', `a row of ${record.length} cells`, `${width} cells`);
    }
    if (record.length > width) {
      const hint = record.length === 2 * width ? ': decimals take a point, not a comma' : '';
      throw refuse('long-row', `a row of ${record.length} cells`, `${width} cells${hint}`);
    }
    if (rule.kind === 'text') return cell;
    const value = readCell(cell, rule, refuse);
    if (value === null) return null;
    if (rule.order !== undefined && before !== null) {
      if (value < before)
        throw refuse('descending', `${cell} after ${before}`, 'times that rise down the file');
      if (value === before && rule.order === 'rising')
        throw refuse('same-time-twice', `${cell} twice`, 'each time once');
    }
    before = value;
    return value;
  });
  if (rule.usualC !== undefined)
    refuseFahrenheit(values as (number | null)[], rule, rule.usualC, rows, file);
  return values;
}

function readCell(
  cell: string,
  rule: ColumnRule,
  refuse: (code: string, found: string, expected: string) => CommandProblem,
): number | null {
  const wanted = rule.kind === 'instant' ? 'a time such as 2026-03-02T06:00:00Z' : 'a number';
  if (cell === '') {
    if (rule.mayBeEmpty === true) return null;
    throw refuse('empty-cell', 'an empty cell', wanted);
  }
  const value = rule.kind === 'instant' ? readInstant(cell) : decimalNumber(cell);
  if (value === null) {
    const found = JSON.stringify(cell.slice(0, 60));
    const pointed = withPoint(cell);
    if (pointed !== null) throw refuse('decimal-comma', found, `a number with a point: ${pointed}`);
    if (cell.endsWith('F') && decimalNumber(withoutUnit(cell)) !== null)
      throw refuse('fahrenheit', found, 'a number in °C');
    throw refuse('no-number', found, wanted);
  }
  if (rule.least !== undefined && value < rule.least)
    throw refuse('too-small', cell, `at least ${rule.least}`);
  if (rule.above !== undefined && value <= rule.above)
    throw refuse('too-small', cell, `more than ${rule.above}`);
  if (rule.most !== undefined && value > rule.most)
    throw refuse('too-great', cell, `at most ${rule.most}`);
  return value;
}

/** What stands before °F, F or ° F. */
function withoutUnit(cell: string): string {
  const before = cell.slice(0, -1).trimEnd();
  return before.endsWith('°') ? before.slice(0, -1).trimEnd() : before;
}

function readInstant(cell: string): number | null {
  if (/^\d{12,14}$/.test(cell)) return Number(cell);
  if (!/^\d{4}-\d\d-\d\d[T ]\d\d:\d\d(:\d\d(\.\d+)?)?(Z|[+-]\d\d:\d\d)$/i.test(cell)) return null;
  const ms = Date.parse(cell.replace(' ', 'T'));
  return Number.isFinite(ms) ? ms : null;
}

function refuseFahrenheit(
  values: (number | null)[],
  rule: ColumnRule,
  [usualLeastC, usualMostC]: readonly [number, number],
  rows: RawRow[],
  file: string,
): void {
  const read = values.filter((value) => value !== null);
  const outside = values.findIndex((value) => value !== null && value > usualMostC);
  if (outside < 0) return;
  const asCelsius = read.map((value) => (value - 32) / 1.8);
  if (asCelsius.some((value) => value > usualMostC || value < usualLeastC)) return;
  throw new CommandProblem({
    code: 'fahrenheit',
    file,
    line: rows[outside]?.info.lines ?? null,
    field: rule.name,
    found: `${String(values[outside])}, and every number of the column fits as °F`,
    expected: `temperatures in °C, usually ${usualLeastC} to ${usualMostC} here`,
  });
}
