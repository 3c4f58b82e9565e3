import { exp, expm1 } from '../units/exponential.ts';
import { log1p, pow } from '../units/logarithm.ts';
import { ABSOLUTE_ZERO_C, GAS_CONSTANT } from '../units/temperature.ts';
import { meanArrheniusFactor } from './equivalent-time.ts';
import type { NthOrder } from './law-spec.ts';
import { eachAlone, type Law } from './law.ts';
import { refuseSegment } from './segment.ts';

/** Where k is written from; any temperature gives the same law. */
const ANCHOR_K = 400;

/**
 * Degree of cure after an n-th order law, exact on linear segments:
 *
 *   dα/dt = A·e^(−E/RT)·(1 − α)^n, with K = ∫ A·e^(−E/RT) dt
 *   n = 1: 1 − α = (1 − α₀)·e^(−K); else (1 − α)^(1−n) = (1 − α₀)^(1−n) + (n − 1)·K
 *
 * Only without diffusion and glass; with them the rate is no product of k(T) and f(α).
 *
 * @source separation of variables; values in ISO 11357-5's notation
 */
export function nthOrderLaw(spec: NthOrder): Law {
  const { n } = spec;
  const thetaK = spec.activationEnergyJPerMol / (spec.gasConstant ?? GAS_CONSTANT);
  const anchorPerS = Math.max(0, spec.aPerS) * exp(-thetaK / ANCHOR_K);
  return {
    measure: 'degree-of-cure',
    unit: '1',
    initial: spec.initial ?? 0,
    advance(alpha, fromC, toC, durationS) {
      if (!(durationS >= 0 && fromC >= ABSOLUTE_ZERO_C && toC >= ABSOLUTE_ZERO_C)) {
        refuseSegment(fromC, toC, durationS);
      }
      const left = 1 - alpha;
      if (left <= 0) return alpha;
      const fromK = fromC - ABSOLUTE_ZERO_C;
      const toK = toC - ABSOLUTE_ZERO_C;
      const reacted = anchorPerS * meanArrheniusFactor(thetaK, ANCHOR_K, fromK, toK) * durationS;
      return Math.min(1, alpha + left * shareReacted(reacted, left, n));
    },
    advanceEach: eachAlone,
    value: (alpha) => alpha,
    secondsToReach(alpha, target, heldC) {
      if (alpha >= target) return 0;
      if (target > 1 || (target === 1 && n >= 1)) return Infinity;
      const heldK = heldC - ABSOLUTE_ZERO_C;
      if (!(heldK > 0)) return Infinity;
      const kPerS = anchorPerS * exp((thetaK * (heldK - ANCHOR_K)) / (ANCHOR_K * heldK));
      const left = 1 - alpha;
      // ln of (1 − α)/(1 − α₀); −Infinity for a target of 1.
      const logShare = target === 1 ? -Infinity : log1p((alpha - target) / left);
      if (n === 1) return -logShare / kPerS;
      return (pow(left, 1 - n) * expm1((1 - n) * logShare)) / ((n - 1) * kPerS);
    },
    risesWithTemperature: () => true,
  };
}

/** Share of what is left that reacts, 1 − (1 − α)/(1 − α₀) [1], given K and 1 − α₀. */
function shareReacted(reacted: number, left: number, n: number): number {
  if (n === 1) return -expm1(-reacted);
  const y = (n - 1) * reacted * pow(left, n - 1);
  return y <= -1 ? 1 : -expm1(-log1p(y) / (n - 1));
}
