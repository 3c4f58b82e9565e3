export type Measure = 'equivalent-time' | 'degree-time' | 'degree-of-cure' | 'dose';

export type MeasureUnit = 'min' | '°C·min' | '1' | 'mJ/cm²' | 'd';

/** One linear segment of temperature [°C] for each of some places, with its own duration [s]. */
export interface Segments {
  fromC: Float64Array;
  toC: Float64Array;
  durationS: Float64Array;
}

/**
 * How temperature and time add up, in one of the forms of {@link import('./law-spec.ts').LawSpec}.
 *
 * A law is a pure function of its state; the state is one number, so that folding any split of a
 * profile gives the whole.
 */
export interface Law {
  readonly measure: Measure;
  readonly unit: MeasureUnit;
  /** State before anything has been earned. */
  readonly initial: number;
  /**
   * State after a linear segment.
   *
   * @param fromC, toC end temperatures of the segment [°C] (dose: irradiance [mW/cm²])
   * @param durationS [s], ≥ 0
   * @throws RangeError below absolute zero or for a negative duration: a caller's bug, not bad data
   */
  advance(state: number, fromC: number, toC: number, durationS: number): number;
  /**
   * `advance` of each place by itself, in place. The segments are the law's to cut.
   *
   * A law that many places of many runs are advanced by writes this loop itself ({@link eachAlone} calls
   * `advance`): compiled together with its arithmetic it takes half the time.
   */
  advanceEach(states: Float64Array, segments: Segments): void;
  /** State in the law's unit. */
  value(state: number): number;
  /** Seconds until `value` reaches `target` at a held temperature; `Infinity` if it never does. */
  secondsToReach(state: number, target: number, heldC: number): number;
  /** Whether the rate rises with temperature everywhere between the two [°C]; recipes refuse a law where it does not. */
  risesWithTemperature(fromC: number, toC: number): boolean;
}

/** For a law whose arithmetic outweighs a call. */
export function eachAlone(
  this: Law,
  states: Float64Array,
  { fromC, toC, durationS }: Segments,
): void {
  for (let i = 0; i < states.length; i += 1) {
    states[i] = this.advance(states[i]!, fromC[i]!, toC[i]!, durationS[i]!);
  }
}
