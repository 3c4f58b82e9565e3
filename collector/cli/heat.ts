import type { FaceContacts } from '@setwell/shared-models/heat/conduction';
import { temperatureCourse, type FaceCourse } from '@setwell/shared-models/heat/course';
import { readLayup } from '@setwell/shared-models/plant/read-layup';
import type { Layer, Layup } from '@setwell/shared-models/plant/recipe-schema';
import type { Command } from 'commander';
import { readNumberTable } from '../number-table.ts';
import { CommandProblem } from '../problem.ts';
import { answered } from './answer.ts';
import type { Answer } from './answer.ts';
import { numberOption } from './number-option.ts';
import { faceColumns } from './face-columns.ts';
import { readOwnFile } from './own-file.ts';

interface HeatOptions {
  layup: string;
  faces: string;
  positions: number[];
  every?: number;
}

const what = 'face temperatures with the columns time_s, upper_c and lower_c';

/** Printed values: positions by times. */
const mostValues = 2_000_000;

export function registerHeat(program: Command): void {
  program
    .command('heat')
    .description('temperatures inside a lay-up between two faces, to 0.02 K')
    .requiredOption('--layup <file>', 'lay-up: the value of a recipe’s `layup:` as a file')
    .requiredOption('--faces <file>', 'CSV with time_s, upper_c, lower_c; linear between rows')
    .requiredOption(
      '--positions <mm,…>',
      'depths below the upper face of the first layer [mm]',
      readPositions,
    )
    .option(
      '--every <s>',
      'one row every so many seconds, else the CSV’s own times',
      numberOption('--every', 'a time in s', { above: 0 }),
    )
    .action(answered(answerHeat));
}

function answerHeat({ layup: layupFile, faces, positions, every }: HeatOptions): Answer {
  const layup = readOwnFile(layupFile, readLayup, 'a lay-up');
  const thickMm = thicknessMm(layup.layers);
  const outside = positions.find((mm) => mm > thickMm);
  if (outside !== undefined) {
    throw new CommandProblem({
      code: 'outside-layup',
      field: '--positions',
      found: `${outside} mm`,
      expected: `0 to ${thickMm} mm, the thickness of ${layupFile}`,
    });
  }
  const course = readFaces(faces);
  const timesS = every === undefined ? course.timesS : everyS(course, every);
  if (timesS.length * positions.length > mostValues) {
    throw new CommandProblem({
      code: 'too-many',
      field: every === undefined ? '--faces' : '--every',
      found: `${timesS.length} times at ${positions.length} positions`,
      expected: `at most ${mostValues} values`,
    });
  }
  const tempC = computed(layup, course, positions, timesS, faces);
  return {
    document: { positionsMm: positions, timesS, tempC },
    text: textOf(positions, timesS, tempC),
  };
}

function computed(
  layup: Layup,
  course: FaceCourse,
  positionsMm: number[],
  timesS: readonly number[],
  file: string,
): number[][] {
  const startC = typeof layup.initialC === 'number' ? layup.initialC : NaN;
  try {
    return temperatureCourse(layup.layers, contactsOf(layup), startC, course, positionsMm, timesS)
      .tempC;
  } catch (error) {
    if (!(error instanceof RangeError)) throw error;
    throw new CommandProblem({
      code: 'too-much-work',
      file,
      found: error.message,
      expected: 'a course that can be computed to 0.02 K',
    });
  }
}

function contactsOf({ faces, contactWPerM2K }: Layup): FaceContacts {
  const of = (face: NonNullable<Layup['faces']>['upper']): number => {
    if (face === undefined) return contactWPerM2K ?? Infinity;
    if ('contactWPerM2K' in face) return face.contactWPerM2K;
    return 'insulated' in face ? 0 : Infinity;
  };
  return { upperWPerM2K: of(faces?.upper), lowerWPerM2K: of(faces?.lower) };
}

function readFaces(file: string): FaceCourse {
  const table = readNumberTable(file, { what, columns: faceColumns });
  return {
    timesS: table.full('time_s'),
    upperC: table.full('upper_c'),
    lowerC: table.full('lower_c'),
  };
}

function everyS({ timesS }: FaceCourse, every: number): number[] {
  const from = timesS[0] ?? 0;
  const to = timesS[timesS.length - 1] ?? 0;
  const count = Math.min(Math.floor((to - from) / every + 1e-9), mostValues);
  return Array.from({ length: count + 1 }, (_, i) => Math.min(from + i * every, to));
}

function readPositions(written: string): number[] {
  const read = numberOption('--positions', 'depths in mm with commas between', { least: 0 });
  const positions = written.split(',').map((each) => read(each.trim()));
  const most = 1000;
  if (positions.length <= most) return positions;
  throw new CommandProblem({
    code: 'too-many',
    field: '--positions',
    found: `${positions.length} positions`,
    expected: `at most ${most}`,
  });
}

function textOf(positions: number[], timesS: readonly number[], tempC: number[][]): string {
  const heading = ['time [s]', ...positions.map((mm) => `${mm} mm`)];
  const rows = tempC.map((row, i) => [
    String(Math.round((timesS[i] ?? 0) * 1000) / 1000),
    ...row.map((value) => value.toFixed(2)),
  ]);
  const widths = heading.map((title, column) =>
    Math.max(title.length, ...rows.map((row) => row[column]?.length ?? 0)),
  );
  return [heading, ...rows]
    .map((row) => row.map((cell, column) => cell.padStart(widths[column] ?? 0)).join('  '))
    .concat('temperatures in °C, error at most 0.02 K')
    .join('\n');
}

function thicknessMm(layers: readonly Layer[]): number {
  let sum = 0;
  for (const layer of layers) {
    if ('contactWPerM2K' in layer) continue;
    for (let i = 0; i < layer.count; i += 1) sum += layer.thicknessMm;
  }
  return sum;
}
