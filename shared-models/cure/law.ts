export type Measure = 'equivalent-time' | 'degree-time' | 'degree-of-cure' | 'dose';

export type MeasureUnit = 'min' | '°C·min' | '1' | 'mJ/cm²' | 'd';

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
  /** State in the law's unit. */
  value(state: number): number;
  /** Seconds until `value` reaches `target` at a held temperature; `Infinity` if it never does. */
  secondsToReach(state: number, target: number, heldC: number): number;
  /** Whether the rate rises with temperature everywhere between the two [°C]; recipes refuse a law where it does not. */
  risesWithTemperature(fromC: number, toC: number): boolean;
}
