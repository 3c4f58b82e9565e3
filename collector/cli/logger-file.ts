import { closeSync, createReadStream, openSync, readSync, statSync } from 'node:fs';
import type { ImportedRow } from '@setwell/shared-models/api/import';
import { instantMs } from '@setwell/shared-models/plant/instant';
import { nearestName } from '@setwell/shared-models/plant/nearest-name';
import { CsvError, parse } from 'csv-parse';
import { decimalNumber, withPoint } from '../decimal-number.ts';
import { CommandProblem, problemOfFile } from '../problem.ts';

/** A reading with the line it stands in, or why a cell is none. */
export type LoggerCell =
  | { line: number; row: ImportedRow }
  | { line: number; field: string; code: string; found: string; expected: string };

/** One line of a logger, and how much of the file lies behind it [1]. */
export interface LoggerLine {
  cells: LoggerCell[];
  share: number;
}

const what = 'a CSV with "time" and a column a point, or with "time", "point", "value"';
/** A heading of thousands of points fits; one line without an end does not. */
const mostLineBytes = 1024 * 1024;

/**
 * Reads a logger's file line by line, whatever its length: commas between, or semicolons and then perhaps
 * decimal commas. Times are RFC 3339 with zone, or epoch milliseconds.
 *
 * @param map a heading's point, where they differ
 * @throws CommandProblem where the file or its heading cannot be read
 */
export async function* readLoggerFile(
  file: string,
  map: ReadonlyMap<string, string>,
  points: ReadonlySet<string>,
): AsyncGenerator<LoggerLine> {
  const size = sizeOf(file);
  const source = createReadStream(file);
  const parser = source.pipe(
    parse({
      bom: true,
      info: true,
      trim: true,
      skip_empty_lines: true,
      relax_column_count: true,
      max_record_size: mostLineBytes,
      delimiter: delimiterOf(file),
    }),
  );
  source.on('error', (error) => parser.destroy(error));
  let layout: Layout | null = null;
  try {
    for await (const { record, info } of parser as AsyncIterable<{
      record: string[];
      info: { lines: number };
    }>) {
      if (layout === null) {
        layout = layoutOf(record, file, map, points);
        continue;
      }
      const cells = cellsOf(record, info.lines, layout);
      yield { cells, share: size === 0 ? 1 : Math.min(1, source.bytesRead / size) };
    }
  } catch (error) {
    if (!(error instanceof CsvError)) throw error;
    const line = Number(/line (\d+)/.exec(error.message)?.[1] ?? 1);
    throw new CommandProblem({ code: 'no-csv', file, line, found: error.message, expected: what });
  }
  if (layout !== null) return;
  throw new CommandProblem({
    code: 'empty-file',
    file,
    line: 1,
    found: 'an empty file',
    expected: what,
  });
}

/** Semicolons in the heading part its columns: then a comma is a decimal one. */
function delimiterOf(file: string): ',' | ';' {
  const bytes = Buffer.alloc(64 * 1024);
  const descriptor = openSync(file, 'r');
  try {
    const read = readSync(descriptor, bytes);
    const [heading = ''] = bytes.toString('utf8', 0, read).split('\n');
    return heading.includes(';') ? ';' : ',';
  } finally {
    closeSync(descriptor);
  }
}

type Layout =
  | { kind: 'long'; time: number; point: number; value: number; seq: number }
  | { kind: 'wide'; time: number; columns: { at: number; heading: string; point: string }[] };

function sizeOf(file: string): number {
  try {
    const stat = statSync(file);
    if (stat.isFile()) return stat.size;
  } catch (error) {
    throw problemOfFile(file, error, what);
  }
  throw new CommandProblem({ code: 'no-file', file, found: 'a folder', expected: what });
}

function layoutOf(
  headings: string[],
  file: string,
  map: ReadonlyMap<string, string>,
  points: ReadonlySet<string>,
): Layout {
  const time = headings.indexOf('time');
  const refuse = (field: string, found: string, expected: string, code = 'wrong-heading') => {
    return new CommandProblem({ code, file, line: 1, field, found, expected });
  };
  if (time < 0) throw refuse('time', headings.slice(0, 8).join(', ') || 'nothing', what);
  const twice = headings.find((heading, i) => headings.indexOf(heading) !== i);
  if (twice !== undefined) throw refuse(twice, 'the heading twice', 'each column once');
  const [point, value] = [headings.indexOf('point'), headings.indexOf('value')];
  if (point >= 0 && value >= 0 && !points.has('point')) {
    return { kind: 'long', time, point, value, seq: headings.indexOf('seq') };
  }
  for (const heading of map.keys()) {
    if (!headings.includes(heading)) throw refuse('--map', heading, 'a heading of the file');
  }
  const columns = headings.flatMap((heading, at) => {
    if (at === time) return [];
    const name = map.get(heading) ?? heading;
    if (points.has(name)) return [{ at, heading, point: name }];
    const nearest = nearestName(name, [...points]);
    const meant = nearest === null ? '' : ` (${nearest}?)`;
    throw refuse(
      heading,
      `no point ${name}${meant}`,
      'a point of the plant, or --map',
      'unknown-point',
    );
  });
  if (columns.length === 0) throw refuse('', 'a time and nothing else', what);
  return { kind: 'wide', time, columns };
}

function cellsOf(record: string[], line: number, layout: Layout): LoggerCell[] {
  const written = record[layout.time] ?? '';
  const t = timeOf(written);
  if (t === null) {
    const expected = 'RFC 3339 with zone, or milliseconds since 1970';
    return [{ line, field: 'time', code: 'not-a-time', found: written.slice(0, 60), expected }];
  }
  if (layout.kind === 'long') {
    const point = record[layout.point] ?? '';
    const written = record[layout.seq] ?? '';
    const seq = written === '' ? null : countOf(written);
    if (seq === undefined) {
      const expected = `a device’s count: a whole number from 0 to ${String(Number.MAX_SAFE_INTEGER)}`;
      return [{ line, field: 'seq', code: 'not-a-count', found: written.slice(0, 60), expected }];
    }
    const row = { point, t, ...(seq === null ? {} : { seq }) };
    return [cellOf(record[layout.value] ?? '', line, row, 'value')];
  }
  return layout.columns.flatMap(({ at, heading, point }) => {
    const text = record[at] ?? '';
    // An empty cell is a point that was not read then.
    return text === '' ? [] : [cellOf(text, line, { point, t }, heading)];
  });
}

function cellOf(
  text: string,
  line: number,
  row: Omit<ImportedRow, 'v'>,
  field: string,
): LoggerCell {
  // A comma can stand in a cell only where semicolons part them.
  const v = decimalNumber(withPoint(text) ?? text);
  if (v !== null) return { line, row: { ...row, v } };
  return { line, field, code: 'not-a-number', found: text.slice(0, 60), expected: 'a number' };
}

/** Digits alone: what else reads as a number is no count. */
function countOf(text: string): number | undefined {
  const seq = /^\d{1,16}$/.test(text) ? Number(text) : NaN;
  return Number.isSafeInteger(seq) ? seq : undefined;
}

function timeOf(text: string): number | null {
  if (/^\d{12,14}$/.test(text)) return Number(text);
  return instantMs(text);
}
