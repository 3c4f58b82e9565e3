import type { PointRule, PointRuleKind, WatchedPoint, WatchedReading } from './rule.ts';

/** So many readings in a row: one is a spark, or a plug that was touched. */
const IN_A_ROW = 3;
/** As many readings, of a point that is read each minute [ms]. */
const NEEDS_MS = 180_000;

/**
 * What converters show of a wire that is open, or shorted: the end of their range. Common practice, no
 * source; a Pt100's range is −200…850 °C (IEC 60751:2008, 4.2).
 */
const OPEN_FROM_C = 800;
const SHORT_UP_TO_C = -150;

type Wrong = 'open' | 'short' | 'out-of-range';

/** What a raw value says of the wire; null: nothing. */
function wrongOf({ signal, plausible }: WatchedPoint, reading: WatchedReading): Wrong | null {
  const { raw, shownC } = reading;
  if (plausible === null) return null;
  if (shownC === null) {
    if (signal === 'ohm') return raw > 100 ? 'open' : 'short';
    return 'open';
  }
  if (shownC > plausible.maxC) return shownC >= OPEN_FROM_C ? 'open' : 'out-of-range';
  if (shownC < plausible.minC) return shownC <= SHORT_UP_TO_C ? 'short' : 'out-of-range';
  return null;
}

class WireRule implements PointRule {
  readonly #point: WatchedPoint;
  readonly #wrong: Wrong;
  #count = 0;
  #fromMs = 0;
  #raw = 0;

  constructor(point: WatchedPoint, wrong: Wrong) {
    this.#point = point;
    this.#wrong = wrong;
  }

  take(reading: WatchedReading): void {
    if (wrongOf(this.#point, reading) !== this.#wrong) {
      this.#count = 0;
      return;
    }
    if (this.#count === 0) this.#fromMs = reading.tMs;
    this.#count += 1;
    this.#raw = reading.raw;
  }

  look() {
    if (this.#count < IN_A_ROW) return null;
    return { fromMs: this.#fromMs, evidence: { raw: this.#raw, readings: this.#count } };
  }
}

const kind = (rule: Wrong, evidence: string, falseAlarms: string): PointRuleKind => ({
  rule,
  doubts: true,
  evidence,
  falseAlarms,
  needsMs: NEEDS_MS,
  over: (point) => (point.plausible === null ? null : new WireRule(point, rule)),
});

/** A broken wire, a shorted one, and values that no plate there can have. */
export const wireRules: PointRuleKind[] = [
  kind(
    'open',
    'three readings in a row beyond the upper end of the element or its converter',
    'a converter whose error value lies inside the plausible range is not seen',
  ),
  kind(
    'short',
    'three readings in a row below the lower end of the element or its converter',
    'a shorted thermocouple reads the terminals’ temperature: `stuck` or `drift` sees that one',
  ),
  kind(
    'out-of-range',
    'three readings in a row outside `plausible`',
    'a plausible range set too narrow; a probe held in the hand',
  ),
];
