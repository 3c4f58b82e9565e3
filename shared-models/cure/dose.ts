import { eachAlone, type Law } from './law.ts';

/** Ultraviolet dose [mJ/cm²]: ∫ irradiance dt, exact on linear segments of irradiance [mW/cm²]. */
export function doseLaw(): Law {
  return {
    measure: 'dose',
    unit: 'mJ/cm²',
    initial: 0,
    advance(state, from, to, durationS) {
      if (!(durationS >= 0 && from >= 0 && to >= 0)) {
        throw new RangeError(
          `a segment of irradiance goes from ${from} to ${to} mW/cm² in ${durationS} s; expected 0 or more`,
        );
      }
      return state + 0.5 * (from + to) * durationS;
    },
    advanceEach: eachAlone,
    value: (state) => state,
    secondsToReach: (state, target, held) => (state >= target ? 0 : (target - state) / held),
    risesWithTemperature: () => true,
  };
}
