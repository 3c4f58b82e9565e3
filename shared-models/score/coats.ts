import { foldLoad } from './fold.ts';
import { parseReadings } from './readings.ts';
import type { CureInterval, ScoreInput, Side, Verdict, Window } from './shape.ts';
import { decide, marginOf, worstVerdict } from './window.ts';
import { intervalOf, type ZoneRuns } from './zone-runs.ts';
import type { Run } from './run.ts';

/** One bake of a coated part: the input and the readings of its record. */
export interface Bake {
  input: ScoreInput;
  readingsCsv: string;
}

/** An interval with what a window says of it. */
export interface JudgedSum extends CureInterval {
  window: Window;
  verdict: Verdict;
  side: Side | null;
}

/** What a coat has been through. */
export interface CoatResult {
  /** Numbered from the first. */
  coat: number;
  /** The load of its own bake; null: it never had one. */
  load: string | null;
  /** Its own bake. */
  step: JudgedSum;
  /** All bakes since it was laid; null: its recipe has no such window. */
  total: JudgedSum | null;
  verdict: Verdict;
}

/**
 * What each coat of a part has been through, over all its bakes.
 *
 * Every coat's sum is computed whole, by its own law, from the readings of every bake since it was
 * laid: never from the bakes' results, because for a kinetic law order and state matter. A coat
 * without its own bake stays short, whatever came later.
 *
 * @param bakes of one part, in any order
 */
export function scoreCoats(bakes: readonly Bake[]): CoatResult[] {
  const inOrder = [...bakes].sort((a, b) => a.input.startMs - b.input.startMs);
  const baked = inOrder.flatMap(({ input }) => coatOf(input) ?? []);
  const last = Math.max(0, ...baked);
  return Array.from({ length: last }, (_, i) => coatResult(i + 1, inOrder));
}

function coatOf({ recipe }: ScoreInput): number | null {
  return recipe.kind === 'oven' ? (recipe.coat ?? null) : null;
}

function coatResult(coat: number, bakes: readonly Bake[]): CoatResult {
  const own = bakes.findIndex(({ input }) => coatOf(input) === coat);
  // One that was never baked was laid before the next that was.
  const from = own >= 0 ? own : bakes.findIndex(({ input }) => (coatOf(input) ?? 0) > coat);
  const { recipe } = bakes[from].input;
  if (recipe.kind !== 'oven') throw new RangeError(`coat ${coat} was not baked in an oven`);
  const { step: stepBounds, total: totalBounds } = recipe.window;
  const stepWindow: Window = { least: stepBounds.least, most: stepBounds.most ?? null };
  const none: CureInterval[] = [{ low: 0, nominal: 0, high: 0 }];
  let states: States | null = null;
  let step = none;
  let total = none;
  bakes.slice(from).forEach((bake, index) => {
    const through = bakeThrough(bake, recipe.law, states);
    states = through.states;
    total = through.places;
    if (own >= 0 && index === 0) step = through.places;
  });
  const judgedStep = worstOf(step, stepWindow);
  const judgedTotal =
    totalBounds === undefined
      ? null
      : worstOf(total, { least: totalBounds.least, most: totalBounds.most ?? null });
  return {
    coat,
    load: own >= 0 ? bakes[own].input.load : null,
    step: judgedStep,
    total: judgedTotal,
    verdict: worstVerdict([
      judgedStep.verdict,
      ...(judgedTotal === null ? [] : [judgedTotal.verdict]),
    ]),
  };
}

/** State of a coat's law in each run, by place: low runs, nominal, high runs. */
type States = Map<string, { lows: number[]; nominal: number; highs: number[] }>;

/** Goes on with a coat's law through one more bake. */
function bakeThrough(
  { input, readingsCsv }: Bake,
  law: ScoreInput['recipe']['law'],
  before: States | null,
): { places: CureInterval[]; states: States } {
  const ofCoat: ScoreInput = { ...input, recipe: { ...input.recipe, law } };
  const begin = (zone: ZoneRuns) => {
    if (before === null) return;
    zone.piece.spots.forEach((_spot, spot) => {
      const state = before.get(placeOf(zone, spot)) ?? worstState(before);
      const set = (run: Run, value: number) => (run.earned[spot] = value);
      zone.lows.forEach((run, i) => set(run, state.lows[i]));
      set(zone.nominal, state.nominal);
      zone.highs.forEach((run, i) => set(run, state.highs[i]));
    });
  };
  const fold = foldLoad(ofCoat, parseReadings(readingsCsv), null, begin);
  const places: CureInterval[] = [];
  const states: States = new Map();
  for (const zone of fold.zones) {
    if (zone === null) continue;
    zone.piece.spots.forEach((_spot, spot) => {
      places.push(intervalOf(zone, spot));
      const state = (run: Run) => run.earned[spot];
      states.set(placeOf(zone, spot), {
        lows: zone.lows.map(state),
        nominal: state(zone.nominal),
        highs: zone.highs.map(state),
      });
    });
  }
  return { places, states };
}

function placeOf({ zone }: ZoneRuns, spot: number): string {
  return `${zone.id} ${spot}`;
}

/** Where it was last time nobody knows by place: least and most of all of them. */
function worstState(states: States): { lows: number[]; nominal: number; highs: number[] } {
  const all = [...states.values()];
  const least = Math.min(...all.flatMap(({ lows }) => lows));
  const most = Math.max(...all.flatMap(({ highs }) => highs));
  return {
    lows: all[0].lows.map(() => least),
    nominal: Math.min(...all.map(({ nominal }) => nominal)),
    highs: all[0].highs.map(() => most),
  };
}

function worstOf(places: readonly CureInterval[], window: Window): JudgedSum {
  let worst = places[0];
  for (const place of places) if (marginOf(place, window) < marginOf(worst, window)) worst = place;
  const verdict = worstVerdict(places.map((place) => decide(place, window).verdict));
  return { ...worst, window, verdict, side: decide(worst, window).side };
}
