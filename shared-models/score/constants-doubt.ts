import { createLaw } from '../cure/create-law.ts';
import { lawDoubt } from '../cure/law-doubt.ts';
import type { Recipe } from '../plant/recipe-schema.ts';
import { judgedWindow } from './window.ts';

/** How long a plan without an end is looked at, where its least is never reached [s]. */
const UNPLANNED_S = 3600;

/**
 * Expanded doubt (k = 2) of a recipe's law by the errors of its constants, as a share of its rate: at
 * the planned temperature, over the planned time, or until the least is reached where that is sooner.
 * Beyond the least a degree of cure nears its end, and no rate can tell its doubt any more.
 *
 * @param heldC the temperature that the plan holds [°C]
 * @returns at most 1: the low run then earns nothing
 */
export function constantsDoubt(recipe: Recipe, heldC: number): number {
  const { law: spec, plannedMin } = recipe;
  if (spec.standardErrors === undefined && spec.covariance === undefined) return 0;
  const law = createLaw(spec);
  const { window, perLawUnit } = judgedWindow(recipe, law.unit);
  const toLeastS = law.secondsToReach(law.initial, window.least / perLawUnit, heldC);
  const plannedS = plannedMin === undefined ? Infinity : plannedMin * 60;
  const soonerS = Math.min(toLeastS, plannedS);
  const durationS = soonerS > 0 && soonerS < Infinity ? soonerS : UNPLANNED_S;
  return Math.min(1, lawDoubt(spec, heldC, durationS).ofRate);
}
