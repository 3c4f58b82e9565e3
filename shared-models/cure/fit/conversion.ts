import { exp } from '../../units/exponential.ts';
import { log } from '../../units/logarithm.ts';
import { ABSOLUTE_ZERO_C, GAS_CONSTANT } from '../../units/temperature.ts';
import { createLaw } from '../create-law.ts';
import type { Arrhenius, Autocatalytic, LawCovariance, NthOrder } from '../law-spec.ts';
import type { ConversionRun } from './conversion-run.ts';
import type { FitWarning } from './fit-warning.ts';
import { crossingOf, isoconversionalEnergies } from './isoconversional.ts';
import { leastSquares, type LeastSquares, type NotConverged } from './least-squares.ts';

/** A kinetic form as `fit conversion --form` names it. */
export type ConversionForm =
  'n-th-order' | 'autocatalytic' | 'autocatalytic-k2' | 'autocatalytic-diffusion';

export const conversionForms: readonly ConversionForm[] = [
  'n-th-order',
  'autocatalytic',
  'autocatalytic-k2',
  'autocatalytic-diffusion',
];

export type ConversionFit =
  | {
      converged: true;
      law: NthOrder | Autocatalytic;
      /** Names and covariance of what was fitted: ln k at `centreC`, energies [J/mol], exponents. */
      fitted: { names: string[]; values: number[]; covariance: number[][] | null; centreC: number };
      residualSumOfSquares: number;
      /** Standard deviation of the residuals [1]; null without more rows than parameters. */
      residualStandardDeviation: number | null;
      warnings: FitWarning[];
    }
  | {
      converged: false;
      because: NotConverged | 'one-temperature';
      residualSumOfSquares: number | null;
      warnings: FitWarning[];
    };

type Parameter =
  'lnK' | 'energy' | 'lnK1' | 'energy1' | 'm' | 'n' | 'c' | 'alphaC0' | 'alphaCTPerK';

const parametersOf: Record<ConversionForm, readonly Parameter[]> = {
  'n-th-order': ['lnK', 'energy', 'n'],
  autocatalytic: ['lnK', 'energy', 'm', 'n', 'lnK1', 'energy1'],
  'autocatalytic-k2': ['lnK', 'energy', 'm', 'n'],
  'autocatalytic-diffusion': ['lnK', 'energy', 'm', 'n', 'c', 'alphaC0', 'alphaCTPerK'],
};

/** Exponents from which a fit starts; the best that converges counts. */
const startExponents: readonly (readonly [m: number, n: number])[] = [
  [0.7, 1.3],
  [0.4, 1],
  [1, 2],
];

/** Kinetic exponents outside are no kinetics any more. @source range of published fits, from memory */
const GREATEST_EXPONENT = 8;

/**
 * A kinetic law from conversion curves, isothermal or not, by least squares in α.
 *
 * Each run starts at its own first row's α, and the law is integrated through its rows. k is written
 * at the harmonic mean temperature of all rows, where it is hardly correlated with E.
 *
 * @param runs rows ascending in time, α in 0…1
 */
export function fitConversion(runs: readonly ConversionRun[], form: ConversionForm): ConversionFit {
  const observed = runs.flatMap(({ alphas }) => alphas.slice(1));
  const rows = runs.flatMap(({ tempsC }) => tempsC);
  const warnings = runWarnings(runs, parametersOf[form].length, observed.length);
  if (Math.max(...rows) - Math.min(...rows) < 1) {
    return { converged: false, because: 'one-temperature', residualSumOfSquares: null, warnings };
  }
  const centreK = rows.length / rows.reduce((sum, tempC) => sum + 1 / (tempC - ABSOLUTE_ZERO_C), 0);
  const fits = startsOf(runs, form, centreK).map((start) =>
    leastSquares((parameters) => predicted(runs, form, parameters, centreK), observed, start),
  );
  const best = fits.reduce<LeastSquares>(
    (chosen, next) => (isBetter(next, chosen) ? next : chosen),
    fits[0]!,
  );
  if (!best.converged) {
    const { because, residualSumOfSquares } = best;
    return { converged: false, because, residualSumOfSquares, warnings };
  }
  const { parameters, covariance, residualSumOfSquares } = best;
  const free = observed.length - parameters.length;
  const law = lawOf(form, parameters, centreK);
  const spanC: [number, number] = [Math.min(...rows), Math.max(...rows)];
  return {
    converged: true,
    law: {
      ...law,
      initial: Math.min(...runs.map(({ alphas }) => Math.max(0, alphas[0]!))),
      validC: spanC,
      source: `fitted to ${runs.length} conversion curves, ${spanC[0]} to ${spanC[1]} °C`,
      ...(covariance === null ? {} : doubtsOfConstants(form, parameters, covariance, centreK)),
    },
    fitted: {
      names: [...parametersOf[form]],
      values: parameters,
      covariance,
      centreC: centreK + ABSOLUTE_ZERO_C,
    },
    residualSumOfSquares,
    residualStandardDeviation: free > 0 ? Math.sqrt(residualSumOfSquares / free) : null,
    warnings: [...warnings, ...fitWarnings(runs, form, best)],
  };
}

