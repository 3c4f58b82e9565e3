/** How a fit came out. Everything a number is taken from is null where the fit did not converge. */
export type LeastSquares =
  | {
      converged: true;
      parameters: number[];
      /** Null where there are no more points than parameters: nothing is left to judge them by. */
      covariance: number[][] | null;
      standardErrors: number[] | null;
      residuals: number[];
      residualSumOfSquares: number;
      iterations: number;
    }
  | { converged: false; because: NotConverged; residualSumOfSquares: number; iterations: number };

export type NotConverged =
  /** The start has no finite residuals. */
  | 'bad-start'
  /** Steps ran out before the fit stood still. */
  | 'too-many-steps'
  /** The points do not tell the parameters apart. */
  | 'not-determined';

/** A fit that has not settled after this many steps is running away. */
const MOST_STEPS = 500;

/** Share of the residuals that may still point along the parameters. @source Bates & Watts, Nonlinear Regression Analysis (1988), §2.2.3 (0.001 there) */
const RELATIVE_OFFSET = 1e-6;

/** Share of the data (or of the start's residuals) under which residuals are rounding: an exact fit. */
const EXACT_SHARE = 1e-24;

/** Below this a column of the scaled Jacobian is a combination of the others. */
const DEPENDENT = 1e-9;

/** Cube root of the double's epsilon: the step of a central difference that errs least. */
const DIFFERENCE_STEP = 6e-6;

/** For models with kinks: differences must reach over them, and a minimum is no flatter than they are. */
export interface Fineness {
  /** Step of a central difference, as a share of the parameter. */
  differenceStep?: number;
  /** Share of the residuals that may still point along the parameters. */
  relativeOffset?: number;
}

/**
 * Least squares by Levenberg-Marquardt, with the covariance of its parameters.
 *
 * A step is taken only where it lessens the sum of squares; the damping is scaled by the columns of
 * the Jacobian, so that units do not matter.
 *
 * @param model values at the data's points for given parameters; null outside its domain
 * @param observed one a point
 * @param start one a parameter
 * @source Marquardt, J. SIAM 11 (1963) 431-441; Moré, Lect. Notes Math. 630 (1978) 105-116 (scaling);
 * covariance s²·(JᵀJ)⁻¹ as in Bates & Watts, §1.1.4
 */
export function leastSquares(
  model: (parameters: readonly number[]) => ArrayLike<number> | null,
  observed: readonly number[],
  start: readonly number[],
  { differenceStep = DIFFERENCE_STEP, relativeOffset = RELATIVE_OFFSET }: Fineness = {},
): LeastSquares {
  const points = observed.length;
  const count = start.length;
  let parameters = [...start];
  let residuals = residualsOf(model, observed, parameters);
  if (residuals === null) {
    return { converged: false, because: 'bad-start', residualSumOfSquares: NaN, iterations: 0 };
  }
  let sum = sumOfSquares(residuals);
  const scaleOfData = Math.max(sum, sumOfSquares(observed));
  const columnScales = new Array<number>(count).fill(0);
  let damping = 1e-2;
  let iterations = 0;
  for (; iterations < MOST_STEPS; iterations++) {
    const jacobian = jacobianOf(model, parameters, start, points, differenceStep);
    if (jacobian === null) break;
    for (let j = 0; j < count; j++) {
      columnScales[j] = Math.max(columnScales[j]!, Math.sqrt(sumOfSquares(jacobian[j]!)));
    }
    const flat = solveLeastSquares(jacobian, residuals, null);
    const exact = sum <= EXACT_SHARE * scaleOfData;
    if (
      flat !== null &&
      (exact || isOffsetSmall(flat.alongModel, sum, count, points, relativeOffset))
    ) {
      return { ...settled(parameters, residuals, sum, flat.upper), iterations };
    }
    if (flat === null && exact) break;
    let moved = false;
    for (let attempt = 0; attempt < 40; attempt++) {
      const dampers = columnScales.map((scale) => Math.sqrt(damping) * (scale === 0 ? 1 : scale));
      const damped = solveLeastSquares(jacobian, residuals, dampers);
      const next = damped && parameters.map((value, j) => value + damped.solution[j]!);
      const nextResiduals = next && residualsOf(model, observed, next);
      const nextSum = nextResiduals === null ? Infinity : sumOfSquares(nextResiduals);
      if (next !== null && nextResiduals !== null && nextSum < sum) {
        parameters = next;
        residuals = nextResiduals;
        sum = nextSum;
        damping = Math.max(damping / 9, 1e-15);
        moved = true;
        break;
      }
      damping *= 7;
    }
    if (!moved) {
      // No step lessens the sum any more: rounding's floor, or a wall.
      if (
        flat !== null &&
        isOffsetSmall(flat.alongModel, sum, count, points, Math.max(1e-3, relativeOffset))
      ) {
        return { ...settled(parameters, residuals, sum, flat.upper), iterations };
      }
      break;
    }
  }
  const because = iterations < MOST_STEPS ? 'not-determined' : 'too-many-steps';
  return { converged: false, because, residualSumOfSquares: sum, iterations };
}

