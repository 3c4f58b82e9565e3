import type { FitWarning } from '../../cure/fit/fit-warning.ts';
import { leastSquares, type NotConverged } from '../../cure/fit/least-squares.ts';
import type { Layup } from '../../plant/recipe-schema.ts';
import type { FaceCourse } from '../course.ts';
import { PieceModel, type PieceConstant } from './piece-model.ts';
import { pieceWarnings } from './piece-warnings.ts';

/** A thermocouple in a test piece. */
export interface Thermocouple {
  /** Below the upper face of the first layer [mm]. */
  depthMm: number;
  /** One a face's time [°C]; null where it said nothing. */
  tempC: readonly (number | null)[];
}

/** A press run of a test piece. */
export interface PieceRun {
  faces: FaceCourse;
  thermocouples: readonly Thermocouple[];
}

/** A constant that a run has told, with its standard error. */
export interface Told {
  value: number;
  /** Widened where residuals hang together: they then tell less than their number. */
  standardError: number;
}

export interface PieceFit {
  converged: true;
  /** Null: no contact took part. */
  contactWPerM2K: Told | null;
  /** On the diffusivity of the lay-up's layers; 1 is as the lay-up says. */
  diffusivityFactor: Told;
  /** The faces are so much hotter than their sensors say [K]. */
  faceOffsetK: Told;
  /** Share of the glue's water that was driven out; null without `evaporation` in the lay-up. */
  plateauShare: Told | null;
  /** Between the constants, in `constants`' order. */
  correlations: number[][];
  constants: PieceConstant[];
  /** Mean of the thermocouples' first readings [°C]. */
  startC: number;
  residuals: {
    standardDeviationK: number;
    /** Correlation of a residual with the one after it; 0: each is for itself. */
    lagCorrelation: number;
    points: number;
    /** By thermocouple, measured less computed. */
    at: { depthMm: number; meanK: number; standardDeviationK: number }[];
  };
  warnings: FitWarning[];
  /** Measured and computed temperatures at the faces' times, one row a thermocouple. */
  picture: {
    timesS: number[];
    rows: { depthMm: number; measuredC: (number | null)[]; computedC: number[] }[];
  };
}

export type PieceAnswer =
  PieceFit | { converged: false; because: NotConverged; warnings: FitWarning[] };

/** Each line's water ends within a step of its own: a kink, over which differences must reach. */
const KINKED = { differenceStep: 2e-3, relativeOffset: 5e-3 };

/** A picture needs no more times. */
const PICTURE_TIMES = 300;

/**
 * Contact, diffusivity, sensor-to-face offset and evaporation plateau from thermocouples in a test piece,
 * by least squares on the equations that loads are scored with.
 *
 * Residuals of a real run hang together (a board is not quite its lay-up, a tip not quite at its depth):
 * standard errors are widened by √((1 + r)/(1 − r)), r their correlation from row to row.
 *
 * @param run at least one thermocouple, each with a reading in the first row
 * @param layup its constants are where the search begins, and what the answer is held against
 * @source widening: Bartlett's effective number of points of a first-order process, as in von Storch &
 * Zwiers, Statistical Analysis in Climate Research (1999), §6.6; typed from memory
 */
