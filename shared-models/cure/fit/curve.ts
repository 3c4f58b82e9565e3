import { exp } from '../../units/exponential.ts';
import { pow } from '../../units/logarithm.ts';
import { leastSquares, type LeastSquares } from './least-squares.ts';

export type CurveForm = 'first-order' | 'exponential' | 'power' | 'logistic';

export const curveForms: Record<
  CurveForm,
  {
    formula: string;
    parameterCounts: readonly number[];
    valueAt(b: readonly number[], x: number): number;
  }
> = {
  'first-order': {
    formula: 'b1·(1 − e^(−b2·x))',
    parameterCounts: [2],
    valueAt: ([b1, b2], x) => b1! * (1 - exp(-b2! * x)),
  },
  exponential: {
    formula: 'b1·e^(−b2·x) + b3·e^(−b4·x) + …; with three values e^(−b1·x)/(b2 + b3·x)',
    parameterCounts: [2, 3, 4, 6],
    valueAt: (b, x) => (b.length === 3 ? dampedExponential(b, x) : sumOfDecays(b, x)),
  },
  power: {
    formula: 'b1·x^b2',
    parameterCounts: [2],
    valueAt: ([b1, b2], x) => b1! * pow(x, b2!),
  },
  logistic: {
    formula: 'b1/(1 + e^(b2 − b3·x))',
    parameterCounts: [3],
    valueAt: ([b1, b2, b3], x) => b1! / (1 + exp(b2! - b3! * x)),
  },
};

function dampedExponential([b1, b2, b3]: readonly number[], x: number): number {
  return exp(-b1! * x) / (b2! + b3! * x);
}

function sumOfDecays(b: readonly number[], x: number): number {
  let sum = 0;
  for (let i = 0; i < b.length; i += 2) sum += b[i]! * exp(-b[i + 1]! * x);
  return sum;
}

/**
 * A plain curve through points.
 *
 * @param x, y one a point; `power` needs x > 0
 * @param start one a parameter, in the order of the form's formula
 * @source forms and gates: NIST Statistical Reference Datasets, Misra1a (first-order), Lanczos3 and
 * Chwirut2 (exponential), DanWood (power), Rat42 (logistic)
 */
export function fitCurve(
  form: CurveForm,
  x: readonly number[],
  y: readonly number[],
  start: readonly number[],
): LeastSquares {
  const { valueAt } = curveForms[form];
  return leastSquares((parameters) => x.map((at) => valueAt(parameters, at)), y, start);
}
