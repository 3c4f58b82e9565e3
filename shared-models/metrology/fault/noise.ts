import type { PointRule, PointRuleKind, WatchedPoint, WatchedReading } from './rule.ts';

/** Readings of one estimate, and estimates that tell what is usual. */
const WINDOW = 120;
const LEARN_WINDOWS = 12;

/** By how much the noise must have changed, in how many windows one after the other. */
const GROWN = 6;
const GONE = 1 / 8;
const IN_A_ROW = 3;
/** What is usual is learnt anew after a restart: some shifts of a point read each few seconds [ms]. */
const NEEDS_MS = 24 * 3_600_000;

/** What was long ago counts less, by so much a window. */
const FORGETS = 0.995;

/** Below this the last digit is all the noise there is, and says nothing [resolutions]. */
const LEAST_RESOLUTIONS = 1.5;

class NoiseRule implements PointRule {
  readonly #sign: 'grown' | 'gone';
  readonly #resolutionK: number;
  #before = NaN;
  #middle = NaN;
  #lastMs = 0;
  /** Second differences of the window, without their signs [K]. */
  readonly #steps = new Float64Array(WINDOW);
  #count = 0;
  #windows = 0;
  #usualK = 0;
  #inARow = 0;
  #fromMs = 0;
  #nowK = 0;
  #startMs = 0;

  constructor(sign: 'grown' | 'gone', { resolutionK }: WatchedPoint) {
    this.#sign = sign;
    this.#resolutionK = resolutionK;
  }

  /** Second differences cancel a level and a steady rise; they have six times a reading's variance. */
  take({ tMs, shownC }: WatchedReading): void {
    if (shownC === null || tMs <= this.#lastMs) return;
    this.#lastMs = tMs;
    const second = this.#before - 2 * this.#middle + shownC;
    this.#before = this.#middle;
    this.#middle = shownC;
    if (Number.isNaN(second)) return;
    if (this.#count === 0) this.#startMs = tMs;
    this.#steps[this.#count] = Math.abs(second);
    this.#count += 1;
    if (this.#count === WINDOW) this.#close();
  }

  #close(): void {
    const sigmaK = this.#sign === 'grown' ? rootMeanSquare(this.#steps) : middle(this.#steps);
    this.#count = 0;
    this.#windows += 1;
    if (this.#windows <= LEARN_WINDOWS) {
      this.#learn(sigmaK, 1);
      return;
    }
    const floorK = LEAST_RESOLUTIONS * this.#resolutionK;
    const isOdd =
      this.#sign === 'grown'
        ? sigmaK > GROWN * Math.max(this.#usualK, floorK)
        : this.#usualK > floorK && sigmaK < GONE * this.#usualK;
    if (!isOdd) {
      this.#inARow = 0;
      this.#learn(sigmaK, FORGETS);
      return;
    }
    if (this.#inARow === 0) this.#fromMs = this.#startMs;
    this.#inARow += 1;
    this.#nowK = sigmaK;
  }

  /** Grown is held against the noisiest there was, gone against the quietest: dips and steps are neither. */
  #learn(sigmaK: number, forgets: number): void {
    const isFirst = this.#windows === 1;
    this.#usualK =
      this.#sign === 'grown'
        ? Math.max(forgets * this.#usualK, sigmaK)
        : Math.min(isFirst ? Infinity : this.#usualK / forgets, sigmaK);
  }

  look() {
    if (this.#inARow < IN_A_ROW) return null;
    return { fromMs: this.#fromMs, evidence: { nowK: this.#nowK, usualK: this.#usualK } };
  }
}

/** Of readings, from their second differences: each odd one counts. */
function rootMeanSquare(steps: Float64Array): number {
  let squares = 0;
  for (const step of steps) squares += step * step;
  return Math.sqrt(squares / (6 * WINDOW));
}

/**
 * The same by the median, so that dips and reversals of a press at work are no noise that goes when it
 * stands idle. A normal deviate's median is 0.6745 of its σ.
 */
function middle(steps: Float64Array): number {
  steps.sort();
  return steps[WINDOW / 2]! / (0.6745 * Math.sqrt(6));
}

const over = (sign: 'grown' | 'gone') => (point: WatchedPoint) =>
  point.plausible === null || point.onChange ? null : new NoiseRule(sign, point);

/** The noise of a stream about its own course, against what it was. */
export const noiseRules: PointRuleKind[] = [
  {
    rule: 'noise-grown',
    doubts: true,
    evidence: 'three estimates of 120 readings, each more than six times the usual noise',
    falseAlarms: 'a drive that disturbs the cable; a plate whose control begins to hunt',
    needsMs: NEEDS_MS,
    over: over('grown'),
  },
  {
    rule: 'noise-gone',
    doubts: false,
    evidence: 'three estimates of 120 readings, each less than an eighth of the usual noise',
    falseAlarms: 'a filter that somebody set; a machine that disturbed it and is off',
    needsMs: NEEDS_MS,
    over: over('gone'),
  },
];