export function fitPiece(run: PieceRun, layup: Layup): PieceAnswer {
  const { faces, thermocouples } = run;
  const startC = meanOf(
    thermocouples.flatMap(({ tempC }) => (tempC[0] === null ? [] : [tempC[0]])),
  );
  const model = new PieceModel(
    layup,
    faces,
    thermocouples.map(({ depthMm }) => depthMm),
    startC,
  );
  const points = thermocouples.flatMap(({ tempC }, at) =>
    tempC.flatMap((value, row) => (value === null || row === 0 ? [] : [{ at, row, value }])),
  );
  const values = (parameters: readonly number[]) => {
    const rows = model.run(parameters);
    return rows === null ? null : points.map(({ at, row }) => rows[row][at]);
  };
  const observed = points.map(({ value }) => value);
  const fit = leastSquares(
    values,
    observed,
    model.start,
    model.constants.includes('plateau') ? KINKED : {},
  );
  const swapped = isBetterSwapped(model, points);
  if (!fit.converged || fit.covariance === null || fit.standardErrors === null) {
    const because = fit.converged ? 'not-determined' : fit.because;
    return { converged: false, because, warnings: swapped };
  }
  const { parameters, covariance } = fit;
  const of = thermocouples.map((_tc, at) =>
    points.flatMap((point, i) => (point.at === at ? [fit.residuals[i]] : [])),
  );
  const lagCorrelation = lagOf(of);
  const widened = Math.sqrt((1 + lagCorrelation) / (1 - lagCorrelation));
  const told = (constant: PieceConstant, scale = 1, from = 0): Told | null => {
    const at = model.constants.indexOf(constant);
    if (at < 0) return null;
    return {
      value: scale * (parameters[at] - from),
      standardError: Math.abs(scale) * widened * fit.standardErrors![at],
    };
  };
  const answer: PieceFit = {
    converged: true,
    contactWPerM2K: told('contact', model.contactWPerM2K),
    diffusivityFactor: told('diffusivity')!,
    faceOffsetK: { ...told('offset')!, value: model.numbersOf(parameters).offsetK },
    plateauShare: told('plateau'),
    correlations: correlationsOf(covariance),
    constants: model.constants,
    startC,
    residuals: {
      standardDeviationK: deviationOf(fit.residuals, 0),
      lagCorrelation,
      points: points.length,
      at: thermocouples.map(({ depthMm }, at) => {
        const meanK = meanOf(of[at]);
        return { depthMm, meanK, standardDeviationK: deviationOf(of[at], meanK) };
      }),
    },
    warnings: [],
    picture: pictureOf(run, model.run(parameters) ?? []),
  };
  answer.warnings = [...swapped, ...pieceWarnings(answer, run, layup)];
  return answer;
}

/** Whether the lay-up as it stands fits far better with the faces the other way round. */
function isBetterSwapped(
  model: PieceModel,
  points: readonly { at: number; row: number; value: number }[],
): FitWarning[] {
  const missK = (swapped: boolean): number => {
    const rows = model.run(model.start, swapped);
    if (rows === null) return Infinity;
    return deviationOf(
      points.map(({ at, row, value }) => value - rows[row][at]),
      0,
    );
  };
  const [asIsK, swappedK] = [missK(false), missK(true)];
  if (swappedK > 0.7 * asIsK) return [];
  return [
    {
      code: 'faces-swapped',
      text: `with upper_c and lower_c the other way round the lay-up misses the thermocouples by ${swappedK.toFixed(1)} K instead of ${asIsK.toFixed(1)} K: are the columns, or the depths, upside down?`,
    },
  ];
}

/** Correlation of residuals with those of the row after, over all thermocouples; never negative. */
function lagOf(series: readonly (readonly number[])[]): number {
  let beside = 0;
  let own = 0;
  for (const residuals of series) {
    for (let i = 1; i < residuals.length; i += 1) {
      beside += residuals[i - 1] * residuals[i];
      own += 0.5 * (residuals[i - 1] * residuals[i - 1] + residuals[i] * residuals[i]);
    }
  }
  return own > 0 ? Math.min(0.999, Math.max(0, beside / own)) : 0;
}

function correlationsOf(covariance: readonly (readonly number[])[]): number[][] {
  return covariance.map((row, i) =>
    row.map((value, j) => value / Math.sqrt(covariance[i][i] * covariance[j][j])),
  );
}

function pictureOf({ faces, thermocouples }: PieceRun, rows: number[][]): PieceFit['picture'] {
  const every = Math.max(1, Math.ceil(faces.timesS.length / PICTURE_TIMES));
  const shown = faces.timesS.flatMap((_s, row) => (row % every === 0 ? [row] : []));
  return {
    timesS: shown.map((row) => faces.timesS[row]),
    rows: thermocouples.map(({ depthMm, tempC }, at) => ({
      depthMm,
      measuredC: shown.map((row) => tempC[row]),
      computedC: shown.map((row) => rows[row]?.[at] ?? NaN),
    })),
  };
}

function meanOf(values: readonly number[]): number {
  let sum = 0;
  for (const value of values) sum += value;
  return sum / values.length;
}

function deviationOf(values: readonly number[], mean: number): number {
  let squares = 0;
  for (const value of values) squares += (value - mean) * (value - mean);
  return Math.sqrt(squares / values.length);
}
