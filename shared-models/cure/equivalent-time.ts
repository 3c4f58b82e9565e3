import { exp } from '../units/exponential.ts';
import { scaledExponentialIntegral2 } from '../units/exponential-integral.ts';
import { ABSOLUTE_ZERO_C, GAS_CONSTANT } from '../units/temperature.ts';
import type { EquivalentTime } from './law-spec.ts';
import type { Law } from './law.ts';
import { refuseSegment } from './segment.ts';

/**
 * Up to this size two terms of the series are enough; above it the closed form, whose difference of
 * integrals would cancel on smaller segments (2e-6 at 1e-8 K).
 */
const SERIES_UP_TO = 0.1;

/**
 * Mean of exp(θ·(1/T_ref − 1/T)) over a linear temperature segment [1], relative error below 1e-11.
 *
 * Seen from the middle T̄, with a = θ/T̄, h = ½·ΔT/T̄ and T = T̄·(1 + x), it is its value there times
 *
 *   e^(a·x/(1+x)) = Σ c_n·xⁿ,  c_n = (−1)ⁿ·L_n^(−1)(a),  |c_n| ≤ (a + n − 1)ⁿ/n!
 *
 * and its mean over −h…h is 1 + c_2·h²/3 + c_4·h⁴/5 + …. Of a segment of size s = 2·(a + 5)·h that leaves
 * out s⁶/322,560 (3.1e-12 at 0.1). Larger ones are [T·e^(θ/T_ref)·E2(θ/T)] between the ends / ΔT.
 *
 * @param thetaK E/R [K], > 0
 * @param referenceK [K], > 0
 * @param fromK, toK [K], ≥ 0
 * @source ASTM C1074-19, eq. 2 (form); DLMF 18.12.13 (series), 18.5.12 (L_2, L_4), 8.19 (closed form)
 */
export function meanArrheniusFactor(
  thetaK: number,
  referenceK: number,
  fromK: number,
  toK: number,
): number {
  const middleK = 0.5 * (fromK + toK);
  const deltaK = toK - fromK;
  const a = thetaK / middleK;
  const h = (0.5 * deltaK) / middleK;
  const size = 2 * (a + 5) * Math.abs(h);
  if (size <= SERIES_UP_TO) {
    const atMiddle = exp(a * ((middleK - referenceK) / referenceK));
    const ah = a * h;
    const second = ah / 2 - h;
    const fourth = ((ah / 24 - h / 2) * ah + 1.5 * h * h) * ah - h * h * h;
    return atMiddle * (1 + ah * (second / 3 + fourth / 5));
  }
  // A segment that rests at 0 K: nothing happens there.
  if (deltaK === 0 || !(size > 0)) return 0;
  return (
    (antiderivative(thetaK, referenceK, toK) - antiderivative(thetaK, referenceK, fromK)) / deltaK
  );
}

function antiderivative(thetaK: number, referenceK: number, tempK: number): number {
  if (tempK <= 0) return 0;
  const factor = exp((thetaK * (tempK - referenceK)) / (referenceK * tempK));
  return tempK * factor * scaledExponentialIntegral2(thetaK / tempK);
}

/**
 * Minutes at the reference temperature that do as much as the profile did [min].
 *
 *   t_eq = ∫ exp(−(E/R)·(1/T − 1/T_ref)) dt
 *
 * @source ASTM C1074-19, eq. 2
 */
export function equivalentTimeLaw(spec: EquivalentTime): Law {
  const thetaK = spec.activationEnergyJPerMol / (spec.gasConstant ?? GAS_CONSTANT);
  const referenceK = spec.referenceC - ABSOLUTE_ZERO_C;
  const factorAt = (tempC: number): number => {
    const tempK = tempC - ABSOLUTE_ZERO_C;
    return tempK > 0 ? exp((thetaK * (tempK - referenceK)) / (referenceK * tempK)) : 0;
  };
  const earnedMin = (fromC: number, toC: number, durationS: number): number => {
    if (!(durationS >= 0 && fromC >= ABSOLUTE_ZERO_C && toC >= ABSOLUTE_ZERO_C)) {
      refuseSegment(fromC, toC, durationS);
    }
    const fromK = fromC - ABSOLUTE_ZERO_C;
    const toK = toC - ABSOLUTE_ZERO_C;
    return (meanArrheniusFactor(thetaK, referenceK, fromK, toK) * durationS) / 60;
  };
  return {
    measure: 'equivalent-time',
    unit: 'min',
    initial: 0,
    advance: (state, fromC, toC, durationS) => state + earnedMin(fromC, toC, durationS),
    advanceEach(states, { fromC, toC, durationS }) {
      for (let i = 0; i < states.length; i += 1) {
        states[i]! += earnedMin(fromC[i]!, toC[i]!, durationS[i]!);
      }
    },
    value: (state) => state,
    secondsToReach: (state, target, heldC) =>
      state >= target ? 0 : ((target - state) * 60) / factorAt(heldC),
    risesWithTemperature: () => true,
  };
}
