import { createHash } from 'node:crypto';
import { cureBarText } from '@setwell/shared-models/api/cure-bar-text';
import { readRecipe } from '@setwell/shared-models/plant/read-recipe';
import type { Recipe } from '@setwell/shared-models/plant/recipe-schema';
import { canonicalReadings, parseReadings } from '@setwell/shared-models/score/readings';
import { scoreReadings } from '@setwell/shared-models/score/score';
import type { ScoreInput, ScoreResult } from '@setwell/shared-models/score/shape';
import type { Command } from 'commander';
import { answered, type Answer } from './answer.ts';
import { numberOption } from './number-option.ts';
import { readOwnFile } from './own-file.ts';
import { CommandProblem } from './problem.ts';
import { readLoadTable, type LoadTable } from './load-table.ts';
import { stationWithout, type ScoredStation } from './scored-station.ts';

interface ScoreOptions {
  recipe: string;
  readings: string;
  plant?: string;
  station?: string;
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
    .option(
      '--uncertainty <K>',
      'expanded uncertainty (k = 2) common to all readings [K]',
      numberOption('--uncertainty', 'a number of K', { least: 0, most: 100 }),
    )
    .action(answered(answerScore));
}

function answerScore(options: ScoreOptions): Answer {
  const recipe = readRecipeToScore(options.recipe);
  const station = stationOf(options, recipe);
  const table = readLoadTable(options.readings, station.columns);
  const input = inputOf(recipe, station, table);
  const result = scoreReadings(input, parseReadings(canonicalReadings(table.readings)));
  return { document: documentOf(result), text: textOf(result) };
}

/** A recipe whose every layer's properties are known. */
export function readRecipeToScore(file: string): Recipe {
  const recipe = readOwnFile(file, readRecipe, 'a recipe');
  return recipe;
}

function stationOf(options: ScoreOptions, recipe: Recipe): ScoredStation {
  if (options.uncertainty !== undefined) return stationWithout(recipe, options.uncertainty);
  throw new CommandProblem({
    code: 'missing-option',
    field: '--uncertainty',
    found: 'neither --uncertainty nor --plant',
    expected: 'the readings’ expanded uncertainty in K, or a plant with its certificates',
  });
}

/** First and last row are the load's marks, which the result says. */
function inputOf(recipe: Recipe, station: ScoredStation, table: LoadTable): ScoreInput {
  const { startMs, endMs } = table;
  const mark = (ms: number) => ({ earliestMs: ms, latestMs: ms, assumed: true });
  const { plannedMin } = recipe;
  return {
    format: 1,
    load: 'file',
    station: station.station,
    zones: station.zones,
    startMs,
    endMs,
    asOfMs: endMs,
    marks: { contact: null, pressureOn: mark(startMs), releaseStart: mark(endMs), open: null },
    plannedEndMs: plannedMin === undefined ? null : startMs + plannedMin * 60_000,
    recipe,
    sensors: station.sensors,
    readingsSha256: createHash('sha256').update(canonicalReadings(table.readings)).digest('hex'),
    coats: [],
    weights: null,
  };
}

function documentOf(result: ScoreResult): object {
  const { state, verdict, side, measure, unit, window, worst, places } = result;
  const { requirements, deviations, budget, quality, reasons } = result;
  return {
    state,
    verdict,
    side,
    measure,
    unit,
    window,
    worst,
    places,
    requirements,
    deviations,
    budget,
    forecast: null,
    quality,
    reasons,
    model: { number: null, sha256: null },
  };
}

function textOf(result: ScoreResult): string {
  const { verdict, side, unit, window, worst, places, budget, quality } = result;
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
  lines.push(
    `${quality.readings} readings, ${quality.doubtful} doubtful, ${quality.conflicts} in conflict, ${quality.gaps.length} gaps`,
  );
  return lines.join('\n');
}