function isBetter(next: LeastSquares, chosen: LeastSquares): boolean {
  if (next.converged !== chosen.converged) return next.converged;
  return next.residualSumOfSquares < chosen.residualSumOfSquares;
}

function predicted(
  runs: readonly ConversionRun[],
  form: ConversionForm,
  parameters: readonly number[],
  centreK: number,
): number[] | null {
  const law = lawOf(form, parameters, centreK);
  const exponents = law.form === 'autocatalytic' ? [law.m, law.n] : [law.n];
  if (exponents.some((exponent) => !(exponent > 0 && exponent < GREATEST_EXPONENT))) return null;
  const constants: Arrhenius[] =
    law.form === 'n-th-order' ? [law] : [law.k2, ...(law.k1 === undefined ? [] : [law.k1])];
  if (
    constants.some(
      ({ aPerS, activationEnergyJPerMol: energy }) =>
        !(energy > 0 && energy < 1e6 && aPerS > 0 && aPerS < Infinity),
    )
  ) {
    return null;
  }
  const { advance } = createLaw(law);
  return runs.flatMap(({ timesS, tempsC, alphas }) => {
    let alpha = Math.min(1, Math.max(0, alphas[0]!));
    return timesS.slice(1).map((timeS, i) => {
      alpha = advance(alpha, tempsC[i]!, tempsC[i + 1]!, timeS - timesS[i]!);
      return alpha;
    });
  });
}

function lawOf(
  form: ConversionForm,
  parameters: readonly number[],
  centreK: number,
): NthOrder | Autocatalytic {
  const value = (name: Parameter) => parameters[parametersOf[form].indexOf(name)]!;
  const arrhenius = (lnK: number, activationEnergyJPerMol: number): Arrhenius => ({
    aPerS: exp(lnK + activationEnergyJPerMol / (GAS_CONSTANT * centreK)),
    activationEnergyJPerMol,
  });
  const main = arrhenius(value('lnK'), value('energy'));
  switch (form) {
    case 'n-th-order':
      return { form: 'n-th-order', ...main, n: value('n') };
    case 'autocatalytic-k2':
      return { form: 'autocatalytic', k2: main, m: value('m'), n: value('n') };
    case 'autocatalytic':
      return {
        form: 'autocatalytic',
        k1: arrhenius(value('lnK1'), value('energy1')),
        k2: main,
        m: value('m'),
        n: value('n'),
      };
    case 'autocatalytic-diffusion':
      return {
        form: 'autocatalytic',
        k2: main,
        m: value('m'),
        n: value('n'),
        diffusion: {
          c: value('c'),
          alphaC0: value('alphaC0'),
          alphaCTPerK: value('alphaCTPerK'),
        },
      };
  }
}

/**
 * Standard errors and covariance by the law's own names: J·C·Jᵀ with J = ∂constant/∂parameter.
 *
 * A is linear here as everywhere: dA = A·d ln A, with ln A = ln k + E/(R·T). Where ln A errs by more
 * than one, A ± its standard error is no range of A; the covariance still holds, as it is multiplied
 * by ∂/∂A = (1/A)·∂/∂ln A again.
 */
function doubtsOfConstants(
  form: ConversionForm,
  parameters: readonly number[],
  covariance: readonly number[][],
  centreK: number,
): { standardErrors: Record<string, number>; covariance: LawCovariance } {
  const names = parametersOf[form];
  const rows: { name: string; jacobian: number[] }[] = [];
  const add = (name: string, slopes: Partial<Record<Parameter, number>>) =>
    rows.push({ name, jacobian: names.map((parameter) => slopes[parameter] ?? 0) });
  const addArrhenius = (prefix: string, lnK: 'lnK' | 'lnK1', energy: 'energy' | 'energy1') => {
    const perJ = 1 / (GAS_CONSTANT * centreK);
    const value = (parameter: Parameter) => parameters[names.indexOf(parameter)]!;
    const aPerS = exp(value(lnK) + value(energy) * perJ);
    add(`${prefix}aPerS`, { [lnK]: aPerS, [energy]: aPerS * perJ });
    add(`${prefix}activationEnergyJPerMol`, { [energy]: 1 });
  };
  addArrhenius(form === 'n-th-order' ? '' : 'k2.', 'lnK', 'energy');
  if (form === 'autocatalytic') addArrhenius('k1.', 'lnK1', 'energy1');
  for (const name of ['m', 'n', 'c', 'alphaC0', 'alphaCTPerK'] as const) {
    if (!names.includes(name)) continue;
    add(name === 'm' || name === 'n' ? name : `diffusion.${name}`, { [name]: 1 });
  }
  const matrix = rows.map(() => rows.map(() => 0));
  rows.forEach(({ jacobian: left }, i) => {
    for (let j = 0; j <= i; j++) {
      let sum = 0;
      left.forEach((slope, p) => {
        rows[j]!.jacobian.forEach((other, q) => (sum += slope * covariance[p]![q]! * other));
      });
      matrix[i]![j] = sum;
      matrix[j]![i] = sum;
    }
  });
  return {
    standardErrors: Object.fromEntries(
      rows.map(({ name }, i) => [name, Math.sqrt(Math.max(0, matrix[i]![i]!))]),
    ),
    covariance: { names: rows.map(({ name }) => name), matrix },
  };
}

