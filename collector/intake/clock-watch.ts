import type { Clock } from '../clock.ts';

/** The wall's clock was set: what it says no longer follows from what it said. */
export interface ClockStep {
  /** What it said last, moved on by the time that has passed since [ms]. */
  expectedMs: number;
  /** What it says [ms]. */
  foundMs: number;
}

/** A time server that slews moves a clock by 0.5 ms a second; this is a step [ms of wall time]. */
const leastStepMs = 2000;

/**
 * Holds the wall's clock against the monotonic one, from look to look: a slow drift is no step, and
 * neither is a long time between two looks.
 */
export class ClockWatch {
  readonly #clock: Clock;
  readonly #leastMs: number;
  #wallMs: number;
  #monotonicMs: number;

  /** @param rate plant time per wall time */
  constructor(clock: Clock, rate: number) {
    this.#clock = clock;
    this.#leastMs = leastStepMs * rate;
    this.#wallMs = clock.nowMs();
    this.#monotonicMs = clock.monotonicMs();
  }

  /** The step since the last look, if there was one. */
  look(): ClockStep | null {
    const foundMs = this.#clock.nowMs();
    const monotonicMs = this.#clock.monotonicMs();
    const expectedMs = this.#wallMs + (monotonicMs - this.#monotonicMs);
    this.#wallMs = foundMs;
    this.#monotonicMs = monotonicMs;
    return Math.abs(foundMs - expectedMs) < this.#leastMs ? null : { expectedMs, foundMs };
  }
}
