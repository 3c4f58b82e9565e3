import type { FitWarning } from '../../cure/fit/fit-warning.ts';
import { leastSquares, type NotConverged } from '../../cure/fit/least-squares.ts';
import type { Layup } from '../../plant/recipe-schema.ts';
import type { FaceCourse } from '../course.ts';
import { PieceModel, type PieceConstant } from './piece-model.ts';
import { pieceWarnings, riseOf } from './piece-warnings.ts';

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
  /** Where the piece began, throughout [°C]. */
  startC: Told;
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

/** Where a line boils dry within a step is a kink: the least sum may lie on one, where slopes do not vanish. */
const KINKED = { differenceStep: 1e-4, relativeOffset: 0.05 };

/** Residuals from here on are looked into, thermocouple by thermocouple [K]. */
const OFF_K = 0.4;
const OFF_TIMES = 2.5;

/** Each is left out once, at the price of a fit. */
const MOST_LEFT_OUT = 12;

/** A piece that is hardly heated tells nothing of heat [K]. */
const LEAST_RISE_K = 10;

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
  const { thermocouples } = run;
  if (riseOf(run) < LEAST_RISE_K) {
    return { converged: false, because: 'not-determined', warnings: [] };
  }
  const { model, points, fit } = search(run, layup);
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
    startC: { ...told('start')!, value: model.numbersOf(parameters).startC },
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
  answer.warnings = [
    ...swapped,
    ...pieceWarnings(answer, run, layup),
    ...misplaced(run, layup, answer.residuals.standardDeviationK),
  ];
  return answer;
}

/** A reading of a thermocouple at a face's time. */
interface Point {
  at: number;
  row: number;
  value: number;
}

function search({ faces, thermocouples }: PieceRun, layup: Layup) {
  const startC = meanOf(
    thermocouples.flatMap(({ tempC }) => (tempC[0] === null ? [] : [tempC[0]])),
  );
  const model = new PieceModel(
    layup,
    faces,
    thermocouples.map(({ depthMm }) => depthMm),
    startC,
  );
  const points: Point[] = thermocouples.flatMap(({ tempC }, at) =>
    tempC.flatMap((value, row) => (value === null ? [] : [{ at, row, value }])),
  );
  const fit = leastSquares(
    (parameters) => {
      const rows = model.run(parameters);
      return rows === null ? null : points.map(({ at, row }) => rows[row][at]);
    },
    points.map(({ value }) => value),
    model.start,
    model.constants.includes('plateau') ? KINKED : {},
  );
  return { model, points, fit };
}

/** Without one that is not where it is said to be, the others agree far better. */
function misplaced(run: PieceRun, layup: Layup, togetherK: number): FitWarning[] {
  const { thermocouples } = run;
  if (togetherK < OFF_K || thermocouples.length < 3 || thermocouples.length > MOST_LEFT_OUT) {
    return [];
  }
  return thermocouples.flatMap((left) => {
    const others = thermocouples.filter((each) => each !== left);
    const { fit } = search({ ...run, thermocouples: others }, layup);
    const withoutK = fit.converged ? deviationOf(fit.residuals, 0) : Infinity;
    if (withoutK > togetherK / OFF_TIMES) return [];
    return [
      {
        code: 'depth-doubtful',
        text: `without the thermocouple at ${left.depthMm} mm the others agree to ${withoutK.toFixed(2)} K instead of ${togetherK.toFixed(2)} K: is it where it is said to be?`,
      },
    ];
  });
}

/** Whether the lay-up as it stands fits far better with the faces the other way round. */
function isBetterSwapped(model: PieceModel, points: readonly Point[]): FitWarning[] {
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
