import type { PartNext } from '../api/part.ts';
import type { Recipe } from '../plant/recipe-schema.ts';
import type { Verdict } from '../score/shape.ts';
import type { Decision } from './bodies.ts';
import { waitsForDecision, type Decided, type LoadDecisions } from './decisions.ts';

/** A load that a part was in, as its record stands. */
export interface PartLoad {
  load: string;
  state: 'open' | 'ended' | 'sealed';
  verdict: Verdict;
  startMs: number;
  endMs: number | null;
  /** Of the part alone: `decisionsOfPart`. */
  decisions: LoadDecisions;
}

const minuteMs = 60_000;

/**
 * What may be done with a part: what people have decided of it comes first, then where it is, then what nobody
 * has decided of any of its loads, then the times that its last recipe asks for.
 *
 * @param loads that it was in, by start; at least one
 * @param recipe of the last of them; null: not known
 */
export function partNext(loads: readonly PartLoad[], recipe: Recipe | null): PartNext | null {
  const last = loads.at(-1);
  if (last === undefined) return null;
  const decided = loads.flatMap(({ load, decisions }) =>
    decisions.last === null ? [] : [{ load, decided: decisions.last }],
  );
  const scrapped = decided.find((each) => each.decided.decision === 'scrap');
  if (scrapped !== undefined) return { what: 'scrapped', ...scrapped };
  for (const { load, decisions } of loads) {
    if (decisions.hold !== null) return { what: 'held', load, decided: decisions.hold };
  }
  if (last.state === 'open') return { what: 'in', load: last.load };
  // Nothing later heals a missed bake, and what waits for a second person counts as undecided.
  const waiting = loads.find((load) => load.decisions.waiting !== null || waitsForDecision(load));
  if (waiting !== undefined) {
    return { what: 'undecided', load: waiting.load, verdict: waiting.verdict };
  }
  const again = decided.filter((each) => isStillToDo(each.decided, loads)).at(-1);
  if (again !== undefined) return { what: again.decided.decision as Again, ...again };
  const waits =
    recipe === null || last.endMs === null ? null : waitOf(recipe, last.load, last.endMs);
  if (waits !== null) return waits;
  const released = decided.filter((each) => letsGo.includes(each.decided.decision)).at(-1);
  return released === undefined
    ? { what: 'free', load: last.load }
    : { what: 'released', ...released };
}

type Again = 're-press' | 'rework';

/** After these a part may be used. */
const letsGo: readonly Decision[] = ['release', 'concession'];

/** It goes back, and has not been in a station since. */
function isStillToDo({ decision, atMs }: Decided, loads: readonly PartLoad[]): boolean {
  const goesBack = decision === 're-press' || decision === 'rework';
  return goesBack && loads.every(({ startMs }) => startMs <= atMs);
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
