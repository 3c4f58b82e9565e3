import { exp } from '../units/exponential.ts';
import { scaledExponentialIntegral2 } from '../units/exponential-integral.ts';
import { ABSOLUTE_ZERO_C, GAS_CONSTANT } from '../units/temperature.ts';
import type { EquivalentTime } from './law-spec.ts';
import type { Law } from './law.ts';
import { refuseSegment } from './segment.ts';

/** Below it one evaluation at the middle is exact to u²/24 = 4e-12. */
const CONSTANT_BELOW = 1e-5;

/**
 * Up to it three Gauss points, error u⁶/2,016,000 = 5e-13; above it the closed form, whose difference
 * of integrals would cancel on smaller segments (2e-6 at 1e-8 K).
 */
const GAUSS_UP_TO = 0.1;

/** Abscissae ±½√(3/5) and 0, weights 5/18 and 8/18. @source Abramowitz & Stegun, table 25.4, n = 3, on −½…½ */
const GAUSS_ABSCISSA = 0.3872983346207417;

/**
 * Mean of exp(θ·(1/T_ref − 1/T)) over a linear temperature segment [1].
 *
 * With u = θ·|ΔT| / T̄² as the segment's size: constant, Gauss or
 * [T·e^(θ/T_ref)·E2(θ/T)] between the ends / ΔT, relative error below 1e-11 in each.
 *
 * @param thetaK E/R [K], > 0
 * @param referenceK [K], > 0
 * @param fromK, toK [K], ≥ 0
 * @source ASTM C1074-19, eq. 2 (form); the integral of e^(−θ/T) after DLMF 8.19
 */
export function meanArrheniusFactor(
  thetaK: number,
  referenceK: number,
  fromK: number,
  toK: number,
): number {
  const middleK = 0.5 * (fromK + toK);
  const deltaK = toK - fromK;
  const size = (thetaK * Math.abs(deltaK)) / (middleK * middleK);
  if (size <= GAUSS_UP_TO) {
    const atMiddle = exp((thetaK * (middleK - referenceK)) / (referenceK * middleK));
    if (size <= CONSTANT_BELOW) return atMiddle;
    const lowerK = middleK - GAUSS_ABSCISSA * deltaK;
    const upperK = middleK + GAUSS_ABSCISSA * deltaK;
    const atLower = exp((thetaK * (lowerK - referenceK)) / (referenceK * lowerK));
    const atUpper = exp((thetaK * (upperK - referenceK)) / (referenceK * upperK));
    return (5 * (atLower + atUpper) + 8 * atMiddle) / 18;
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
  return {
    measure: 'equivalent-time',
    unit: 'min',
    initial: 0,
    advance(state, fromC, toC, durationS) {
      if (!(durationS >= 0 && fromC >= ABSOLUTE_ZERO_C && toC >= ABSOLUTE_ZERO_C)) {
        refuseSegment(fromC, toC, durationS);
      }
      const fromK = fromC - ABSOLUTE_ZERO_C;
      const toK = toC - ABSOLUTE_ZERO_C;
      return state + (meanArrheniusFactor(thetaK, referenceK, fromK, toK) * durationS) / 60;
    },
    value: (state) => state,
    secondsToReach: (state, target, heldC) =>
      state >= target ? 0 : ((target - state) * 60) / factorAt(heldC),
    risesWithTemperature: () => true,
  };
}
