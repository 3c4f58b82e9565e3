import { ABSOLUTE_ZERO_C } from '../units/temperature.ts';
import type { DegreeTime } from './law-spec.ts';
import { eachAlone, type Law } from './law.ts';
import { refuseSegment } from './segment.ts';

/**
 * Degree-time above a base [°C·min]; below the base nothing is earned and nothing lost.
 *
 *   M = ∫ max(0, T − T_base) dt, exact on linear segments
 *
 * @source ASTM C1074-19, eq. 1 (Nurse-Saul maturity)
 */
export function degreeTimeLaw(spec: DegreeTime): Law {
  const { baseC } = spec;
  return {
    measure: 'degree-time',
    unit: '°C·min',
    initial: 0,
    advance(state, fromC, toC, durationS) {
      if (!(durationS >= 0 && fromC >= ABSOLUTE_ZERO_C && toC >= ABSOLUTE_ZERO_C)) {
        refuseSegment(fromC, toC, durationS);
      }
      const fromK = fromC - baseC;
      const toK = toC - baseC;
      const higherK = Math.max(fromK, toK);
      const lowerK = Math.min(fromK, toK);
      if (higherK <= 0) return state;
      // A triangle where the segment crosses the base, else a trapezium.
      const meanK =
        lowerK >= 0 ? 0.5 * (fromK + toK) : (0.5 * higherK * higherK) / (higherK - lowerK);
      return state + (meanK * durationS) / 60;
    },
    advanceEach: eachAlone,
    value: (state) => state,
    secondsToReach: (state, target, heldC) =>
      state >= target ? 0 : ((target - state) * 60) / Math.max(0, heldC - baseC),
    risesWithTemperature: () => true,
  };
}
