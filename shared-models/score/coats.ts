import { createLaw } from '../cure/create-law.ts';
import type { LawSpec } from '../cure/law-spec.ts';
import { canonicalJson } from '../record/canonical.ts';
import { foldLoad, isUnread, runZones, type LoadFold } from './fold.ts';
import { parseReadings } from './readings.ts';
import { isRefused } from './reasons.ts';
import type { Run } from './run.ts';
import type { CarriedCoat, CoatResult, CoatState, CureInterval, JudgedSum } from './shape.ts';
import type { ScoreInput, Window } from './shape.ts';
import { decide, marginOf, worstVerdict } from './window.ts';
import { isBlind, type ZoneRuns } from './zone-runs.ts';

/** One bake of a coated part: the input and the readings of its record. */
export interface Bake {
  input: ScoreInput;
  readingsCsv: string;
  /** Nobody could follow its heat, or not yet: what it did to a coat is not known. */
  unjudged?: boolean;
}

/**
 * What each coat of a part has been through, over all its bakes; lowest first.
 *
 * Every coat's sum is computed whole, by its own law, from the readings of every bake since it was
 * laid: never from the bakes' results, because for a kinetic law order and state matter. A coat
 * without its own bake stays short, whatever came later.
 *
 * @param bakes of one part, in any order; what their inputs carry counts for nothing
 */
export function scoreCoats(bakes: readonly Bake[]): CoatResult[] {
  const inOrder = [...bakes].sort(({ input: a }, { input: b }) =>
    a.startMs === b.startMs ? (a.load < b.load ? -1 : 1) : a.startMs - b.startMs,
  );
  let coats: CoatResult[] = [];
  for (const { input, readingsCsv, unjudged = false } of inOrder) {
    if (coatOf(input) === null) continue;
    const carrying: ScoreInput = { ...input, coats: carriedTo(input, coats) };
    coats = unjudged
      ? passedOn(carrying)
      : coatsAfter(carrying, foldLoad(carrying, parseReadings(readingsCsv)));
  }
  return coats;
}

/**
 * What a load carries of a part's earlier bakes: each coat under its own as it stands, and those that
 * were never baked.
 *
 * @param coats after the last bake before it
 */
export function carriedTo(input: ScoreInput, coats: readonly CoatResult[]): CarriedCoat[] {
  const own = coatOf(input) ?? 0;
  const known = new Map(coats.map((coat) => [coat.coat, coat]));
  const highest = Math.max(own - 1, ...known.keys());
  return Array.from({ length: highest }, (_, i) => {
    const coat = known.get(i + 1);
    return coat === undefined ? carriedOf(neverBaked(i + 1, input)) : carriedOf(coat);
  });
}

function carriedOf(own: CoatResult): CarriedCoat {
  const { coat, sum, step, endMs } = own;
  const end = endMs === null ? {} : { endMs };
  return { coat, ...sum, ...end, step: step.verdict, own };
}

/** The coat that a load bakes for the first time; null: its recipe names none. */
export function coatOf({ recipe }: ScoreInput): number | null {
  return recipe.kind === 'oven' ? (recipe.coat ?? null) : null;
}

/** Each coat that a load has baked, its own last, after its bake or as if that ended now. */
export function coatsAfter(input: ScoreInput, fold: LoadFold): CoatResult[] {
  const coat = coatOf(input);
  if (coat === null) return [];
  if (isRefused(input) || fold.zones.includes(null) || isUnread(input, fold))
    return passedOn(input);
  const bake = new BakeOfCoats(input, fold);
  const carried = ownCoats(input).map((own) => bake.goesOn(own));
  const laid = carried.some((each) => each.coat === coat && each.load !== null);
  return laid ? carried : withOwn(carried, bake.own(coat));
}

/** With the coat that is laid now; one of its number that was never baked has come to its bake. */
function withOwn(carried: readonly CoatResult[], own: CoatResult): CoatResult[] {
  const others = carried.filter(({ coat }) => coat !== own.coat);
  return [...others, own].sort((a, b) => a.coat - b.coat);
}

function ownCoats({ coats }: ScoreInput): CoatResult[] {
  return coats.flatMap(({ own }) => own ?? []);
}

