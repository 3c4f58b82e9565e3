import { exp } from '../units/exponential.ts';
import { log, pow } from '../units/logarithm.ts';
import { GAS_CONSTANT } from '../units/temperature.ts';
import { glassTransition, type GlassTransition } from './glass-transition.ts';
import type { Arrhenius, Autocatalytic, LawLimits, NthOrder } from './law-spec.ts';

/** A kinetic law up to a conversion. */
export interface KineticStage {
  /** The next stage counts from here [1]; 1 for the last. */
  untilAlpha: number;
  /** dα/dt [1/s], never negative. */
  ratePerS(alpha: number, tempK: number): number;
  glass: GlassTransition | null;
}

/**
 * Rate of an n-th order or autocatalytic law, slowed by diffusion where the law says so.
 *
 *   n-th order: A·e^(−E/RT)·(1 − α)^n
 *   autocatalytic: (k1 + k2·α^m)·(1 − α)^n, times (b − α) where b is given
 *   diffusion: divided by 1 + e^(c·(α − (α_C0 + α_CT·T)))
 *
 * @param shared what stands at the top of the law; the stage's own comes first
 * @source Kamal & Sourour, Polym. Eng. Sci. 13 (1973) 59-64 (autocatalytic form); Cole, Hechler &
 * Noël, Macromolecules 24 (1991) 3098-3110 (diffusion factor)
 */
export function kineticStage(
  spec: (NthOrder | Autocatalytic) & { untilAlpha?: number | undefined },
  shared: LawLimits,
): KineticStage {
  const gasConstant = spec.gasConstant ?? shared.gasConstant ?? GAS_CONSTANT;
  const diffusion = spec.diffusion ?? shared.diffusion;
  const glass = spec.glass ?? shared.glass;
  const chemicalPerS =
    spec.form === 'n-th-order'
      ? nthOrderRate(spec, gasConstant)
      : autocatalyticRate(spec, gasConstant);
  const stage = {
    untilAlpha: spec.untilAlpha ?? 1,
    glass: glass === undefined ? null : glassTransition(glass),
  };
  if (diffusion === undefined) return { ...stage, ratePerS: chemicalPerS };
  const { c, alphaC0, alphaCTPerK } = diffusion;
  return {
    ...stage,
    ratePerS: (alpha, tempK) =>
      chemicalPerS(alpha, tempK) / (1 + exp(c * (alpha - (alphaC0 + alphaCTPerK * tempK)))),
  };
}

function arrhenius({ aPerS, activationEnergyJPerMol }: Arrhenius, gasConstant: number) {
  const minusThetaK = -activationEnergyJPerMol / gasConstant;
  return (tempK: number): number => aPerS * exp(minusThetaK / tempK);
}

function nthOrderRate(spec: NthOrder, gasConstant: number): KineticStage['ratePerS'] {
  const { n } = spec;
  const kPerS = arrhenius(spec, gasConstant);
  return (alpha, tempK) => Math.max(0, kPerS(tempK) * pow(Math.max(0, 1 - alpha), n));
}

function autocatalyticRate(spec: Autocatalytic, gasConstant: number): KineticStage['ratePerS'] {
  const { k1, k2, m, n, b } = spec;
  if (k1 === undefined && b === undefined && k2.aPerS > 0)
    return oneConstantRate(k2, m, n, gasConstant);
  const k1PerS = k1 === undefined ? () => 0 : arrhenius(k1, gasConstant);
  const k2PerS = arrhenius(k2, gasConstant);
  return (alpha, tempK) => {
    const at = Math.max(0, alpha);
    const left = pow(Math.max(0, 1 - at), n) * (b === undefined ? 1 : b - at);
    return Math.max(0, (k1PerS(tempK) + k2PerS(tempK) * pow(at, m)) * left);
  };
}

/** k·α^m·(1 − α)^n through one exponential instead of three. */
function oneConstantRate(
  { aPerS, activationEnergyJPerMol }: Arrhenius,
  m: number,
  n: number,
  gasConstant: number,
): KineticStage['ratePerS'] {
  const lnA = log(aPerS);
  const thetaK = activationEnergyJPerMol / gasConstant;
  return (alpha, tempK) =>
    alpha <= 0 || alpha >= 1 ? 0 : exp(lnA - thetaK / tempK + m * log(alpha) + n * log(1 - alpha));
}
