import {
  parseNumberTable,
  readNumberTable,
  type NumberTable,
  type TableRules,
} from '../number-table.ts';
import { CommandProblem } from '../problem.ts';

const what = 'a survey with the columns time_s and one a point, temperatures in °C';

/** Platens and ovens lie far below; a column that passes it and fits as °F is refused as °F. */
const usualC = [-40, 400] as const;

const rules: TableRules = {
  what,
  columns: [{ name: 'time_s', order: 'rising' }],
  other: (name) =>
    /_f$|°\s?f/i.test(name) || name === ''
      ? null
      : { name, mayBeEmpty: true, usualC, least: -273.15, most: 3000 },
  leastRows: 1,
};

/** @throws CommandProblem naming file, line and column */
export function readSurveyTable(file: string): NumberTable {
  return withPoints(readNumberTable(file, rules));
}

/** The same of a text that came another way; the file is its name. @throws CommandProblem */
export function parseSurveyTable(text: string, file: string): NumberTable {
  return withPoints(parseNumberTable(text, file, rules));
}

function withPoints(table: NumberTable): NumberTable {
  if (pointsOf(table).length > 0) return table;
  const found = `the columns ${table.headings.join(', ')}`;
  const { file } = table;
  throw new CommandProblem({ code: 'missing-column', file, line: 1, found, expected: what });
}

export function pointsOf(table: NumberTable): string[] {
  return table.headings.filter((heading) => heading !== 'time_s');
}

/** A hole in the soak proves nothing of the platen, so it is no survey. */
export function samplesOf(table: NumberTable, point: string, rows: readonly number[]): number[] {
  const column = table.numbers(point) ?? [];
  return rows.map((row) => {
    const sampleC = column[row];
    if (sampleC !== null && sampleC !== undefined) return sampleC;
    throw new CommandProblem({
      code: 'empty-cell',
      file: table.file,
      line: table.lines[row] ?? null,
      field: point,
      found: 'an empty cell inside the soak',
      expected: 'a sample of every point; --from and --to choose a soak without holes',
    });
  });
}
