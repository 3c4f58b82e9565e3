import { widestOf } from './fitted-span.ts';
import { followsAir, type Piece } from './piece.ts';
import type { BudgetTerm, ScoredZone, ScoreInput, Weights } from './shape.ts';
import type { StartRange } from './start.ts';

/** An input that does not average out over a load, with its expanded bound (k = 2). */
export interface Doubt {
  term: BudgetTerm;
  /** In the unit of what it moves: K, or a share of 1. */
  bound: number;
}

/** A half-width a counts as an expanded uncertainty of 2a/√3. @source JCGM 100:2008, 4.3.7 */
export const EXPANDED_PER_HALF_WIDTH = 2 / Math.sqrt(3);

/**
 * Bounds of all inputs at a zone, in a fixed order; those of zero add nothing and are left out.
 *
 * @param ofConstants expanded doubt of the law by its constants' own errors, a share of 1
 */
export function doubtsOf(
  input: ScoreInput,
  zone: ScoredZone,
  piece: Piece,
  start: StartRange,
  ofConstants: number,
): Doubt[] {
  const { tolerance, wet } = piece;
  let sensorK = 0;
  const airs = zone.belt?.zones.map((each) => each.air) ?? [];
  for (const point of [zone.upper, zone.lower, zone.air, ...airs]) {
    // Calibrations of one zone's faces count as common: the same reference, the same day.
    const sensor = point === null ? undefined : input.sensors[point];
    if (sensor !== undefined) sensorK = Math.max(sensorK, widestOf(sensor).expandedK);
  }
  const ofPct = (pct: number | undefined) => ((pct ?? 0) / 100) * EXPANDED_PER_HALF_WIDTH;
  const ofLaw = ofPct(tolerance.lawPct);
  const waterShare = wet === null ? 0 : 0.5 * (wet.mostShare - wet.leastShare);
  const doubts: Doubt[] = [
    { term: 'sensor', bound: sensorK },
    { term: 'place', bound: (tolerance.placeK ?? 0) * EXPANDED_PER_HALF_WIDTH },
    { term: 'diffusivity', bound: ofPct(tolerance.diffusivityPct) },
    { term: 'contact', bound: ofPct(tolerance.contactPct) },
    { term: 'law', bound: Math.sqrt(ofLaw * ofLaw + ofConstants * ofConstants) },
    { term: 'water', bound: waterShare * EXPANDED_PER_HALF_WIDTH },
    { term: 'initial', bound: followsAir(piece) ? 0 : start.expandedK },
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
  waterShare: number;
}

/** Nothing moved: the recipe as it says. */
export function unmoved({ wet }: Piece): Moved {
  return {
    shiftK: 0,
    diffusivity: 1,
    contact: 1,
    lawFactor: 1,
    startShiftK: 0,
    waterShare: wet === null ? 0 : 0.5 * (wet.leastShare + wet.mostShare),
  };
}

/** Smallest factor a share may become: a board conducts however poor it is. */
const LEAST_FACTOR = 0.05;

/**
 * Moves every input by its share of its bound.
 *
 * @param direction −1 towards less cure, +1 towards more
 * @param flow sign for inputs whose effect turns with the direction of heat flow
 */
export function move(
  piece: Piece,
  doubts: readonly Doubt[],
  shareOf: (term: BudgetTerm) => number,
  direction: -1 | 1,
  flow: -1 | 1,
): Moved {
  const moved = unmoved(piece);
  for (const { term, bound } of doubts) {
    const by = shareOf(term) * bound;
    if (term === 'sensor' || term === 'place') moved.shiftK += direction * by;
    else if (term === 'diffusivity') moved.diffusivity = Math.max(LEAST_FACTOR, 1 + flow * by);
    else if (term === 'contact') moved.contact = Math.max(LEAST_FACTOR, 1 + flow * by);
    else if (term === 'law') moved.lawFactor = Math.max(0, 1 + direction * by);
    else if (term === 'water') moved.waterShare -= direction * by;
    else if (term === 'initial') moved.startShiftK = direction * by;
  }
  return moved;
}

/** A term's weight in the low run (−1) or the high one. */
export function weightOf(terms: Weights['terms'], term: BudgetTerm, direction: -1 | 1): number {
  const row = terms.find((each) => each.term === term);
  if (row === undefined) return 0;
  return direction < 0 ? row.weight : (row.weightUp ?? row.weight);
}
