import type { CarriedCoat, JudgedPlace, RequirementResult, ScoreInput } from '../shape.ts';
import type { JudgedWindow } from '../window.ts';
import { worstVerdict } from '../window.ts';
import { held, type Known, type Limits } from './check.ts';
import { between, endMark, inUnitOf } from './evidence.ts';

const MS_PER_D = 86_400_000;

function resultOf(
  kind: string,
  checks: RequirementResult['checks'],
  evidence: string,
): RequirementResult {
  const verdict = worstVerdict(checks.map((check) => check.verdict));
  const side = checks.find((check) => check.verdict === verdict)?.side ?? null;
  return {
    kind,
    coveredBy: 'measured',
    procedure: null,
    verdict,
    side,
    checks,
    deviations: [],
    evidence,
  };
}

/** A rest lasts its days by the calendar, whatever its equivalent days say. */
export function restOf(
  input: ScoreInput,
  { calendarLeastMs }: JudgedWindow,
): RequirementResult | null {
  if (calendarLeastMs === null) return null;
  const end = endMark(input);
  const rested = inUnitOf(between(input.marks.pressureOn, end), MS_PER_D);
  const limits: Limits = { least: calendarLeastMs / MS_PER_D, most: null, unit: 'd' };
  return resultOf('rest', [held('calendar', limits, rested)], `${rested.low} d`);
}

/**
 * What a coat's other bakes say of it: all bakes of each coat under this one together against the most
 * it stands, and that none of them missed its own bake. Bakes still to come may add to the sum; nothing
 * that comes heals a missed one.
 */
export function totalOf(
  { recipe, coats }: ScoreInput,
  places: readonly JudgedPlace[],
  { unit }: JudgedWindow,
): RequirementResult[] {
  if (recipe.kind !== 'oven' || places.length === 0) return [];
  const results: RequirementResult[] = [];
  const missed = coats.filter(({ step }) => step === 'under');
  if (missed.length > 0) {
    const checks = missed.map(({ coat, low, high }) => ({
      what: `coat ${coat}`,
      least: recipe.window.step.least,
      most: null,
      unit,
      low,
      high,
      atMs: null,
      verdict: 'under' as const,
      side: 'short' as const,
    }));
    const names = missed.map(({ coat }) => coat).join(', ');
    results.push(resultOf('earlier-coat', checks, `coat ${names}: short of its own bake`));
  }
  const most = recipe.window.total?.most;
  if (most === undefined) return results;
  const here: Known = {
    low: Math.min(...places.map(({ low }) => low)),
    high: Math.max(...places.map(({ high }) => high)),
    atMs: null,
  };
  const limits: Limits = { least: null, most, unit };
  const none: CarriedCoat = { coat: recipe.coat ?? coats.length + 1, low: 0, nominal: 0, high: 0 };
  const checks = [...coats, none].map(({ coat, low, high }) =>
    held(`coat ${coat}`, limits, { low: low + here.low, high: high + here.high, atMs: null }),
  );
  const low = Math.max(...checks.map((check) => check.low ?? 0));
  const high = Math.max(...checks.map((check) => check.high ?? 0));
  results.push(resultOf('total', checks, `${low} to ${high} ${unit}`));
  return results;
}
