import {
  celsiusOfSignal,
  temperatureSignalOf,
  type TemperatureSignal,
} from '../metrology/signal.ts';
import type { Sensor } from '../plant/plant-schema.ts';

/** A reading of a point as it came in. */
export interface CycleReading {
  t: number;
  v: number;
  quality: string;
  ahead: boolean;
}

/** Two readings farther apart than this say nothing of how steep it was between them [min]. */
const steepWithinMin = 1;

/**
 * One point as cycles are read from it: what can be believed, in order of time, in °C where it measures a
 * temperature, else in the signal's own unit.
 */
export class CyclePoint {
  readonly isTemperature: boolean;
  readonly #signal: TemperatureSignal | null;
  readonly #least: number;
  readonly #most: number;
  readonly #maxRateKPerMin: number;
  #last: { t: number; value: number } | null = null;

  constructor(sensor: Sensor) {
    const { plausible } = sensor;
    this.isTemperature = 'minC' in plausible;
    this.#signal = this.isTemperature ? temperatureSignalOf(sensor) : null;
    this.#least = 'minC' in plausible ? plausible.minC : plausible.min;
    this.#most = 'minC' in plausible ? plausible.maxC : plausible.max;
    this.#maxRateKPerMin = 'minC' in plausible ? plausible.maxRateKPerMin : Infinity;
  }

  /** @returns its value; `broken`: nothing can give it; null: it does not count */
  take({ t, v, quality, ahead }: CycleReading): number | 'broken' | null {
    if (ahead) return null;
    const value = !this.isTemperature
      ? v
      : this.#signal === null
        ? null
        : celsiusOfSignal(v, this.#signal);
    if (value === null) return null;
    const since = this.#last === null ? Infinity : (t - this.#last.t) / 60_000;
    if (since <= 0) return null;
    const rate = this.#last === null ? 0 : Math.abs(value - this.#last.value) / since;
    const steep = rate > this.#maxRateKPerMin && since < steepWithinMin;
    if (value < this.#least || value > this.#most || steep) return 'broken';
    if (quality !== 'good' && quality !== 'late') return null;
    this.#last = { t, value };
    return value;
  }
}
