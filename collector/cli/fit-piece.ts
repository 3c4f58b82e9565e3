import { writeFileSync } from 'node:fs';
import { basename } from 'node:path';
import { fitPiece, type PieceAnswer, type Told } from '@setwell/shared-models/heat/fit/piece-fit';
import { piecePicture } from '@setwell/shared-models/heat/fit/piece-picture';
import type { PieceRun, Thermocouple } from '@setwell/shared-models/heat/fit/piece-fit';
import { readLayup } from '@setwell/shared-models/plant/read-layup';
import type { Layup } from '@setwell/shared-models/plant/recipe-schema';
import type { Command } from 'commander';
import { readNumberTable, type NumberTable } from '../number-table.ts';
import { CommandProblem, problemOfFile } from '../problem.ts';
import { answered, type Answer } from './answer.ts';
import { celsiusColumn, faceColumns } from './face-columns.ts';
import { readOwnFile } from './own-file.ts';

/** A fit walks through all of them some hundred times. */
const mostPoints = 50_000;
const mostThermocouples = 40;

/** A reading so far from both its neighbours is a wire, not a board [K]. */
const spikeK = 30;

const what =
  'a calibration run with the columns time_s, upper_c, lower_c and a column a thermocouple, such as at_9.75_mm_c';

/** `setwell fit piece`, beside the other fits. */
export function registerFitPiece(fit: Command): void {
  fit
    .command('piece')
    .description(
      'contact, diffusivity, sensor-to-face offset and plateau from thermocouples in a test piece',
    )
    .argument('<file>', 'CSV time_s,upper_c,lower_c,at_<mm>_mm_c,…; an empty cell says nothing')
    .requiredOption('--layup <file>', 'lay-up of the piece: the value of a recipe’s `layup:`')
    .option('--picture <file.svg>', 'draw what was measured and what is computed')
    .action(answered(answerPiece));
}

function answerPiece(file: string, options: { layup: string; picture?: string }): Answer {
  const layup = readOwnFile(options.layup, readLayup, 'a lay-up');
  const run = readPieceRun(file, layup, options.layup);
  const fit = fitPiece(run, layup);
  if (fit.converged && options.picture !== undefined) draw(options.picture, fit, file);
  return {
    document: fit.converged ? fit : { ...fit, ...nothingTold },
    text: textOf(fit),
    exit: fit.converged ? 0 : 1,
  };
}

const nothingTold = {
  contactWPerM2K: null,
  diffusivityFactor: null,
  faceOffsetK: null,
  plateauShare: null,
};

function readPieceRun(file: string, layup: Layup, layupFile: string): PieceRun {
  const table = readNumberTable(file, {
    what,
    columns: faceColumns,
    other: (heading) =>
      depthOf(heading) === null ? null : { name: heading, mayBeEmpty: true, ...celsiusColumn },
    leastRows: 10,
  });
  const headings = table.headings.filter((heading) => depthOf(heading) !== null);
  const thickMm = thicknessMm(layup);
  for (const heading of headings) {
    const depthMm = depthOf(heading) ?? NaN;
    if (depthMm <= thickMm) continue;
    throw new CommandProblem({
      code: 'outside-layup',
      file,
      line: 1,
      field: heading,
      found: `${depthMm} mm`,
      expected: `0 to ${thickMm} mm, the thickness of ${layupFile}`,
    });
  }
  const points = headings.length * table.lines.length;
  if (headings.length === 0 || headings.length > mostThermocouples || points > mostPoints) {
    throw new CommandProblem({
      code: headings.length === 0 ? 'missing-column' : 'too-many',
      file,
      line: 1,
      found:
        headings.length === 0
          ? `the columns ${table.headings.join(', ')}`
          : `${headings.length} thermocouples at ${table.lines.length} times`,
      expected:
        headings.length === 0
          ? 'a column a thermocouple, such as at_9.75_mm_c'
          : `at most ${mostThermocouples} thermocouples and ${mostPoints} readings`,
    });
  }
  return {
    faces: {
      timesS: table.full('time_s'),
      upperC: table.full('upper_c'),
      lowerC: table.full('lower_c'),
    },
    thermocouples: headings.map((heading) => readThermocouple(table, heading)),
  };
}