/** Coats after a bake of which nothing is known: they have had its heat, and nobody knows how much. */
function passedOn(input: ScoreInput): CoatResult[] {
  const coat = coatOf(input);
  const { load, endMs, asOfMs } = input;
  const marked = (before: CoatResult): CoatResult => {
    const total = before.total && doubted(before.total);
    return {
      ...before,
      ...{ total, verdict: verdictOf(before.step, total), endMs: endMs ?? asOfMs },
      unjudged: [...(before.unjudged ?? []), load],
    };
  };
  const carried = ownCoats(input).map(marked);
  if (coat === null || carried.some((each) => each.coat === coat && each.load !== null)) {
    return carried;
  }
  const laid = neverBaked(coat, input);
  const step = doubted({ ...laid.step, verdict: 'in-window', side: null });
  const own = marked({ ...laid, load, step });
  return withOwn(carried, own);
}

/** A sum that may be greater than what is known of it; certainly over stays over. */
function doubted(sum: JudgedSum): JudgedSum {
  return sum.verdict === 'over' ? sum : { ...sum, verdict: 'unproven', side: 'both' };
}

function neverBaked(coat: number, { recipe }: ScoreInput): CoatResult {
  const { step, total } = windowsOf(recipe);
  const none: CureInterval = { low: 0, nominal: 0, high: 0 };
  const judged = judgedSum([none], step);
  const judgedTotal = total && judgedSum([none], total);
  return {
    ...{ coat, load: null, endMs: null, law: recipe.law, states: [], sum: none },
    ...{ step: judged, total: judgedTotal, verdict: verdictOf(judged, judgedTotal) },
  };
}

function windowsOf(recipe: ScoreInput['recipe']): { step: Window; total: Window | null } {
  if (recipe.kind !== 'oven') throw new RangeError(`${recipe.id} bakes no coat`);
  const { step, total } = recipe.window;
  return {
    step: { least: step.least, most: step.most ?? null },
    total: total === undefined ? null : { least: total.least, most: total.most ?? null },
  };
}

/** Laws whose state is a plain sum: a bake adds what it would have given by itself. */
const additive = ['equivalent-time', 'degree-time', 'z-value', 'dose'];

/** One load's heat, as each coat's own law counts it. */
class BakeOfCoats {
  readonly #input: ScoreInput;
  readonly #fold: LoadFold;
  readonly #ofLaw: Map<string, readonly ZoneRuns[]>;

  constructor(input: ScoreInput, fold: LoadFold) {
    this.#input = input;
    this.#fold = fold;
    const zones = fold.zones.filter((zone) => zone !== null);
    this.#ofLaw = new Map([[canonicalJson(input.recipe.law), zones]]);
  }

  /** The coat of this load, by its first bake. */
  own(coat: number): CoatResult {
    const { load, recipe, endMs, asOfMs } = this.#input;
    const { step, total } = windowsOf(recipe);
    const zones = this.#runs(recipe.law);
    const states = statesOf(zones, (run, spot) => run.earned[spot]);
    const places = placesOf(recipe.law, states);
    const proven = judgedSum(places, step);
    const isSeen = proven.verdict !== 'in-window' || !zones.some(isBlind);
    const judged: JudgedSum = isSeen ? proven : { ...proven, verdict: 'unproven', side: 'both' };
    const judgedTotal = total && judgedSum(places, total);
    return {
      ...{ coat, load, endMs: endMs ?? asOfMs, law: recipe.law, states },
      ...{ sum: judgedTotal ? intervalOf(judgedTotal) : lowest(places), step: judged },
      ...{ total: judgedTotal, verdict: verdictOf(judged, judgedTotal) },
    };
  }

  /** An earlier coat, with this bake's heat on top. */
  goesOn(before: CoatResult): CoatResult {
    const { law } = before;
    const states =
      'form' in law && additive.includes(law.form) ? this.#added(before) : this.#continued(before);
    const places = placesOf(law, states);
    const { endMs, asOfMs } = this.#input;
    const window = before.total?.window ?? null;
    const summed = window && judgedSum(places, window);
    const total = summed && before.unjudged !== undefined ? doubted(summed) : summed;
    return {
      ...before,
      ...{ states, total, sum: summed ? intervalOf(summed) : lowest(places) },
      ...{ endMs: endMs ?? asOfMs, verdict: verdictOf(before.step, total) },
    };
  }