/** Starting values: E free of a model, k from the time to half of the highest conversion. */
function startsOf(
  runs: readonly ConversionRun[],
  form: ConversionForm,
  centreK: number,
): number[][] {
  const highest = Math.min(...runs.map(({ alphas }) => Math.max(...alphas)));
  const lowest = Math.max(...runs.map(({ alphas }) => alphas[0]!));
  const level = lowest + 0.5 * Math.max(0, highest - lowest);
  const [row] = isoconversionalEnergies(runs, [level]);
  const guesses = [row?.integral, row?.differential].flatMap((energy) =>
    energy && energy.activationEnergyJPerMol > 5000 && energy.activationEnergyJPerMol < 400_000
      ? [energy.activationEnergyJPerMol]
      : [],
  );
  const energy = guesses[0] ?? 80_000;
  return startExponents.map(([m, n]) => {
    const lnK = meanLnRateConstant(runs, level, energy, m, n, form, centreK);
    const all: Record<Parameter, number> = {
      lnK,
      energy,
      m,
      n,
      lnK1: lnK - 3,
      energy1: energy,
      c: 30,
      alphaC0: -1,
      alphaCTPerK:
        (highest + 1.05) /
        Math.max(...runs.flatMap(({ tempsC }) => tempsC.map((t) => t - ABSOLUTE_ZERO_C))),
    };
    return parametersOf[form].map((name) => all[name]);
  });
}

function meanLnRateConstant(
  runs: readonly ConversionRun[],
  level: number,
  energy: number,
  m: number,
  n: number,
  form: ConversionForm,
  centreK: number,
): number {
  const shape = (form === 'n-th-order' ? 0 : m * log(level)) + n * log(1 - level);
  const values = runs.flatMap((run) => {
    const crossing = crossingOf(run, level);
    if (crossing === null || !(crossing.ratePerS > 0)) return [];
    const shift = (energy / GAS_CONSTANT) * (1 / crossing.tempK - 1 / centreK);
    return [log(crossing.ratePerS) - shape + shift];
  });
  return values.length === 0 ? -6 : values.reduce((sum, value) => sum + value, 0) / values.length;
}

function runWarnings(
  runs: readonly ConversionRun[],
  parameters: number,
  rows: number,
): FitWarning[] {
  const warnings: FitWarning[] = [];
  if (rows < 5 * parameters) {
    warnings.push({
      code: 'few-rows',
      text: `${rows} rows for ${parameters} parameters: fewer than 5 a parameter`,
    });
  }
  if (runs.length < 3) {
    warnings.push({
      code: 'few-runs',
      text: `${runs.length === 1 ? '1 run' : `${runs.length} runs`}: three temperature programmes or more test a law, fewer only fill it`,
    });
  }
  const highest = Math.min(...runs.map(({ alphas }) => Math.max(...alphas)));
  if (highest < 0.8) {
    warnings.push({
      code: 'early-end',
      text: `a run ends at a degree of cure of ${highest.toFixed(2)}: nothing is known above it`,
    });
  }
  return warnings;
}

function fitWarnings(
  runs: readonly ConversionRun[],
  form: ConversionForm,
  fit: LeastSquares & { converged: true },
): FitWarning[] {
  const warnings: FitWarning[] = [];
  parametersOf[form].forEach((name, i) => {
    const error = fit.standardErrors?.[i];
    const value = fit.parameters[i]!;
    if (error !== undefined && name !== 'lnK' && name !== 'lnK1' && 2 * error > Math.abs(value)) {
      warnings.push({
        code: 'not-significant',
        text: `${name} = ${value.toPrecision(3)} ± ${(2 * error).toPrecision(2)} (k = 2): the curves do not tell it from 0`,
      });
    }
  });
  let from = 0;
  for (const run of runs) {
    const count = run.alphas.length - 1;
    const mean =
      fit.residuals.slice(from, from + count).reduce((sum, value) => sum + value, 0) / count;
    if (Math.abs(mean) > 0.02) {
      warnings.push({
        code: 'run-off-the-law',
        text: `run ${run.name} lies ${mean.toFixed(3)} off the law on average: a contradictory run, or the wrong form`,
      });
    }
    from += count;
  }
  return warnings;
}
