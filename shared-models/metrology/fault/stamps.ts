import type { PointRule, PointRuleKind, WatchedReading } from './rule.ts';

/** Of twenty readings, a minute apart [ms]. */
const NEEDS_MS = 20 * 60_000;
const HOUR_MS = 3_600_000;

/** Readings that tell how late a point is; their middle half must agree for a clock to be meant. */
const ASKED = 20;

/** Later than this is late; ahead by more than that cannot be [ms]. */
const LATE_MS = 60_000;
const AHEAD_MS = 5_000;

/** A clock is off by one amount: lags that differ by more come from a queue [ms]. */
const SPREAD_MS = 10_000;

type Wrong = 'late' | 'clock-off';

class StampRule implements PointRule {
  readonly #wrong: Wrong;
  /** The newest ones in a ring: thousands of points each read once a second leave no garbage. */
  readonly #lags = new Float64Array(ASKED);
  readonly #times = new Float64Array(ASKED);
  #taken = 0;

  constructor(wrong: Wrong) {
    this.#wrong = wrong;
  }

  take({ tMs, receivedMs }: WatchedReading): void {
    const place = this.#taken % ASKED;
    this.#lags[place] = receivedMs - tMs;
    this.#times[place] = tMs;
    this.#taken += 1;
  }

  look() {
    if (this.#taken < ASKED) return null;
    const sorted = this.#lags.slice().sort();
    const lagMs = sorted[ASKED / 2]!;
    const spreadMs = sorted[(3 * ASKED) / 4]! - sorted[ASKED / 4]!;
    const isClock = spreadMs <= SPREAD_MS && (lagMs < -AHEAD_MS || lagMs > LATE_MS);
    const wrong = isClock ? 'clock-off' : sorted[ASKED / 4]! > LATE_MS ? 'late' : null;
    if (wrong !== this.#wrong) return null;
    const hours = Math.floor(lagMs / HOUR_MS + 0.5);
    const wholeHours = hours !== 0 && Math.abs(lagMs - hours * HOUR_MS) < LATE_MS ? hours : null;
    return {
      fromMs: this.#times[this.#taken % ASKED]!,
      evidence: { behindS: lagMs / 1000, wholeHours },
    };
  }
}

/** When readings say they were taken, against when they came. */
export const stampRules: PointRuleKind[] = [
  {
    rule: 'clock-off',
    doubts: true,
    evidence: 'twenty readings behind or ahead by the same; a whole hour is named as one',
    falseAlarms: 'a gateway that holds every reading back by the same minutes',
    needsMs: NEEDS_MS,
    over: () => new StampRule('clock-off'),
  },
  {
    rule: 'late',
    doubts: false,
    evidence: 'three of four of twenty readings came more than a minute after they were taken',
    falseAlarms: 'what is stored through an outage comes late once; it is over with the queue',
    needsMs: NEEDS_MS,
    over: () => new StampRule('late'),
  },
];
