import type { PointRule, PointRuleKind, WatchedPoint, WatchedReading } from './rule.ts';

/** So many steps within so long: a loose contact, not one spark [ms]. */
const LEAST_STEPS = 3;
const WITHIN_MS = 10 * 60_000;

class RateRule implements PointRule {
  readonly #mostKPerMs: number;
  readonly #slackK: number;
  #last: WatchedReading | null = null;
  /** Times of the last steep steps, oldest first. */
  #steps: number[] = [];
  #steepestK = 0;

  constructor({ plausible, resolutionK }: WatchedPoint) {
    this.#mostKPerMs = (plausible?.maxRateKPerMin ?? Infinity) / 60_000;
    this.#slackK = 4 * resolutionK;
  }

  take(reading: WatchedReading): void {
    const last = this.#last;
    if (reading.shownC === null || reading.conflict) return;
    this.#last = reading;
    if (last?.shownC === undefined || last.shownC === null || reading.tMs <= last.tMs) return;
    const stepK = Math.abs(reading.shownC - last.shownC);
    if (stepK <= this.#mostKPerMs * (reading.tMs - last.tMs) + this.#slackK) return;
    if (this.#steps.length === 0) this.#steepestK = 0;
    this.#steepestK = Math.max(this.#steepestK, stepK);
    this.#steps = [...this.#steps.slice(1 - LEAST_STEPS), reading.tMs];
  }

  look(nowMs: number) {
    const [first = 0] = this.#steps;
    const isNow = this.#steps.length === LEAST_STEPS && nowMs - first <= 2 * WITHIN_MS;
    if (!isNow || (this.#steps.at(-1) ?? 0) - first > WITHIN_MS) return null;
    return { fromMs: first, evidence: { steepestK: this.#steepestK, steps: LEAST_STEPS } };
  }
}

export const rateRule: PointRuleKind = {
  rule: 'impossible-rate',
  doubts: true,
  evidence: 'three steps steeper than `plausible.maxRateKPerMin` within 10 min',
  falseAlarms: 'a probe moved between hot and cold; a rate set for the plate and not for its face',
  needsMs: WITHIN_MS,
  over: (point) => (point.plausible === null ? null : new RateRule(point)),
};
