import { ABSOLUTE_ZERO_C } from '../units/temperature.ts';

/** Says what is wrong with a segment of temperature. @throws RangeError always */
export function refuseSegment(fromC: number, toC: number, durationS: number): never {
  if (!(durationS >= 0)) throw new RangeError(`a segment lasts ${durationS} s; expected 0 or more`);
  throw new RangeError(
    `a segment goes from ${fromC} to ${toC} °C; expected numbers from ${ABSOLUTE_ZERO_C} °C`,
  );
}
