import { survey } from '@setwell/shared-models/condition/survey';
import type { Survey } from '@setwell/shared-models/condition/survey';
import type { Command } from 'commander';
import { answered } from './answer.ts';
import type { Answer } from './answer.ts';
import { numberOption } from './number-option.ts';
import { readNumberTable } from './number-table.ts';
import type { NumberTable } from './number-table.ts';
import { CommandProblem } from './problem.ts';

interface SurveyOptions {
  setPoint: number;
  tolerance: number;
  from?: number;
  to?: number;
}

const what = 'a survey with the columns time_s and one a point, corrected temperatures in °C';

/** Platens and ovens lie far below; a column that passes it and fits as °F is refused as °F. */
const usualC = [-40, 400] as const;

export function registerSurvey(program: Command): void {
  const temperature = (flag: string) => numberOption(flag, 'a number in °C', { least: -273.15 });
  const time = (flag: string) => numberOption(flag, 'a time of the file in s');
  program
    .command('survey')
    .description('figures of a temperature survey of a platen or an oven, from corrected samples')
    .argument('<file>', 'CSV with time_s and a column a point')
    .requiredOption('--set-point <C>', 'what it should be [°C]', temperature('--set-point'))
    .requiredOption(
      '--tolerance <K>',
      'how far each sample may be off [K]',
      numberOption('--tolerance', 'a number of K', { above: 0 }),
    )
    .option(
      '--from <s>',
      'start of the soak in the file’s time, else its first row',
      time('--from'),
    )
    .option('--to <s>', 'end of the soak, else its last row', time('--to'))
    .action(answered(answerSurvey));
}

function answerSurvey(file: string, options: SurveyOptions): Answer {
  const table = readNumberTable(file, {
    what,
    columns: [{ name: 'time_s', order: 'rising' }],
    other: (name) =>
      /_f$|°\s?f/i.test(name) || name === ''
        ? null
        : { name, mayBeEmpty: true, usualC, least: -273.15, most: 3000 },
    leastRows: 1,
  });
  const names = table.headings.filter((heading) => heading !== 'time_s');
  if (names.length === 0) {
    const found = `the columns ${table.headings.join(', ')}`;
    throw new CommandProblem({ code: 'missing-column', file, line: 1, found, expected: what });
  }
  const rows = soakRows(table, options);
  const points = names.map((point) => ({ point, samplesC: samplesOf(table, point, rows) }));
  const figures = survey(points, options.setPoint, options.tolerance);
  const { means, uniformityK, overallSpreadK, fluctuationK, worstDeviationK, inside } = figures;
  return {
    document: { means, uniformityK, overallSpreadK, fluctuationK, worstDeviationK, inside },
    text: textOf(figures, table, rows, options),
  };
}

function soakRows(
  table: NumberTable,
  { from = -Infinity, to = Infinity }: SurveyOptions,
): number[] {
  const times = table.full('time_s');
  const rows = times.flatMap((timeS, row) => (timeS >= from && timeS <= to ? [row] : []));
  if (rows.length > 0) return rows;
  throw new CommandProblem({
    code: 'empty-soak',
    file: table.file,
    field: from > to ? '--from' : '--to',
    found: `no row from ${from} to ${to} s`,
    expected: `a soak inside ${times[0]} to ${times.at(-1)} s, --from before --to`,
  });
}

/** A hole in the soak proves nothing of the platen, so it is no survey. */
function samplesOf(table: NumberTable, point: string, rows: readonly number[]): number[] {
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

function textOf(
  figures: Survey,
  table: NumberTable,
  rows: readonly number[],
  { setPoint, tolerance }: SurveyOptions,
): string {
  const deviation = signed(figures.worstDeviationK);
  const times = table.full('time_s');
  const fluctuation = Math.max(...figures.fluctuationK.map(({ k }) => k));
  return [
    `${figures.inside ? 'inside' : 'outside'} ${setPoint} ± ${tolerance} °C: worst ${deviation} K at ${figures.worst.point}, ${times[rows[figures.worst.sample] ?? 0]} s`,
    `uniformity ${figures.uniformityK.toFixed(2)} K, overall spread ${figures.overallSpreadK.toFixed(2)} K, fluctuation at most ±${fluctuation.toFixed(2)} K`,
    `${figures.means.length} points, ${rows.length} samples each, soak ${times[rows[0] ?? 0]} to ${times[rows.at(-1) ?? 0]} s`,
    ...figures.means.map(({ point, c }) => `  ${point}  mean ${c.toFixed(2)} °C`),
  ].join('\n');
}

function signed(value: number): string {
  return `${value < 0 ? '−' : '+'}${Math.abs(value).toFixed(2)}`;
}
