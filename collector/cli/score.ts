import { dateOfDay, dayOfMs } from '@setwell/shared-models/metrology/calendar-day';
import { cureBarText } from '@setwell/shared-models/api/cure-bar-text';
import { readRecipe } from '@setwell/shared-models/plant/read-recipe';
import type { Recipe } from '@setwell/shared-models/plant/recipe-schema';
import { canonicalReadings, parseReadings } from '@setwell/shared-models/score/readings';
import { scoreReadings } from '@setwell/shared-models/score/score';
import type { ScoreInput, ScoreResult } from '@setwell/shared-models/score/shape';
import type { Command } from 'commander';
import { sha256Hex } from '../ledger/sha256.ts';
import { CommandProblem } from '../problem.ts';
import { answered, type Answer } from './answer.ts';
import { dateOption } from './date-option.ts';
import { numberOption } from './number-option.ts';
import { readOwnFile } from './own-file.ts';
import { readLoadTable, type LoadTable } from './load-table.ts';
import {
  stationOfPlant,
  stationWithout,
  zonesNamed,
  type ScoredStation,
} from './scored-station.ts';

interface ScoreOptions {
  recipe: string;
  readings: string;
  plant?: string;
  station?: string;
  opening?: string;
  zones?: string[];
  date?: number;
  uncertainty?: number;
}

export function registerScore(program: Command): void {
  program
    .command('score')
    .description('verdict on one load from its recipe and its readings')
    .requiredOption('--recipe <file>', 'recipe, taken as approved')
    .requiredOption(
      '--readings <file>',
      'CSV with time_s or time, then upper_c,lower_c, or air_c, or a column a point; an empty cell is a missing reading',
    )
    .option('--plant <file>', 'plant.yaml, for zones, sensors and their certificates')
    .option('--station <id>', 'the station of the plant')
    .option('--opening <id>', 'the opening, where the station has several')
    .option('--zones <ids>', 'the zones the load is in, with commas; else all of them', (written) =>
      written.split(','),
    )
    .option(
      '--date <yyyy-mm-dd>',
      'the day that certificates count as of, where the readings have no date',
      dateOption('--date'),
    )
    .option(
      '--uncertainty <K>',
      'expanded uncertainty (k = 2) common to all readings [K]',
      numberOption('--uncertainty', 'a number of K', { least: 0, most: 100 }),
    )
    .action(answered(answerScore));
}

function answerScore(options: ScoreOptions): Answer {
  const recipe = readOwnFile(options.recipe, readRecipe, 'a recipe');
  const station = stationOf(options, recipe);
  const table = readLoadTable(options.readings, station.columns);
  const canonical = canonicalReadings(table.readings);
  const readings = parseReadings(canonical);
  const day = dayOf(options, table);
  const input = inputOf(recipe, station, table, canonical, day, options);
  const result = scoreReadings(input, readings);
  // A set knows no repetition; a file does, and says so.
  result.quality.duplicates = table.readings.length - readings.length;
  const certificatesAsOf =
    options.plant === undefined ? null : day === null ? 'each on its own day' : dateOfDay(day);
  return {
    document: { ...documentOf(result), certificatesAsOf },
    text: textOf(result, certificatesAsOf),
  };
}

/** The day that certificates count as of; null where neither the readings nor anybody names one. */
function dayOf({ date, plant }: ScoreOptions, { dated, startMs }: LoadTable): number | null {
  if (date === undefined) return dated ? dayOfMs(startMs) : null;
  if (plant !== undefined && !dated) return date;
  throw new CommandProblem({
    code: 'option-conflict',
    field: '--date',
    found: dated ? '--date beside readings that have their own' : '--date without --plant',
    expected: '--date for the certificates of a plant, beside readings without a date',
  });
}

