import { createLaw } from './create-law.ts';
import { lawConstants, LN_REFERENCE_MIN, withConstant } from './law-constants.ts';
import type { LawSpec } from './law-spec.ts';

/** Coverage factor of an expanded doubt. @source JCGM 100:2008, 6.3.3 */
const COVERAGE = 2;

/**
 * Step of a central difference, as a share of the constant: between the rounding of an integration to
 * 1e-8 and the bend of e^(E/RT).
 */
const STEP_SHARE = 3e-4;

/** Below this the law earns no more by time: its doubt is none of the rate's. */
const LEAST_GROWTH = 1e-6;

/** What the errors of its constants make of a law's measure, k = 2. */
export interface LawDoubt {
  /** Of what is earned, as a share of it. */
  ofValue: number;
  /** The same as a share of the time, or rate, that earns as much more: equal where a measure grows evenly. */
  ofRate: number;
}

/**
 * Doubt of what a law earns at a held temperature, from the errors of its constants.
 *
 *   u² = gᵀ·C·g, g = ∂ ln value/∂constant
 *
 * A constant that only `standardErrors` names errs alone. That is wide where constants were fitted
 * together: A and E of one curve nearly take each other out, and only the covariance says so.
 *
 * @param heldC [°C]
 * @param durationS [s], > 0
 * @returns shares of 1, expanded (k = 2); 0 where no errors are stated or nothing is earned
 * @throws RangeError where the constants contradict each other
 * @source JCGM 100:2008, 5.2.2 (correlated inputs), 5.1.3 (differences for derivatives)
 */
export function lawDoubt(spec: LawSpec, heldC: number, durationS: number): LawDoubt {
  const { standardErrors = {}, covariance = { names: [], matrix: [] } } = spec;
  const { names, matrix } = covariance;
  const alone = Object.keys(standardErrors).filter((name) => !names.includes(name));
  const value = earned(spec, heldC, durationS);
  if (names.length + alone.length === 0 || !(value > 0)) return { ofValue: 0, ofRate: 0 };
  const constants = lawConstants(spec);
  const slopeOf = (name: string) => {
    if (name === LN_REFERENCE_MIN) return -1;
    const at = constants.get(name) ?? 0;
    const step = STEP_SHARE * (at === 0 ? 1 : Math.abs(at));
    const above = earned(withConstant(spec, name, at + step), heldC, durationS);
    const below = earned(withConstant(spec, name, at - step), heldC, durationS);
    return (above - below) / (2 * step * value);
  };
  const slopes = names.map(slopeOf);
  let variance = 0;
  slopes.forEach((one, i) => {
    slopes.forEach((other, j) => (variance += one * matrix[i]![j]! * other));
  });
  // Rounding of a covariance whose parts take each other out.
  variance = Math.max(0, variance);
  for (const name of alone) {
    const part = slopeOf(name) * standardErrors[name]!;
    variance += part * part;
  }
  const ofValue = COVERAGE * Math.sqrt(variance);
  const longer = earned(spec, heldC, durationS * (1 + STEP_SHARE));
  const shorter = earned(spec, heldC, durationS * (1 - STEP_SHARE));
  const growth = (longer - shorter) / (2 * STEP_SHARE * value);
  return { ofValue, ofRate: growth > LEAST_GROWTH ? ofValue / growth : 0 };
}

function earned(spec: LawSpec, heldC: number, durationS: number): number {
  const law = createLaw(spec);
  const { initial } = law;
  return law.value(law.advance(initial, heldC, heldC, durationS)) - law.value(initial);
}
