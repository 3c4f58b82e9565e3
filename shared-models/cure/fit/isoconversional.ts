import { log } from '../../units/logarithm.ts';
import { ABSOLUTE_ZERO_C, GAS_CONSTANT } from '../../units/temperature.ts';
import { meanArrheniusFactor } from '../equivalent-time.ts';
import type { ConversionRun, Crossing } from './conversion-run.ts';
import { leastSquares } from './least-squares.ts';
import { straightLine } from './straight-line.ts';

interface Energy {
  activationEnergyJPerMol: number;
  /** Null for two runs. */
  standardError: number | null;
}

export interface IsoconversionalRow {
  alpha: number;
  /** From the rates; null where fewer than two temperatures reach this conversion. */
  differential: Energy | null;
  /** From the times; null likewise, or where it did not converge. */
  integral: Energy | null;
}

/** A rate is drawn through the rows within this of its conversion [1], and two on either side at least. */
const RATE_REACH = 0.05;

/** Temperature at which the integral method starts to count [K]; any gives the same energy. */
const ANCHOR_K = 400;

/**
 * Activation energy at each degree of cure, free of any model, by two methods. Where they disagree,
 * or the energy changes with conversion, one law of one energy will not do.
 *
 * Differential: ln(dα/dt) = ln(A·f(α)) − E/(R·T) over the runs at equal α.
 * Integral: the E for which J = ∫ e^(−E/RT) dt up to α is the same in every run, whatever its
 * temperature programme; least squares in ln J.
 *
 * @source Friedman, J. Polym. Sci. C 6 (1964) 183-195; Vyazovkin, J. Comput. Chem. 22 (2001) 178-183
 * (integral over any programme); both as in Vyazovkin et al., Thermochim. Acta 520 (2011) 1-19
 */
export function isoconversionalEnergies(
  runs: readonly ConversionRun[],
  alphas: readonly number[],
): IsoconversionalRow[] {
  return alphas.map((alpha) => {
    const reached = runs.flatMap((run) => {
      const crossing = crossingOf(run, alpha);
      return crossing === null ? [] : [{ run, ...crossing }];
    });
    const temperatures = new Set(reached.map(({ tempK }) => tempK));
    if (reached.length < 2 || temperatures.size < 2) {
      return { alpha, differential: null, integral: null };
    }
    const differential = differentialEnergy(reached);
    return {
      alpha,
      differential,
      integral: integralEnergy(reached, differential?.activationEnergyJPerMol ?? 80_000),
    };
  });
}

function differentialEnergy(reached: readonly Crossing[]): Energy | null {
  if (reached.some(({ ratePerS }) => !(ratePerS > 0))) return null;
  const { slope, slopeStandardError } = straightLine(
    reached.map(({ tempK }) => -1 / (GAS_CONSTANT * tempK)),
    reached.map(({ ratePerS }) => log(ratePerS)),
  );
  return { activationEnergyJPerMol: slope, standardError: slopeStandardError };
}

function integralEnergy(
  reached: readonly (Crossing & { run: ConversionRun })[],
  startJPerMol: number,
): Energy | null {
  const fit = leastSquares(
    ([energy, level]) =>
      energy! > 0
        ? reached.map(
            ({ run, timeS, tempK }) => log(anchoredTimeS(run, timeS, tempK, energy!)) - level!,
          )
        : null,
    reached.map(() => 0),
    [Math.max(1000, startJPerMol), 5],
  );
  if (!fit.converged) return null;
  return {
    activationEnergyJPerMol: fit.parameters[0]!,
    standardError: fit.standardErrors?.[0] ?? null,
  };
}

/** Seconds at the anchor that do as much as the run up to a moment. */
function anchoredTimeS(
  { timesS, tempsC }: ConversionRun,
  untilS: number,
  tempK: number,
  energyJPerMol: number,
): number {
  const thetaK = energyJPerMol / GAS_CONSTANT;
  let sum = 0;
  for (let i = 1; i < timesS.length && timesS[i - 1]! < untilS; i++) {
    const fromK = tempsC[i - 1]! - ABSOLUTE_ZERO_C;
    const whole = timesS[i]! <= untilS;
    const toK = whole ? tempsC[i]! - ABSOLUTE_ZERO_C : tempK;
    const toS = whole ? timesS[i]! : untilS;
    sum += meanArrheniusFactor(thetaK, ANCHOR_K, fromK, toK) * (toS - timesS[i - 1]!);
  }
  return sum;
}

/** First time a run reaches a conversion, linear between its rows; null if it starts above or ends below. */
export function crossingOf(run: ConversionRun, alpha: number): Crossing | null {
  const { timesS, tempsC, alphas } = run;
  if (alphas.length === 0 || alphas[0]! > alpha) return null;
  const after = alphas.findIndex((value) => value >= alpha);
  if (after < 1) return null;
  const before = after - 1;
  const share = (alpha - alphas[before]!) / (alphas[after]! - alphas[before]!);
  const between = (values: readonly number[]) =>
    values[before]! + share * (values[after]! - values[before]!);
  return {
    timeS: between(timesS),
    tempK: between(tempsC) - ABSOLUTE_ZERO_C,
    ratePerS: rateAround(run, before, after, between(timesS)),
  };
}

/** Slope at a moment of the parabola through the rows around it, least squares. */
function rateAround(
  { timesS, alphas }: ConversionRun,
  before: number,
  after: number,
  atS: number,
): number {
  let from = Math.max(0, before - 1);
  while (from > 0 && alphas[before]! - alphas[from]! < RATE_REACH) from--;
  let to = Math.min(timesS.length - 1, after + 1);
  while (to < timesS.length - 1 && alphas[to]! - alphas[after]! < RATE_REACH) to++;
  if (to - from < 2) {
    return (alphas[after]! - alphas[before]!) / (timesS[after]! - timesS[before]!);
  }
  const span = timesS[to]! - timesS[from]!;
  const fit = leastSquares(
    ([level, slope, bend]) =>
      timesS.slice(from, to + 1).map((timeS) => {
        const u = (timeS - atS) / span;
        return level! + slope! * u + bend! * u * u;
      }),
    alphas.slice(from, to + 1),
    [alphas[before]!, 1, 0.1],
  );
  return fit.converged
    ? fit.parameters[1]! / span
    : (alphas[after]! - alphas[before]!) / (timesS[after]! - timesS[before]!);
}
