import { onDelayMs, type CallRule } from './call-rule.ts';

/** Since when a cause has been there, or gone [ms]. */
export interface CauseTimer {
  present: boolean;
  sinceMs: number;
}

export type TimerAnswer = 'wait' | 'raise' | 'let-go';

/**
 * On-delay and off-delay of one possible call.
 *
 *   absent ──present──▶ on-delay ──long enough──▶ raise
 *   up     ──absent───▶ off-delay ──long enough──▶ let go
 *
 * What cannot be told keeps what there is. At its very end a delay is over.
 */
export function nextTimer(
  timer: CauseTimer | undefined,
  wish: { present: boolean | null; plannedMs: number | null; up: boolean },
  rule: CallRule,
  nowMs: number,
): { timer: CauseTimer | undefined; answer: TimerAnswer } {
  const { present, plannedMs, up } = wish;
  if (present === null) return { timer, answer: 'wait' };
  const next = timer?.present === present ? timer : { present, sinceMs: nowMs };
  const heldMs = nowMs - next.sinceMs;
  if (present) {
    const due = !up && heldMs >= onDelayMs(rule, plannedMs);
    return { timer: next, answer: due ? 'raise' : 'wait' };
  }
  return { timer: next, answer: up && heldMs >= rule.offDelayS * 1000 ? 'let-go' : 'wait' };
}
