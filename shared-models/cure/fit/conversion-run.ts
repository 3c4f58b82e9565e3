/** A measured run: degree of cure against time under a temperature that is linear between rows. */
export interface ConversionRun {
  name: string;
  /** Ascending [s]. */
  timesS: number[];
  tempsC: number[];
  /** Degree of cure, 0…1, not falling by more than its noise. */
  alphas: number[];
}

/** A conversion at a moment between two rows of a run. */
export interface Crossing {
  timeS: number;
  tempK: number;
  /** dα/dt there [1/s]. */
  ratePerS: number;
}
