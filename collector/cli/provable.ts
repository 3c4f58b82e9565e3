import { provable } from '@setwell/shared-models/forecast/provable';
import { dateOfDay } from '@setwell/shared-models/metrology/calendar-day';
import { readRecipe } from '@setwell/shared-models/plant/read-recipe';
import type { Command } from 'commander';
import { answered, type Answer } from './answer.ts';
import { dateOption } from './date-option.ts';
import { readOwnFile } from './own-file.ts';
import { stationOfPlant } from './scored-station.ts';

interface ProvableOptions {
  recipe: string;
  station: string;
  plant: string;
  opening?: string;
  date?: number;
}

export function registerProvable(program: Command): void {
  program
    .command('provable')
    .description('whether a recipe’s window can be proven on a station with what is fitted there')
    .requiredOption('--recipe <file>', 'recipe')
    .requiredOption('--station <id>', 'the station of the plant')
    .option('--plant <file>', 'plant.yaml', 'plant.yaml')
    .option('--opening <id>', 'the opening, else the first')
    .option(
      '--date <yyyy-mm-dd>',
      'the day that certificates count as of; else each as on its own day',
      dateOption('--date'),
    )
    .action(answered(answerProvable));
}

function answerProvable(options: ProvableOptions): Answer {
  const { recipe: file, station: id, plant, opening, date = null } = options;
  const recipe = readOwnFile(file, readRecipe, 'a recipe');
  const { station, zones, sensors } = stationOfPlant(
    plant,
    id,
    recipe,
    opening === undefined ? 'first' : { id: opening },
  );
  const mark = { earliestMs: 0, latestMs: 0 };
  const { plannedMin } = recipe;
  const found = provable({
    format: 1,
    load: 'plan',
    station,
    zones,
    startMs: 0,
    endMs: null,
    asOfMs: 0,
    marks: { contact: null, pressureOn: mark, releaseStart: null, open: null },
    plannedEndMs: plannedMin === undefined ? null : plannedMin * 60_000,
    recipe,
    sensors: sensors(date),
    readingsSha256: '',
    coats: [],
    weights: null,
  });
  const { provenAtMin, width, unit, side } = found;
  const text =
    provenAtMin === null
      ? `not provable on ${id}: ${side === 'long' ? 'high passes the most before low reaches the least' : 'low never reaches the least'}`
      : `provable on ${id}: proven at ${Math.ceil(provenAtMin)} min, interval ${Number((width ?? 0).toPrecision(3))} ${unit} wide over all places`;
  const certificatesAsOf = date === null ? 'each on its own day' : dateOfDay(date);
  return {
    document: { ...found, certificatesAsOf },
    text: `${text}\ncertificates as of: ${certificatesAsOf}`,
  };
}
