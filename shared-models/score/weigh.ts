import { createLaw } from '../cure/create-law.ts';
import type { LawSpec } from '../cure/law-spec.ts';
import { pieceOf, type Piece } from './body.ts';
import {
  doubtsOf,
  move,
  startRange,
  unmoved,
  type Doubt,
  type Moved,
  type StartRange,
} from './doubts.ts';
import { gridTimes, stepSecondsOf } from './grid.ts';
import { Run } from './run.ts';
import type { ScoreInput, Weights } from './shape.ts';

/** The planned cycle is smooth: it is walked in steps five times as long as the load's own. */
const COARSER = 5;

/** Length of the planned cycle where a recipe plans none [min]; common practice, no source. */
const PLAN_MIN = 60;

/**
 * Which share of each input's bound moves the low and high runs of each zone.
 *
 *   w = effect / √Σ effect²
 *
 * Each input's effect is found alone, at plus and at minus its bound, on the planned cycle at the
 * place that decides there. Found once, when a load opens, and kept with it.
 *
 * @source JCGM 100:2008 (combination); the weighting is ours
 */
export function planWeights(input: ScoreInput): Weights[] {
  return input.zones.map((zone) => {
    const piece = pieceOf(input, zone.id);
    if (piece === null) return { zone: zone.id, terms: [] };
    const start = startRange(piece.initialC, plannedC(input), null);
    return {
      zone: zone.id,
      terms: weigh(input, piece, start, doubtsOf(input, zone, piece, start)),
    };
  });
}

function weigh(
  input: ScoreInput,
  piece: Piece,
  start: StartRange,
  doubts: Doubt[],
): Weights['terms'] {
  const nominal = plannedValues(input, piece, start, unmoved);
  let decides = 0;
  nominal.forEach((value, spot) => {
    if (value < nominal[decides]) decides = spot;
  });
  const effects = doubts.map((doubt) => {
    const alone = (direction: -1 | 1) =>
      plannedValues(
        input,
        piece,
        start,
        move([doubt], () => 1, direction, direction),
      )[decides];
    return Math.max(Math.abs(alone(1) - nominal[decides]), Math.abs(alone(-1) - nominal[decides]));
  });
  let squares = 0;
  for (const effect of effects) squares += effect * effect;
  const all = Math.sqrt(squares);
  return doubts.map(({ term }, index) => ({ term, weight: all > 0 ? effects[index] / all : 0 }));
}

/** What the planned cycle earns at each spot, in the law's unit. */
function plannedValues(input: ScoreInput, piece: Piece, start: StartRange, moved: Moved): number[] {
  const faceC = plannedC(input);
  const planMs = (input.recipe.plannedMin ?? PLAN_MIN) * 60_000;
  const grid = gridTimes(0, planMs, stepSecondsOf(input.station.kind) * COARSER);
  const run = new Run({
    piece,
    law: createLaw(input.recipe.law),
    lawFactor: moved.lawFactor,
    order: 1,
    variation: moved,
    shiftK: moved.shiftK,
    initialC: start.nominalC + moved.startShiftK,
    creditFromMs: 0,
    creditToMs: Infinity,
  });
  for (let i = 1; i < grid.length; i += 1) {
    run.step(grid[i - 1], grid[i], faceC, faceC, faceC, faceC, null);
  }
  return piece.spots.map((_spot, index) => run.value(index));
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

function referenceOf(law: LawSpec): number | null {
  return 'referenceC' in law ? law.referenceC : null;
}
