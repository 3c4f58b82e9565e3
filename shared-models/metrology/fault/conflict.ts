import type { PointRule, PointRuleKind, WatchedReading } from './rule.ts';

const LEAST = 3;
const WITHIN_MS = 10 * 60_000;

class ConflictRule implements PointRule {
  #times: number[] = [];

  take({ tMs, conflict }: WatchedReading): void {
    if (conflict) this.#times = [...this.#times.slice(1 - LEAST), tMs];
  }

  look(nowMs: number) {
    const [first = 0] = this.#times;
    if (this.#times.length < LEAST || nowMs - first > 2 * WITHIN_MS) return null;
    if ((this.#times.at(-1) ?? 0) - first > WITHIN_MS) return null;
    return { fromMs: first, evidence: { conflicts: LEAST } };
  }
}

export const conflictRule: PointRuleKind = {
  rule: 'two-values',
  // Both values of a pair are out already: what lies between is as good as ever.
  doubts: false,
  evidence:
    'three times within 10 min a second, other value for one time: two senders of one point',
  falseAlarms: 'a gateway that repeats itself with other rounding',
  needsMs: WITHIN_MS,
  over: () => new ConflictRule(),
};
