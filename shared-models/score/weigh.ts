import type { LawSpec } from '../cure/law-spec.ts';
import { createLaw } from '../cure/create-law.ts';
import { constantsDoubt } from './constants-doubt.ts';
import { doubtsOf, move, unmoved } from './doubts.ts';
import type { Doubt, Moved } from './doubts.ts';
import { stepSecondsOf } from './grid.ts';
import { pieceOf, type Piece } from './piece.ts';
import { Run } from './run.ts';
import type { ScoreInput, Weights } from './shape.ts';
import { plannedStart, type StartRange } from './start.ts';
import { judgedWindow } from './window.ts';

/** The planned cycle is smooth: it is walked in steps five times as long as the load's own. */
const COARSER = 5;

/** A cycle that never reaches its bound ends after so many steps. */
const MOST_STEPS = 5000;

/**
 * Which share of each input's bound moves the low and high runs of each zone.
 *
 *   w = effect / √Σ effect²
 *
 * Each input's effect is found alone, at plus and at minus its bound, on the planned cycle: for the
 * low run at the place that is last to cure, for the high run at the one that is first; at the plan's
 * end, or where the window's bound is reached if they weigh more there: a plan that goes on until its
 * law is spent would hide every doubt. Where none has an effect, all count in full. Found once, when
 * a load opens, and kept with it.
 *
 * @source JCGM 100:2008, 5.1.2 (combination); the weighting is ours
 */
export function planWeights(input: ScoreInput): Weights[] {
  const ofConstants = constantsDoubt(input.recipe, plannedC(input));
  return input.zones.map((zone) => {
    const piece = pieceOf(input, zone);
    if (piece === null) return { zone: zone.id, terms: [] };
    const start = plannedStart(input, piece);
    const doubts = doubtsOf(input, zone, piece, start, ofConstants);
    return { zone: zone.id, terms: weigh(input, piece, start, doubts) };
  });
}

function weigh(
  input: ScoreInput,
  piece: Piece,
  start: StartRange,
  doubts: Doubt[],
): Weights['terms'] {
  const effectsAt = (direction: -1 | 1, until: -1 | 0 | 1) => {
    const nominal = plannedCycle(input, piece, start, unmoved(piece), until);
    const { values, steps } = nominal;
    const decides = direction < 0 ? Math.min(...values) : Math.max(...values);
    const spot = values.indexOf(decides);
    return doubts.map((doubt) => {
      const moved = move(piece, [doubt], () => 1, direction, direction);
      return Math.abs(plannedCycle(input, piece, start, moved, { steps }).values[spot] - decides);
    });
  };
  const effects = (direction: -1 | 1) => {
    const atPlan = effectsAt(direction, 0);
    const atBound = effectsAt(direction, direction);
    return rootSumOfSquares(atBound) > rootSumOfSquares(atPlan) ? atBound : atPlan;
  };
  const down = weightsOf(effects(-1));
  const up = weightsOf(effects(1));
  return doubts.map(({ term }, i) => ({ term, weight: down[i], weightUp: up[i] }));
}

function weightsOf(effects: readonly number[]): number[] {
  const all = rootSumOfSquares(effects);
  return effects.map((effect) => (all > 0 ? effect / all : 1));
}

function rootSumOfSquares(values: readonly number[]): number {
  let squares = 0;
  for (const value of values) squares += value * value;
  return Math.sqrt(squares);
}

/**
 * What the planned cycle earns at each spot, in the law's unit.
 *
 * @param until 0: to the plan's end; −1: until the last place reaches the least before it, 1: until the
 * first reaches the most; or as many steps as such a cycle took
 */
function plannedCycle(
  input: ScoreInput,
  piece: Piece,
  start: StartRange,
  moved: Moved,
  until: -1 | 0 | 1 | { steps: number },
): { values: number[]; steps: number } {
  const faceC = plannedC(input);
  const face = { upperC: faceC, lowerC: faceC };
  const law = createLaw(input.recipe.law);
  const stepMs = stepSecondsOf(input.station.kind) * COARSER * 1000;
  const run = new Run(
    {
      piece,
      law,
      lawFactor: moved.lawFactor,
      order: 1,
      variation: { ...moved, openFaceLoses: false },
      shiftK: moved.shiftK,
      initialC: start.nominalC + moved.startShiftK,
      coldToolC: start.nominalC,
      waterShare: moved.waterShare,
      credit: { heatFromMs: 0, pressureMs: 0, fromMs: 0, toMs: Infinity },
    },
    face,
  );
  const { window, perLawUnit } = judgedWindow(input.recipe, law.unit);
  const mostSteps = typeof until === 'object' ? until.steps : plannedSteps(input, stepMs);
  const values = () => piece.spots.map((_spot, index) => run.value(index));
  let taken = 0;
  while (taken < mostSteps) {
    const unplanned = until === 0 && input.recipe.plannedMin === undefined;
    if ((until === -1 || unplanned) && Math.min(...values()) * perLawUnit >= window.least) break;
    const { most } = window;
    if (until === 1 && most !== null && Math.max(...values()) * perLawUnit >= most) break;
    run.step(taken * stepMs, (taken + 1) * stepMs, face, face, null);
    taken += 1;
  }
  return { values: values(), steps: taken };
}

function plannedSteps({ recipe }: ScoreInput, stepMs: number): number {
  const { plannedMin } = recipe;
  if (plannedMin === undefined) return MOST_STEPS;
  return Math.min(MOST_STEPS, Math.max(1, Math.ceil((plannedMin * 60_000) / stepMs)));
}

/** Temperature the plan holds [°C]: the recipe's limits, else its law's own reference. */
export function plannedC({ recipe, station }: ScoreInput): number {
  const limits = recipe.limits ?? [];
  for (const phase of ['hold', 'before-load'] as const) {
    const limit = limits.find((candidate) => candidate.phase === phase);
    if (limit !== undefined && 'minC' in limit) return 0.5 * (limit.minC + limit.maxC);
  }
  return Math.min(referenceOf(recipe.law) ?? station.supplyMaxC, station.supplyMaxC);
}

/** Middle of the range the law's source vouches for, else its reference. */
function referenceOf(law: LawSpec): number | null {
  if (law.validC !== undefined) return 0.5 * (law.validC[0] + law.validC[1]);
  return 'referenceC' in law ? law.referenceC : null;
}
