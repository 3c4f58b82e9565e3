import { exp, expm1 } from '../units/exponential.ts';
import { LN10 } from '../units/logarithm.ts';
import { ABSOLUTE_ZERO_C } from '../units/temperature.ts';
import type { ZValue } from './law-spec.ts';
import { eachAlone, type Law } from './law.ts';
import { refuseSegment } from './segment.ts';

/**
 * Minutes at the reference temperature, the rate tenfold every z kelvin [min].
 *
 *   t_eq = ∫ 10^((T − T_ref)/z) dt, exact on linear segments: e^a · (e^b − 1)/b with b = ΔT·ln 10/z
 *
 * @source lethal rate as in M. Mullan, dairyscience.info: LR = 10^((T − T_ref)/z)
 */
export function zValueLaw(spec: ZValue): Law {
  const { referenceC } = spec;
  const perK = LN10 / spec.zK;
  return {
    measure: 'equivalent-time',
    unit: 'min',
    initial: 0,
    advance(state, fromC, toC, durationS) {
      if (!(durationS >= 0 && fromC >= ABSOLUTE_ZERO_C && toC >= ABSOLUTE_ZERO_C)) {
        refuseSegment(fromC, toC, durationS);
      }
      // From the lower end upwards, so that a mirrored segment earns the same bits.
      const lowerC = Math.min(fromC, toC);
      const b = Math.abs(toC - fromC) * perK;
      const growth = b === 0 ? 1 : expm1(b) / b;
      return state + (exp((lowerC - referenceC) * perK) * growth * durationS) / 60;
    },
    advanceEach: eachAlone,
    value: (state) => state,
    secondsToReach: (state, target, heldC) =>
      state >= target ? 0 : ((target - state) * 60) / exp((heldC - referenceC) * perK),
    risesWithTemperature: () => true,
  };
}