  #added({ law, states }: CoatResult): CoatState[] {
    const { initial } = createLaw(law);
    const from = startOf(states, initial);
    return statesOf(this.#runs(law), (run, spot, zone, which, i) => {
      const earned = run.earned[spot] - initial;
      return from(zone, spot, which, i) + earned;
    });
  }

  #continued({ law, states }: CoatResult): CoatState[] {
    const from = startOf(states, createLaw(law).initial);
    const zones = this.#folded(law, (zone) => {
      statesOf([zone], (run, spot, id, which, i) => (run.earned[spot] = from(id, spot, which, i)));
    });
    return statesOf(zones, (run, spot) => run.earned[spot]);
  }

  #runs(law: LawSpec): readonly ZoneRuns[] {
    const key = canonicalJson(law);
    const known = this.#ofLaw.get(key) ?? this.#folded(law, null);
    this.#ofLaw.set(key, known);
    return known;
  }

  #folded(law: LawSpec, begin: ((zone: ZoneRuns) => void) | null): ZoneRuns[] {
    const input: ScoreInput = { ...this.#input, recipe: { ...this.#input.recipe, law } };
    const zones = runZones(input, this.#fold.histories, this.#fold.grid, null, begin);
    return zones.filter((zone) => zone !== null);
  }
}

type Which = 'lows' | 'nominal' | 'highs';

/** A number of each run at each spot. */
function statesOf(
  zones: readonly ZoneRuns[],
  of: (run: Run, spot: number, zone: string, which: Which, index: number) => number,
): CoatState[] {
  return zones.flatMap(({ zone, piece, lows, nominal, highs }) =>
    piece.spots.map((_, spot) => ({
      zone: zone.id,
      spot,
      lows: lows.map((run, i) => of(run, spot, zone.id, 'lows', i)),
      nominal: of(nominal, spot, zone.id, 'nominal', 0),
      highs: highs.map((run, i) => of(run, spot, zone.id, 'highs', i)),
    })),
  );
}

/** Where a run of a place goes on from; where it was last time nobody knows by place, the worst of all. */
function startOf(states: readonly CoatState[], initial: number) {
  return (zone: string, spot: number, which: Which, index: number): number => {
    if (states.length === 0) return initial;
    const here = states.find((each) => each.zone === zone && each.spot === spot);
    if (which === 'nominal')
      return here?.nominal ?? Math.min(...states.map((each) => each.nominal));
    const end = here?.[which][index];
    if (end !== undefined) return end;
    const all = states.flatMap((each) => each[which]);
    return which === 'lows' ? Math.min(...all) : Math.max(...all);
  };
}

/** What each place of a coat has been through, in the law's unit. */
export function placesOf(law: LawSpec, states: readonly CoatState[]): CureInterval[] {
  const { value } = createLaw(law);
  return states.map(({ lows, nominal, highs }) => ({
    low: Math.min(value(nominal), ...lows.map(value)),
    nominal: value(nominal),
    high: Math.max(value(nominal), ...highs.map(value)),
  }));
}

function judgedSum(places: readonly CureInterval[], window: Window): JudgedSum {
  let worst = places[0];
  for (const place of places) if (marginOf(place, window) < marginOf(worst, window)) worst = place;
  const verdict = worstVerdict(places.map((place) => decide(place, window).verdict));
  return { ...worst, window, verdict, side: decide(worst, window).side };
}

function intervalOf({ low, nominal, high }: JudgedSum): CureInterval {
  return { low, nominal, high };
}

function lowest(places: readonly CureInterval[]): CureInterval {
  return intervalOf(judgedSum(places, { least: 0, most: null }));
}

function verdictOf(step: JudgedSum, total: JudgedSum | null): CoatResult['verdict'] {
  return worstVerdict([step.verdict, ...(total === null ? [] : [total.verdict])]);
}
