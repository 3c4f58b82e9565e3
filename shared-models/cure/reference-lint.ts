import { exp } from '../units/exponential.ts';
import { LN10 } from '../units/logarithm.ts';
import { ABSOLUTE_ZERO_C, GAS_CONSTANT } from '../units/temperature.ts';
import { standardErrorOf } from './law-constants.ts';
import type { LawSpec } from './law-spec.ts';

/** Doubt of an activation energy nobody has stated, as a share of it. @source common practice, no source */
const USUAL_ENERGY_DOUBT = 0.05;

/** What a reference temperature outside its process costs. */
export interface ReferenceLint {
  referenceC: number;
  processC: [number, number];
  /** Expanded doubt of the activation energy (or of z) that is counted, k = 2 [J/mol or K]. */
  expandedDoubt: number;
  /** Whether that doubt is the law's own standard error, or only a usual one. */
  doubtIs: 'stated' | 'usual';
  /** How much of the measure is in doubt by it, at the process's far end, for a measure of `measureMin` [min]. */
  costMin: number;
  measureMin: number;
}

/**
 * Looks whether a law's reference temperature lies in the range where its process runs.
 *
 * Outside, every doubt of the activation energy turns the measure:
 * Δt/t = e^(ΔE/R·|1/T_ref − 1/T|) − 1 at the farther end of the process.
 *
 * @param processC where the material is while it cures [°C]
 * @param measureMin the window's least, or any measure the cost is told for [min]
 * @returns null where the reference lies inside, or the law has none
 */
export function referenceLint(
  spec: LawSpec,
  processC: readonly [number, number],
  measureMin: number,
): ReferenceLint | null {
  if ('switch' in spec || (spec.form !== 'equivalent-time' && spec.form !== 'z-value')) return null;
  const { referenceC } = spec;
  const [lowestC, highestC] = processC;
  if (referenceC >= lowestC && referenceC <= highestC) return null;
  const farC = referenceC < lowestC ? highestC : lowestC;
  const name = spec.form === 'z-value' ? 'zK' : 'activationEnergyJPerMol';
  const value = spec.form === 'z-value' ? spec.zK : spec.activationEnergyJPerMol;
  const standardError = standardErrorOf(spec, name);
  const expandedDoubt =
    standardError === undefined ? USUAL_ENERGY_DOUBT * value : 2 * standardError;
  const exponent =
    spec.form === 'z-value'
      ? (LN10 * Math.abs(farC - referenceC) * expandedDoubt) / (spec.zK * spec.zK)
      : (expandedDoubt / (spec.gasConstant ?? GAS_CONSTANT)) *
        Math.abs(1 / (referenceC - ABSOLUTE_ZERO_C) - 1 / (farC - ABSOLUTE_ZERO_C));
  return {
    referenceC,
    processC: [lowestC, highestC],
    expandedDoubt,
    doubtIs: standardError === undefined ? 'usual' : 'stated',
    costMin: measureMin * (exp(exponent) - 1),
    measureMin,
  };
}
