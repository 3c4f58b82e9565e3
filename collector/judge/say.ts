import type { AdviceChanged, Say } from '@setwell/shared-models/record/bodies';
import type { Judgement } from '@setwell/shared-models/api/collector';
import type { Forecast, Side, Verdict } from '@setwell/shared-models/score/shape';

/** What is told of a running load. Advice only: it is wired to no lock and no valve. */
export function sayOf(
  verdict: Verdict,
  side: Side | null,
  forecast: Forecast | null,
  judged: boolean,
): Say {
  if (!judged) return 'ask';
  switch (verdict) {
    case 'in-window':
      return 'proven';
    case 'over':
      return 'too-long';
    case 'under':
      return forecast?.waitingHelps === false ? 'ask' : 'wait';
    case 'unproven':
      if (side === 'long') return 'too-long';
      if (side === 'both') return 'ask';
      return forecast?.waitingHelps === false ? 'ask' : 'wait';
  }
}

/** What is recorded as told. Minutes only once they are settled: until a station has recovered they are a range. */
export function adviceOf({ say, verdict, side, forecast }: Judgement): AdviceChanged {
  const { provenAtMs = null, overAtMs = null } = forecast ?? {};
  const { provenEarliestMs = null, provenLatestMs = null } = forecast ?? {};
  const settled =
    provenEarliestMs !== null &&
    provenLatestMs !== null &&
    provenLatestMs - provenEarliestMs < minuteMs;
  return { say, verdict, side, provenAtMs: settled ? provenAtMs : null, overAtMs };
}

/**
 * Whether what is said has changed: new words at once; minutes when the proof has moved by a whole
 * minute from what was said last, and at most once a minute.
 */
export function isNewAdvice(
  before: { said: AdviceChanged; atMs: number } | null,
  now: AdviceChanged,
  nowMs: number,
): boolean {
  if (!before) return true;
  const { said, atMs } = before;
  if (said.say !== now.say || said.verdict !== now.verdict || said.side !== now.side) return true;
  if (nowMs - atMs < minuteMs) return false;
  if (said.provenAtMs === null || now.provenAtMs === null)
    return said.provenAtMs !== now.provenAtMs;
  return Math.abs(now.provenAtMs - said.provenAtMs) >= minuteMs;
}

const minuteMs = 60_000;
