import type { InitialC } from '../plant/recipe-schema.ts';
import type { Piece } from './body.ts';
import type { BudgetTerm, ScoredZone, ScoreInput } from './shape.ts';

/** An input that does not average out over a load, with its expanded bound (k = 2). */
export interface Doubt {
  term: BudgetTerm;
  /** In the unit of what it moves: K, or a share of 1. */
  bound: number;
}

/** A half-width a counts as an expanded uncertainty of 2a/√3. @source JCGM 100:2008, 4.3.7 */
const EXPANDED_PER_HALF_WIDTH = 2 / Math.sqrt(3);

/** Start temperature of a piece nobody measured [°C]; wide on purpose. Common practice, no source. */
const UNKNOWN_START_C = { least: 10, most: 30 };

export interface StartRange {
  nominalC: number;
  halfWidthK: number;
}

/** @param measuredC what the recipe's start point read at the load's start; null: nothing */
export function startRange(
  initialC: InitialC | null,
  airC: number | null,
  measuredC: number | null,
): StartRange {
  if (typeof initialC === 'number') return { nominalC: initialC, halfWidthK: 0 };
  if (initialC === null && airC !== null) return { nominalC: airC, halfWidthK: 0 };
  if (measuredC !== null) return { nominalC: measuredC, halfWidthK: 0 };
  const range = initialC !== null && 'least' in initialC ? initialC : UNKNOWN_START_C;
  return {
    nominalC: 0.5 * (range.least + range.most),
    halfWidthK: 0.5 * (range.most - range.least),
  };
}

/** Bounds of all inputs at a zone, in a fixed order; those of zero add nothing and are left out. */
export function doubtsOf(
  input: ScoreInput,
  zone: ScoredZone,
  piece: Piece,
  start: StartRange,
): Doubt[] {
  const { tolerance } = piece;
  let sensorK = 0;
  for (const point of [zone.upper, zone.lower, zone.air]) {
    // Calibrations of one zone's faces count as common: the same reference, the same day.
    if (point !== null) sensorK = Math.max(sensorK, input.sensors[point]?.expandedK ?? 0);
  }
  const doubts: Doubt[] = [
    { term: 'sensor', bound: sensorK },
    { term: 'place', bound: (tolerance.placeK ?? 0) * EXPANDED_PER_HALF_WIDTH },
    {
      term: 'diffusivity',
      bound: ((tolerance.diffusivityPct ?? 0) / 100) * EXPANDED_PER_HALF_WIDTH,
    },
    { term: 'contact', bound: ((tolerance.contactPct ?? 0) / 100) * EXPANDED_PER_HALF_WIDTH },
    { term: 'law', bound: ((tolerance.lawPct ?? 0) / 100) * EXPANDED_PER_HALF_WIDTH },
    { term: 'initial', bound: start.halfWidthK * EXPANDED_PER_HALF_WIDTH },
  ];
  return doubts.filter(({ bound }) => bound > 0);
}

/** What a set of moved inputs does to a run. */
export interface Moved {
  shiftK: number;
  diffusivity: number;
  contact: number;
  lawFactor: number;
  startShiftK: number;
}

export const unmoved: Moved = {
  shiftK: 0,
  diffusivity: 1,
  contact: 1,
  lawFactor: 1,
  startShiftK: 0,
};

/** Smallest factor a share may become: a board conducts however poor it is. */
const LEAST_FACTOR = 0.05;

/**
 * Moves every input by its share of its bound.
 *
 * @param direction −1 towards less cure, +1 towards more
 * @param flow sign for inputs whose effect turns with the direction of heat flow
 */
export function move(
  doubts: readonly Doubt[],
  shareOf: (term: BudgetTerm) => number,
  direction: -1 | 1,
  flow: -1 | 1,
): Moved {
  const moved = { ...unmoved };
  for (const { term, bound } of doubts) {
    const by = shareOf(term) * bound;
    if (term === 'sensor' || term === 'place') moved.shiftK += direction * by;
    else if (term === 'diffusivity') moved.diffusivity = Math.max(LEAST_FACTOR, 1 + flow * by);
    else if (term === 'contact') moved.contact = Math.max(LEAST_FACTOR, 1 + flow * by);
    else if (term === 'law') moved.lawFactor = Math.max(0, 1 + direction * by);
    else if (term === 'initial') moved.startShiftK = direction * by;
  }
  return moved;
}
