import type { Recipe, WindowBounds } from '../plant/recipe-schema.ts';
import type { MeasureUnit } from '../cure/law.ts';
import type { CureInterval, Side, Verdict, Window } from './shape.ts';

/** Margins closer than this share of the least are equal: the first zone, the lowest glue line decides. */
export const EQUAL_MARGIN_SHARE = 1e-6;

const MIN_PER_DAY = 1440;

/** The window a load of the recipe is held against, and how a law's value becomes its unit. */
export interface JudgedWindow {
  window: Window;
  unit: MeasureUnit;
  /** Multiplies the law's value. */
  perLawUnit: number;
  /** A rest has to last so long by the calendar as well [ms]; null where there is no such condition. */
  calendarLeastMs: number | null;
}

export function judgedWindow(recipe: Recipe, lawUnit: MeasureUnit): JudgedWindow {
  if (recipe.kind === 'store') {
    const { rest } = recipe.window;
    return {
      window: { least: rest.equivalentLeastD, most: null },
      unit: 'd',
      perLawUnit: 1 / MIN_PER_DAY,
      calendarLeastMs: rest.calendarLeastD * 86_400_000,
    };
  }
  const bounds: WindowBounds = recipe.kind === 'oven' ? recipe.window.step : recipe.window;
  return {
    window: { least: bounds.least, most: bounds.most ?? null },
    unit: lawUnit,
    perLawUnit: 1,
    calendarLeastMs: null,
  };
}

/** Guarded acceptance: the interval is guarded once, here. @source JCGM 106:2012, 8.3 */
export function decide(
  { low, high }: CureInterval,
  { least, most }: Window,
): {
  verdict: Verdict;
  side: Side | null;
} {
  if (low >= least && (most === null || high <= most)) return { verdict: 'in-window', side: null };
  if (high < least) return { verdict: 'under', side: 'short' };
  if (most !== null && low > most) return { verdict: 'over', side: 'long' };
  const short = low < least;
  const long = most !== null && high > most;
  return { verdict: 'unproven', side: short && long ? 'both' : short ? 'short' : 'long' };
}

/** How far inside the window the nearer end is; negative outside. */
export function marginOf({ low, high }: CureInterval, { least, most }: Window): number {
  return most === null ? low - least : Math.min(low - least, most - high);
}

/** In-window if all are, else under if any is, else over if any is, else unproven. */
export function worstVerdict(verdicts: readonly Verdict[]): Verdict {
  if (verdicts.length === 0) return 'unproven';
  if (verdicts.every((verdict) => verdict === 'in-window')) return 'in-window';
  if (verdicts.includes('under')) return 'under';
  if (verdicts.includes('over')) return 'over';
  return 'unproven';
}
