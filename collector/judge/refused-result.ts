import type { Recipe } from '@setwell/shared-models/plant/recipe-schema';
import type { ScoreResult } from '@setwell/shared-models/score/shape';

/** All that such a result takes from a recipe. */
type Windowed = Pick<Recipe, 'window'>;

/** Result of a load that was opened without a recipe. @param readings how many were taken */
export function withoutRecipe(readings: number): ScoreResult {
  return refusedResult(null, 'recipe', 'no recipe was named', readings);
}

/** Result of a load on which the model threw. @param because what it threw, in words */
export function faultedResult(recipe: Windowed, because: string, readings: number): ScoreResult {
  return refusedResult(recipe, 'load', because, readings);
}

/** Nothing could be judged, and why. */
function refusedResult(
  recipe: Windowed | null,
  what: string,
  because: string,
  readings: number,
): ScoreResult {
  return {
    format: 1,
    state: 'ended',
    verdict: 'unproven',
    side: 'both',
    measure: 'equivalent-time',
    unit: 'min',
    window: recipe === null ? { least: 0, most: null } : windowOf(recipe),
    worst: null,
    places: [],
    repress: null,
    requirements: [],
    deviations: null,
    budget: [],
    quality: { readings, doubtful: 0, conflicts: 0, duplicates: 0, gaps: [], silent: [] },
    reasons: [{ code: 'refused', what, because }],
  };
}

function windowOf({ window }: Windowed): ScoreResult['window'] {
  if ('least' in window) return { least: window.least, most: window.most ?? null };
  if ('step' in window) return { least: window.step.least, most: window.step.most ?? null };
  return { least: window.rest.equivalentLeastD, most: null };
}
