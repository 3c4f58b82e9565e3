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

export function adviceOf({ say, verdict, side, forecast }: Judgement): AdviceChanged {
  const { provenAtMs = null, overAtMs = null } = forecast ?? {};
  return { say, verdict, side, provenAtMs, overAtMs };
}

/** New words, or another whole minute: anything finer would fill the ledger with nothing. */
export function isNewAdvice(before: AdviceChanged | null, now: AdviceChanged): boolean {
  if (!before) return true;
  return (
    before.say !== now.say ||
    before.verdict !== now.verdict ||
    before.side !== now.side ||
    minuteOf(before.provenAtMs) !== minuteOf(now.provenAtMs)
  );
}

function minuteOf(ms: number | null): number | null {
  return ms === null ? null : Math.ceil(ms / 60_000);
}
