import type { PointRule, PointRuleKind, WatchedPoint, WatchedReading } from './rule.ts';

/** Gateways hold readings back and send them together: never sooner than this [ms]. */
const SHORTEST_MS = 120_000;
const INTERVALS = 5;

class SilenceRule implements PointRule {
  readonly #afterMs: number;
  #lastMs: number | null = null;

  constructor({ everyMs }: WatchedPoint) {
    this.#afterMs = Math.max(SHORTEST_MS, INTERVALS * everyMs);
  }

  take({ tMs }: WatchedReading): void {
    if (tMs > (this.#lastMs ?? -Infinity)) this.#lastMs = tMs;
  }

  look(nowMs: number) {
    const lastMs = this.#lastMs;
    if (lastMs === null || nowMs - lastMs <= this.#afterMs) return null;
    return { fromMs: lastMs, evidence: { silentMin: (nowMs - lastMs) / 60_000 } };
  }
}

export const silenceRule: PointRuleKind = {
  rule: 'silent',
  // There is nothing to doubt: what is not there is a gap by itself.
  doubts: false,
  evidence: 'nothing for five of its own intervals, and two minutes at least',
  falseAlarms: 'a machine that is switched off with its sensors',
  needsMs: SHORTEST_MS,
  over: (point) => new SilenceRule(point),
};
