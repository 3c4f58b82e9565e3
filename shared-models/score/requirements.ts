import type { RequirementResult, ScoreInput } from './shape.ts';
import type { JudgedWindow } from './window.ts';

/**
 * What a recipe asks for beside heat, and how each is known.
 *
 * A rest's calendar days are counted here. What a requirement's own readings or entries would say is
 * not evaluated yet: it stands as not monitored, with the procedure that covers it where one is named.
 */
export function requirementResults(
  input: ScoreInput,
  { calendarLeastMs }: JudgedWindow,
): RequirementResult[] {
  const asked = input.recipe.requirements.map(({ kind, coveredBy }): RequirementResult => {
    const procedure = typeof coveredBy === 'object' ? coveredBy.notMonitored : null;
    return {
      kind,
      coveredBy: typeof coveredBy === 'object' ? 'not-monitored' : coveredBy,
      procedure,
      verdict: 'not-monitored',
      evidence: null,
    };
  });
  if (calendarLeastMs === null) return asked;
  const restedMs = (input.endMs ?? input.asOfMs) - input.startMs;
  return [
    ...asked,
    {
      kind: 'rest',
      coveredBy: 'measured',
      procedure: null,
      verdict: restedMs >= calendarLeastMs ? 'in-window' : 'under',
      evidence: `${restedMs / 86_400_000} d`,
    },
  ];
}
