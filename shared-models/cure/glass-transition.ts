import { ABSOLUTE_ZERO_C } from '../units/temperature.ts';
import type { Glass } from './law-spec.ts';

export interface GlassTransition {
  /** Tg at a degree of cure [K]. */
  tempK(alpha: number): number;
  /** Degree of cure whose Tg is the temperature, 0…1. */
  alphaAt(tempK: number): number;
  /** dTg/dα [K]. */
  slopeK(alpha: number): number;
}

/**
 * Glass transition temperature against degree of cure.
 *
 *   Tg = Tg0 + (Tg∞ − Tg0)·λα / (1 − (1 − λ)·α)
 *
 * @source Pascault & Williams, J. Polym. Sci. B 28 (1990) 85-95 (form of DiBenedetto's equation)
 */
export function glassTransition({ tg0C, tgInfC, lambda }: Glass): GlassTransition {
  const tg0K = tg0C - ABSOLUTE_ZERO_C;
  const spanK = tgInfC - tg0C;
  return {
    tempK: (alpha) => tg0K + (spanK * lambda * alpha) / (1 - (1 - lambda) * alpha),
    alphaAt(tempK) {
      const share = Math.min(1, Math.max(0, (tempK - tg0K) / spanK));
      return share / (lambda + (1 - lambda) * share);
    },
    slopeK(alpha) {
      const below = 1 - (1 - lambda) * alpha;
      return (spanK * lambda) / (below * below);
    },
  };
}
