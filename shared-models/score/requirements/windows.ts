import { createLaw } from '../../cure/create-law.ts';
import { placesOf } from '../coats.ts';
import type {
  CarriedCoat,
  CoatResult,
  JudgedPlace,
  RequirementCheck,
  RequirementResult,
  ScoreInput,
} from '../shape.ts';
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
 * What a coat's other bakes say of it: all bakes of each coat, this one and those under it, against the
 * most it stands, and that none of them missed its own bake. Bakes still to come may add to the sum;
 * nothing that comes heals a missed one.
 *
 * @param results each coat after this bake, by its own law; empty where the recipe names none
 */
export function totalOf(
  input: ScoreInput,
  places: readonly JudgedPlace[],
  { unit }: JudgedWindow,
  results: readonly CoatResult[],
): RequirementResult[] {
  const { recipe, coats } = input;
  if (recipe.kind !== 'oven' || places.length === 0) return [];
  const missed = missedBakes(coats, recipe.window.step.least, unit);
  const byOwn = results.flatMap((coat) => ownTotal(coat) ?? []);
  const { most } = recipe.window.total ?? {};
  const added = most === undefined ? [] : addedTotals(input, places, { least: null, most, unit });
  const checks = [...added, ...byOwn];
  if (checks.length === 0) return missed;
  return [...missed, resultOf('total', checks, mostOf(checks, unit))];
}

/** The coat that has been through most, in this bake's unit where it has one in common. */
function mostOf(checks: readonly RequirementCheck[], unit: string): string {
  const alike = checks.filter((check) => check.unit === unit);
  const shown = alike.length > 0 ? alike : checks;
  const low = Math.max(...shown.map((check) => check.low ?? 0));
  const high = Math.max(...shown.map((check) => check.high ?? 0));
  return `${low} to ${high} ${shown[0].unit}`;
}

function missedBakes(
  coats: readonly CarriedCoat[],
  least: number,
  unit: string,
): RequirementResult[] {
  const missed = coats.filter(({ step }) => step === 'under');
  if (missed.length === 0) return [];
  const checks = missed.map(({ coat, low, high, own }) => ({
    what: `coat ${coat}`,
    least: own?.step.window.least ?? least,
    most: null,
    unit: own === undefined ? unit : createLaw(own.law).unit,
    low: own?.step.low ?? low,
    high: own?.step.high ?? high,
    atMs: null,
    verdict: 'under' as const,
    side: 'short' as const,
  }));
  const names = missed.map(({ coat }) => coat).join(', ');
  return [resultOf('earlier-coat', checks, `coat ${names}: short of its own bake`)];
}

/** All bakes of a coat against its own most; null: nothing is too much for it. */
function ownTotal({ coat, law, states, total, unjudged }: CoatResult): RequirementCheck | null {
  const most = total?.window.most ?? null;
  if (most === null) return null;
  const { unit } = createLaw(law);
  const limits: Limits = { least: null, most, unit };
  const through = placesOf(law, states);
  const low = Math.max(0, ...through.map((place) => place.low));
  const high = Math.max(0, ...through.map((place) => place.high));
  const check = held(`coat ${coat}`, limits, { low, high, atMs: null });
  if (unjudged === undefined || check.verdict === 'over') return check;
  return { ...check, high: null, verdict: 'unproven', side: 'long' };
}

/** Coats of which no more is known than a sum: this bake's own counts on top, by its own law. */
function addedTotals(
  { recipe, coats }: ScoreInput,
  places: readonly JudgedPlace[],
  limits: Limits,
): RequirementCheck[] {
  const here: Known = {
    low: Math.min(...places.map(({ low }) => low)),
    high: Math.max(...places.map(({ high }) => high)),
    atMs: null,
  };
  const numbered = recipe.kind === 'oven' && recipe.coat !== undefined;
  const none = { coat: coats.length + 1, low: 0, high: 0 };
  const sums = [...coats.filter(({ own }) => own === undefined), ...(numbered ? [] : [none])];
  return sums.map(({ coat, low, high }) =>
    held(`coat ${coat}`, limits, { low: low + here.low, high: high + here.high, atMs: null }),
  );
}