function stationOf(options: ScoreOptions, recipe: Recipe): ScoredStation {
  const { plant, station, uncertainty } = options;
  if (plant !== undefined && uncertainty !== undefined) {
    throw new CommandProblem({
      code: 'option-conflict',
      field: '--uncertainty',
      found: '--uncertainty beside --plant',
      expected: 'one of them: a plant brings the uncertainty of its certificates',
    });
  }
  if (plant !== undefined && station !== undefined) {
    const { opening } = options;
    return stationOfPlant(plant, station, recipe, opening === undefined ? 'only' : { id: opening });
  }
  if (plant !== undefined || station !== undefined) {
    throw new CommandProblem({
      code: 'missing-option',
      field: plant === undefined ? '--plant' : '--station',
      found: plant === undefined ? '--station alone' : '--plant alone',
      expected: '--plant and --station together',
    });
  }
  if (recipe.kind === 'press' && recipe.places !== undefined) {
    throw new CommandProblem({
      code: 'missing-option',
      field: '--plant',
      found: `a recipe with places in zones ${recipe.places.flatMap(({ zones }) => zones).join(', ')}`,
      expected: '--plant and --station, whose zones they are',
    });
  }
  if (uncertainty !== undefined) return stationWithout(recipe, uncertainty);
  throw new CommandProblem({
    code: 'missing-option',
    field: '--uncertainty',
    found: 'neither --uncertainty nor --plant',
    expected: 'the readings’ expanded uncertainty in K, or a plant with its certificates',
  });
}

/**
 * First and last row are the load's marks, which the result says. A zone without its columns is part of
 * the load all the same, and proves nothing, unless --zones leaves it out.
 */
function inputOf(
  recipe: Recipe,
  { station, zones, signals, sensors }: ScoredStation,
  { startMs, endMs }: LoadTable,
  canonical: string,
  day: number | null,
  options: ScoreOptions,
): ScoreInput {
  const { uncertainty } = options;
  const mark = (ms: number) => ({ earliestMs: ms, latestMs: ms, assumed: true });
  const { plannedMin } = recipe;
  const known = Object.entries(sensors(day));
  return {
    format: 1,
    load: 'file',
    station,
    zones: zonesNamed(zones, options.zones ?? null),
    startMs,
    endMs,
    asOfMs: endMs,
    marks: { contact: null, pressureOn: mark(startMs), releaseStart: mark(endMs), open: null },
    plannedEndMs: plannedMin === undefined ? null : startMs + plannedMin * 60_000,
    recipe,
    ...(Object.keys(signals).length === 0 ? {} : { signals }),
    sensors: Object.fromEntries(
      known.map(([point, sensor]) => [
        point,
        uncertainty === undefined ? sensor : { ...sensor, expandedK: uncertainty },
      ]),
    ),
    readingsSha256: sha256Hex(canonical),
    coats: [],
    weights: null,
  };
}

function documentOf(result: ScoreResult): object {
  const { state, verdict, side, measure, unit, window, worst, places } = result;
  const { repress, requirements, deviations, budget, quality, reasons } = result;
  return {
    state,
    verdict,
    side,
    measure,
    unit,
    window,
    worst,
    places,
    repress,
    requirements,
    deviations,
    budget,
    forecast: null,
    quality,
    reasons,
    model: { number: null, sha256: null },
  };
}

function textOf(result: ScoreResult, certificatesAsOf: string | null): string {
  const { verdict, side, unit, window, worst, places, budget, quality, reasons } = result;
  const number = (value: number) => String(Number(value.toPrecision(3)));
  const most = window.most === null ? 'no most' : number(window.most);
  const lines = [
    `${verdict}${side === null ? '' : ` (${side})`}: window ${number(window.least)} to ${most} ${unit}`,
  ];
  for (const place of places) {
    const { zone, glueLine, low, nominal, high } = place;
    const isWorst = worst !== null && worst.zone === zone && worst.glueLine === glueLine;
    const name = glueLine === null ? zone : `${zone} line ${glueLine}`;
    lines.push(
      `${cureBarText(place, window)}  ${number(low)} ${number(nominal)} ${number(high)} ${unit}  ${name}${isWorst ? ', worst' : ''}`,
    );
  }
  for (const { term, down, up } of budget) {
    lines.push(`  ${term}: −${number(down)} +${number(up)} ${unit}`);
  }
  for (const reason of reasons) {
    if (reason.code !== 'no-reading') continue;
    lines.push(`zone ${reason.zone}: nothing read at ${reason.point ?? 'a face without a point'}`);
  }
  if (certificatesAsOf !== null) lines.push(`certificates as of: ${certificatesAsOf}`);
  lines.push(
    `${quality.readings} readings, ${quality.doubtful} doubtful, ${quality.conflicts} in conflict, ${quality.gaps.length} gaps`,
  );
  return lines.join('\n');
}
