import type { PointRule, PointRuleKind, WatchedPoint, WatchedReading } from './rule.ts';

/** Never sooner than after so long [ms], nor after fewer readings of one value. */
const SHORTEST_MS = 180_000;
/** As many equal values, of a point read each few seconds [ms]. */
const NEEDS_MS = 20 * 60_000;
const LEAST_READINGS = 180;

/** A run is odd when it is so many times the longest there usually is. */
const TIMES_USUAL = 5;

/** So many readings tell what is usual. */
const LEARN_READINGS = 400;

/** The longest run is forgotten by half in so many readings, so that one quiet night is not the measure. */
const HALF_LIFE_READINGS = 20_000;

class StuckRule implements PointRule {
  #value = NaN;
  #fromMs = 0;
  #lastMs = 0;
  #run = 0;
  #seen = 0;
  /** Longest run of one value lately [readings]. */
  #usual = 1;

  take({ tMs, raw }: WatchedReading): void {
    if (tMs <= this.#lastMs) return;
    this.#seen += 1;
    this.#usual *= 1 - 0.7 / HALF_LIFE_READINGS;
    if (raw !== this.#value) {
      if (!this.#isOdd()) this.#usual = Math.max(this.#usual, this.#run);
      this.#value = raw;
      this.#run = 0;
      this.#fromMs = tMs;
    }
    this.#run += 1;
    this.#lastMs = tMs;
  }

  look() {
    if (!this.#isOdd()) return null;
    const heldMin = (this.#lastMs - this.#fromMs) / 60_000;
    return {
      fromMs: this.#fromMs,
      evidence: { value: this.#value, heldMin, usualReadings: Math.ceil(this.#usual) },
    };
  }

  #isOdd(): boolean {
    const least = Math.max(LEAST_READINGS, TIMES_USUAL * this.#usual);
    return (
      this.#seen - this.#run >= LEARN_READINGS &&
      this.#run >= least &&
      this.#lastMs - this.#fromMs >= SHORTEST_MS
    );
  }
}

/** @param point that speaks on its own clock: on change, equal values are not even sent */
const over = ({ onChange, plausible }: WatchedPoint) =>
  onChange || plausible === null ? null : new StuckRule();

export const stuckRule: PointRuleKind = {
  rule: 'stuck',
  doubts: true,
  evidence:
    'one value with fresh stamps five times as long as it ever was; doubted from its first on',
  falseAlarms: 'a coarse resolution in a room that stands still for days',
  needsMs: NEEDS_MS,
  over,
};
