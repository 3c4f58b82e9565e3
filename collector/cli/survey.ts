import { readPlant } from '@setwell/shared-models/plant/read-plant';
import { survey } from '@setwell/shared-models/condition/survey';
import type { Survey } from '@setwell/shared-models/condition/survey';
import {
  compareSurveys,
  placeHalfWidthK,
  type SurveyComparison,
  type SurveyedBy,
} from '@setwell/shared-models/condition/survey-figures';
import type { CorrectedPoint } from '../condition/survey-correction.ts';
import { Option, type Command } from 'commander';
import { printLanguages, type PrintLanguage } from '../export/print-words.ts';
import { answered } from './answer.ts';
import type { Answer } from './answer.ts';
import { numberOption } from './number-option.ts';
import type { NumberTable } from '../number-table.ts';
import { readOwnFile } from './own-file.ts';
import { CommandProblem } from '../problem.ts';
import { pointsOf, readSurveyTable, samplesOf } from '../condition/survey-table.ts';
import { correctedColumn, gridOf, writeMap, writePdf, type SurveySheet } from './survey-files.ts';

interface SurveyOptions {
  setPoint: number;
  tolerance: number;
  from?: number;
  to?: number;
  plant?: string;
  date?: string;
  grid?: string;
  before?: string;
  map?: string;
  pdf?: string;
  by: string;
  language: PrintLanguage;
}

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
    .option('--plant <file>', 'columns are its points, as shown: corrected by their certificates')
    .option('--date <day>', 'with --plant: the day of the survey, such as 2026-03-02')
    .option('--grid <rows x columns>', 'where the points lie, row by row from the back: 3x3')
    .option('--before <file>', 'the last survey of the same points, to compare with')
    .option('--map <file>', 'an SVG picture of the plate; needs --grid')
    .option('--pdf <file>', 'a sheet that can be signed')
    .addOption(
      new Option('--language <code>', 'of the sheet').choices(printLanguages).default('en'),
    )
    .option('--by <person>', 'who surveyed; printed', 'nobody named')
    .action(answered(answerSurvey));
}

async function answerSurvey(file: string, options: SurveyOptions): Promise<Answer> {
  const surveyed = surveyOf(file, options);
  const { figures, table, rows, by } = surveyed;
  const points = figures.means.map(({ point }) => point);
  const grid = options.grid === undefined ? null : gridOf(options.grid, points, file);
  const earlier =
    options.before === undefined ? null : surveyOf(options.before, { ...options, ...wholeFile });
  const comparison = earlier === null ? null : compareSurveys(figures, earlier.figures);
  const times = table.full('time_s');
  const soak = {
    fromS: times[rows[0] ?? 0] ?? 0,
    toS: times[rows.at(-1) ?? 0] ?? 0,
    samples: rows.length,
  };
  const { setPoint: setPointC, tolerance: toleranceK, by: person, language } = options;
  const common = { file, figures, setPointC, toleranceK, grid, soak, by, comparison, person };
  const sheet: SurveySheet = { ...common, language, atMs: Date.now() };
  if (options.map !== undefined) writeMap(options.map, sheet);
  if (options.pdf !== undefined) await writePdf(options.pdf, sheet);
  const { means, uniformityK, overallSpreadK, fluctuationK, worstDeviationK, inside } = figures;
  const placeK = placeHalfWidthK(figures);
  return {
    document: {
      ...{ means, uniformityK, overallSpreadK, fluctuationK, worstDeviationK, inside, placeK },
      ...(comparison === null ? {} : { comparison }),
    },
    text: [
      textOf(figures, table, rows, options),
      `place: ± ${placeK.toFixed(2)} K as a half-width, for a recipe’s placeK`,
      ...(comparison === null ? [] : [comparedText(comparison)]),
    ].join('\n'),
  };
}

/** The earlier survey's soak is all of its file. */
const wholeFile = { from: -Infinity, to: Infinity };

interface Surveyed {
  figures: Survey;
  table: NumberTable;
  rows: number[];
  by: SurveyedBy[];
}

/** A file's figures, its samples corrected first. */
function surveyOf(file: string, options: SurveyOptions): Surveyed {
  const table = readSurveyTable(file);
  const rows = soakRows(table, options);
  const line = (sample: number) => table.lines[rows[sample] ?? 0] ?? null;
  const correct = correction(options, { file, line });
  const points = pointsOf(table).map((point) => ({
    point,
    ...correct(point, samplesOf(table, point, rows)),
  }));
  const figures = survey(points, options.setPoint, options.tolerance);
  return { figures, table, rows, by: points.map(({ by }) => by) };
}

/** Samples come corrected, or are corrected by a plant's certificates of the day. */
function correction(
  { plant: plantFile, date }: SurveyOptions,
  place: { file: string; line(sample: number): number | null },
): (point: string, samplesC: number[]) => CorrectedPoint {
  if (plantFile === undefined) {
    const nothing = { instrument: null, certificate: null, correctionK: null, observedC: null };
    return (point, samplesC) => ({ samplesC, by: { point, ...nothing } });
  }
  if (date === undefined || !/^\d{4}-(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])$/.test(date)) {
    throw new CommandProblem({
      code: 'missing-option',
      field: '--date',
      found: date === undefined ? 'nothing' : JSON.stringify(date.slice(0, 40)),
      expected: 'the day of the survey, such as 2026-03-02: its certificates count',
    });
  }
  const plant = readOwnFile(plantFile, readPlant, 'a plant');
  return (point, samplesC) => correctedColumn(plant, point, samplesC, date, place);
}

function comparedText({ uniformityK, points, missing }: SurveyComparison): string {
  const [most] = points;
  const moved = most === undefined ? '' : `; ${most.point} moved most, ${signed(most.changeK)} K`;
  const gone = missing.length === 0 ? '' : `; only in one of the two: ${missing.join(', ')}`;
  return `against the last one: uniformity ${signed(uniformityK)} K${moved}${gone}`;
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