function readThermocouple(table: NumberTable, heading: string): Thermocouple {
  const { file, lines } = table;
  const tempC = table.numbers(heading) ?? [];
  const problem = (code: string, row: number, found: string, expected: string) =>
    new CommandProblem({ code, file, line: lines[row] ?? null, field: heading, found, expected });
  if (tempC.every((value) => value === null)) {
    throw problem('empty-column', 0, 'nothing in any row', 'readings, or no such column');
  }
  if (tempC[0] === null) {
    throw problem('empty-cell', 0, 'an empty cell', 'a first reading: where the piece began');
  }
  tempC.forEach((value, row) => {
    const [before, after] = [tempC[row - 1], tempC[row + 1]];
    if (value === null || before === undefined || before === null) return;
    if (after === undefined || after === null) return;
    const [up, down] = [value - before, value - after];
    if (Math.abs(up) < spikeK || Math.abs(down) < spikeK || Math.sign(up) !== Math.sign(down)) {
      return;
    }
    const expected = 'an empty cell where the thermocouple said nothing true';
    throw problem('jump', row, `${value} between ${before} and ${after}`, expected);
  });
  return { depthMm: depthOf(heading) ?? NaN, tempC };
}

/** `at_9.75_mm_c` is 9.75 mm; null for another heading. */
function depthOf(heading: string): number | null {
  const written = /^at_(\d+(?:\.\d+)?)_mm_c$/.exec(heading)?.[1];
  return written === undefined ? null : Number(written);
}

function thicknessMm({ layers }: Layup): number {
  return layers.reduce(
    (sum, layer) => sum + ('count' in layer ? layer.count * layer.thicknessMm : 0),
    0,
  );
}

function draw(file: string, fit: Extract<PieceAnswer, { converged: true }>, run: string): void {
  try {
    writeFileSync(file, piecePicture(fit.picture, `Test piece, ${basename(run)}`));
  } catch (error) {
    throw problemOfFile(file, error, 'a file to write the picture to');
  }
}

function textOf(fit: PieceAnswer): string {
  const notes = fit.warnings.map(({ text }) => `note: ${text}`);
  if (!fit.converged) return [`not converged: ${becauseText[fit.because]}`, ...notes].join('\n');
  const line = (name: string, told: Told | null, unit: string, digits: number) =>
    told === null
      ? []
      : [
          `${name} ${told.value.toFixed(digits)}${unit}, standard error ${told.standardError.toFixed(digits)}${unit}`,
        ];
  const { residuals } = fit;
  return [
    ...line('contact', fit.contactWPerM2K, ' W/(m²·K)', 1),
    ...line('diffusivity factor', fit.diffusivityFactor, '', 4),
    ...line('face offset', fit.faceOffsetK, ' K', 2),
    ...line('plateau share', fit.plateauShare, '', 3),
    `residuals ${residuals.standardDeviationK.toFixed(3)} K over ${residuals.points} readings; the piece began at ${fit.startC.value.toFixed(1)} °C`,
    ...residuals.at.map(
      ({ depthMm, meanK, standardDeviationK }) =>
        `  at ${depthMm} mm: mean ${meanK.toFixed(3)} K, standard deviation ${standardDeviationK.toFixed(3)} K`,
    ),
    ...notes,
  ].join('\n');
}

const becauseText = {
  'bad-start': 'the lay-up’s own constants give no temperatures',
  'too-many-steps': 'the fit did not settle',
  'not-determined':
    'the run does not tell the constants apart; thermocouples at other depths, or a longer run',
};