function settled(parameters: number[], residuals: number[], sum: number, upper: number[][]) {
  const free = residuals.length - parameters.length;
  const inverse = free > 0 ? inverseOfUpper(upper) : null;
  const covariance =
    inverse &&
    parameters.map((_, i) =>
      parameters.map((__, j) => (sum / free) * dot(inverse[i]!, inverse[j]!)),
    );
  return {
    converged: true as const,
    parameters,
    covariance,
    standardErrors: covariance && covariance.map((row, i) => Math.sqrt(row[i]!)),
    residuals,
    residualSumOfSquares: sum,
  };
}

function isOffsetSmall(
  alongModel: number,
  sum: number,
  count: number,
  points: number,
  most: number,
): boolean {
  const across = Math.max(0, sum - alongModel);
  const free = Math.max(1, points - count);
  return Math.sqrt(alongModel / count) <= most * Math.sqrt(across / free);
}

function residualsOf(
  model: (parameters: readonly number[]) => ArrayLike<number> | null,
  observed: readonly number[],
  parameters: readonly number[],
): number[] | null {
  const values = model(parameters);
  if (values === null) return null;
  const residuals = observed.map((value, i) => value - values[i]!);
  return residuals.every(Number.isFinite) ? residuals : null;
}

/** Columns of ∂model/∂parameter by central differences; null where the model has no values beside. */
function jacobianOf(
  model: (parameters: readonly number[]) => ArrayLike<number> | null,
  parameters: readonly number[],
  start: readonly number[],
  points: number,
  differenceStep: number,
): number[][] | null {
  const columns: number[][] = [];
  for (let j = 0; j < parameters.length; j++) {
    const size = Math.max(Math.abs(parameters[j]!), 1e-3 * Math.abs(start[j]!), 1e-12);
    const step = differenceStep * size;
    const above = model(parameters.map((value, i) => (i === j ? value + step : value)));
    const below = model(parameters.map((value, i) => (i === j ? value - step : value)));
    if (above === null || below === null) return null;
    const width = parameters[j]! + step - (parameters[j]! - step);
    const column = Array.from({ length: points }, (_, i) => (above[i]! - below[i]!) / width);
    if (!column.every(Number.isFinite)) return null;
    columns.push(column);
  }
  return columns;
}

/**
 * Solves min ‖Jx − r‖² + ‖Dx‖² by Householder's QR; null where a column depends on the others.
 *
 * @param columns J by columns
 * @param dampers diagonal of D, or null
 * @returns the solution, R, and how much of ‖r‖² lies in the columns' span
 */
function solveLeastSquares(
  columns: readonly number[][],
  residuals: readonly number[],
  dampers: readonly number[] | null,
): { solution: number[]; upper: number[][]; alongModel: number } | null {
  const count = columns.length;
  const extra = dampers === null ? 0 : count;
  const a = columns.map((column, j) => [
    ...column,
    ...Array.from({ length: extra }, (_, i) => (i === j ? dampers![j]! : 0)),
  ]);
  const rows = residuals.length + extra;
  const b = [...residuals, ...new Array<number>(extra).fill(0)];
  const sizes = a.map((column) => Math.sqrt(sumOfSquares(column)));
  if (rows < count) return null;
  for (let k = 0; k < count; k++) {
    const column = a[k]!;
    let size = 0;
    for (let i = k; i < rows; i++) size += column[i]! * column[i]!;
    size = Math.sqrt(size);
    if (!(size > DEPENDENT * sizes[k]!)) return null;
    const head = column[k]! > 0 ? -size : size;
    const v = column.slice(k);
    v[0]! -= head;
    const vv = sumOfSquares(v);
    for (const target of [...a.slice(k), b]) {
      let projection = 0;
      for (let i = k; i < rows; i++) projection += v[i - k]! * target[i]!;
      const factor = (2 * projection) / vv;
      for (let i = k; i < rows; i++) target[i]! -= factor * v[i - k]!;
    }
  }
  const upper = Array.from({ length: count }, (_, i) =>
    a.map((column, j) => (j >= i ? column[i]! : 0)),
  );
  const solution = new Array<number>(count).fill(0);
  for (let i = count - 1; i >= 0; i--) {
    let rest = b[i]!;
    for (let j = i + 1; j < count; j++) rest -= upper[i]![j]! * solution[j]!;
    solution[i] = rest / upper[i]![i]!;
  }
  return { solution, upper, alongModel: sumOfSquares(b.slice(0, count)) };
}

/** R⁻¹ by rows; (JᵀJ)⁻¹ = R⁻¹·R⁻ᵀ. */
function inverseOfUpper(upper: readonly number[][]): number[][] {
  const count = upper.length;
  const inverse = upper.map(() => new Array<number>(count).fill(0));
  for (let j = 0; j < count; j++) {
    for (let i = j; i >= 0; i--) {
      let rest = i === j ? 1 : 0;
      for (let k = i + 1; k <= j; k++) rest -= upper[i]![k]! * inverse[k]![j]!;
      inverse[i]![j] = rest / upper[i]![i]!;
    }
  }
  return inverse;
}

function sumOfSquares(values: readonly number[]): number {
  return dot(values, values);
}

function dot(a: readonly number[], b: readonly number[]): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i]! * b[i]!;
  return sum;
}
