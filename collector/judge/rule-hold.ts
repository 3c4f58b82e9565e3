import type { Disposition } from '@setwell/shared-models/record/bodies';
import type { LoadDecisions } from '@setwell/shared-models/record/decisions';
import type { Verdict } from '@setwell/shared-models/score/shape';

/**
 * The hold that a rule puts on a load that has come out: short and long ones at once, for no later
 * reading can heal them; unproven ones when they are sealed. Null where none is due, or somebody has
 * decided already.
 */
export function ruleHold(
  verdict: Verdict,
  { hold, last }: LoadDecisions,
  revision: number | null,
): Disposition | null {
  if (hold || last) return null;
  const rule = ruleOf(verdict, revision !== null);
  if (rule === null) return null;
  return {
    decision: 'hold',
    reason: `by rule: ${rule}`,
    onRevision: revision,
    parts: [],
    untilMs: null,
    rule,
    needsSecond: false,
    seconds: null,
  };
}

function ruleOf(verdict: Verdict, sealed: boolean): Disposition['rule'] {
  switch (verdict) {
    case 'in-window':
      return null;
    case 'under':
      return 'short';
    case 'over':
      return 'over';
    case 'unproven':
      return sealed ? 'unproven' : null;
  }
}
