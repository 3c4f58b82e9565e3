import type { Requirement } from '../plant/requirement-schema.ts';
import type { LoadFold } from './fold.ts';
import type { CureInterval, JudgedPlace, RequirementResult, ScoreInput, Verdict } from './shape.ts';
import { decide, type JudgedWindow } from './window.ts';
import { precureOf } from './zone-runs.ts';

/**
 * What a recipe asks for beside heat at each place, and how each is known.
 *
 * Precure, a rest's calendar days and the whole of a coat's bakes follow from the load itself. What
 * other requirements' readings or entries say is not evaluated here: they stand as not monitored,
 * with the procedure that covers them where one is named.
 */
export function requirementResults(
  input: ScoreInput,
  fold: LoadFold,
  places: readonly JudgedPlace[],
  judged: JudgedWindow,
): RequirementResult[] {
  const asked = input.recipe.requirements.map((requirement): RequirementResult => {
    const { kind, coveredBy } = requirement;
    const precure = kind === 'precure' ? precureResult(requirement, input, fold, judged) : null;
    if (precure !== null) return precure;
    return {
      kind,
      coveredBy: 'not-monitored',
      procedure: typeof coveredBy === 'object' ? coveredBy.notMonitored : null,
      verdict: 'not-monitored',
      // The record must not claim what nobody has looked at.
      evidence: typeof coveredBy === 'object' ? null : `asked as ${coveredBy}; not evaluated`,
    };
  });
  const rest = restResult(input, judged);
  const total = totalResult(input, places, judged);
  return [...asked, ...(rest === null ? [] : [rest]), ...(total === null ? [] : [total])];
}

/** Heat before pressure against its own most; null while nobody has said when the piece was touched. */
function precureResult(
  { most, contactToPressureMaxS }: Extract<Requirement, { kind: 'precure' }>,
  { marks }: ScoreInput,
  fold: LoadFold,
  { perLawUnit, unit }: JudgedWindow,
): RequirementResult | null {
  const { contact, pressureOn } = marks;
  if (contact === null) return null;
  const verdicts: Verdict[] = [];
  const told: string[] = [];
  if (most !== undefined) {
    const ends: CureInterval = { low: 0, nominal: 0, high: 0 };
    for (const zone of fold.zones) {
      zone?.piece.spots.forEach((_spot, spot) => {
        const own = precureOf(zone, spot);
        if (own.high * perLawUnit <= ends.high) return;
        ends.low = own.low * perLawUnit;
        ends.high = own.high * perLawUnit;
      });
    }
    verdicts.push(decide(ends, { least: 0, most }).verdict);
    told.push(`${ends.low} to ${ends.high} ${unit}`);
  }
  if (contactToPressureMaxS !== undefined) {
    const low = Math.max(0, pressureOn.earliestMs - contact.latestMs) / 1000;
    const high = Math.max(0, pressureOn.latestMs - contact.earliestMs) / 1000;
    const window = { least: 0, most: contactToPressureMaxS };
    verdicts.push(decide({ low, nominal: low, high }, window).verdict);
    told.push(`${low} to ${high} s`);
  }
  return {
    kind: 'precure',
    coveredBy: 'measured',
    procedure: null,
    verdict: worse(verdicts),
    evidence: told.join(', '),
  };
}

function worse(verdicts: readonly Verdict[]): Verdict {
  if (verdicts.includes('over')) return 'over';
  return verdicts.includes('unproven') ? 'unproven' : 'in-window';
}

/** A rest lasts its days by the calendar, whatever its equivalent days say. */
function restResult(
  input: ScoreInput,
  { calendarLeastMs }: JudgedWindow,
): RequirementResult | null {
  if (calendarLeastMs === null) return null;
  const { pressureOn, releaseStart } = input.marks;
  const now = { earliestMs: input.asOfMs, latestMs: input.asOfMs };
  const end = releaseStart ?? now;
  const rested = {
    low: end.earliestMs - pressureOn.latestMs,
    nominal: (end.earliestMs + end.latestMs - pressureOn.earliestMs - pressureOn.latestMs) / 2,
    high: end.latestMs - pressureOn.earliestMs,
  };
  return {
    kind: 'rest',
    coveredBy: 'measured',
    procedure: null,
    verdict: decide(rested, { least: calendarLeastMs, most: null }).verdict,
    evidence: `${rested.low / 86_400_000} d`,
  };
}

/** All bakes of a coat together against the most it stands; bakes still to come may add to it. */
function totalResult(
  { recipe, coats }: ScoreInput,
  places: readonly JudgedPlace[],
  { unit }: JudgedWindow,
): RequirementResult | null {
  if (recipe.kind !== 'oven' || recipe.window.total?.most === undefined) return null;
  if (places.length === 0) return null;
  const { most } = recipe.window.total;
  const low = Math.min(...places.map((place) => place.low));
  const high = Math.max(...places.map((place) => place.high));
  // The first coat has been through every bake.
  const carriedLow = Math.max(0, ...coats.map((coat) => coat.low));
  const carriedHigh = Math.max(0, ...coats.map((coat) => coat.high));
  const total = { low: carriedLow + low, nominal: carriedLow + low, high: carriedHigh + high };
  return {
    kind: 'total',
    coveredBy: 'measured',
    procedure: null,
    verdict: decide(total, { least: 0, most }).verdict,
    evidence: `${total.low} to ${total.high} ${unit}`,
  };
}
