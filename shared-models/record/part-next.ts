import type { PartNext } from '../api/part.ts';
import type { Recipe } from '../plant/recipe-schema.ts';
import type { Verdict } from '../score/shape.ts';
import { waitsForDecision, type Decided, type LoadDecisions } from './decisions.ts';

/** A load that a part was in, as its record stands. */
export interface PartLoad {
  load: string;
  state: 'open' | 'ended' | 'sealed';
  verdict: Verdict;
  endMs: number | null;
  /** Names of its parts; empty: all of the lot. */
  parts: readonly string[];
  decisions: LoadDecisions;
}

const minuteMs = 60_000;

/**
 * What may be done with a part: what people have decided of it comes first, then where it is, then the times
 * that its last recipe asks for.
 *
 * @param loads that it was in, by start; at least one
 * @param recipe of the last of them; null: not known
 */
export function partNext(
  part: string,
  loads: readonly PartLoad[],
  recipe: Recipe | null,
): PartNext | null {
  const last = loads.at(-1);
  if (last === undefined) return null;
  for (const { load, decisions } of loads) {
    if (isAbout(decisions.last, part) && decisions.last.decision === 'scrap') {
      return { what: 'scrapped', load, decided: decisions.last };
    }
  }
  for (const { load, decisions } of loads) {
    if (isAbout(decisions.hold, part)) return { what: 'held', load, decided: decisions.hold };
  }
  if (last.state === 'open') return { what: 'in', load: last.load };
  const { load, verdict, decisions } = last;
  const decided = decisions.last;
  if (isAbout(decided, part)) {
    if (decided.decision === 're-press' || decided.decision === 'rework') {
      return { what: decided.decision, load, decided };
    }
  } else if (waitsForDecision(last) && !decisions.gone.includes(part)) {
    return { what: 'undecided', load, verdict };
  }
  const waits = recipe === null || last.endMs === null ? null : waitOf(recipe, load, last.endMs);
  if (waits !== null) return waits;
  return isAbout(decided, part) ? { what: 'released', load, decided } : { what: 'free', load };
}

function isAbout(decided: Decided | null, part: string): decided is Decided {
  return decided !== null && (decided.parts.length === 0 || decided.parts.includes(part));
}

/** The time that a recipe asks for after its load, until the part goes on. */
function waitOf(recipe: Recipe, load: string, endMs: number): PartNext | null {
  if (recipe.kind === 'oven' && recipe.recoatH !== undefined) {
    const { least, most } = recipe.recoatH;
    const [fromMs, toMs] = [endMs + least * 60 * minuteMs, endMs + most * 60 * minuteMs];
    return { what: 'recoat', load, fromMs, toMs, coat: (recipe.coat ?? 0) + 1 || null };
  }
  for (const requirement of recipe.requirements) {
    if (requirement.kind !== 'rest') continue;
    const { minMin = 0, minD = 0 } = requirement;
    const leastMs = Math.max(minMin * minuteMs, minD * 1440 * minuteMs);
    if (leastMs > 0) {
      return { what: 'rest', load, fromMs: endMs + leastMs, toMs: null, coat: null };
    }
  }
  return null;
}
