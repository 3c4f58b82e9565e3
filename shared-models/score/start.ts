import type { InitialC, Recipe } from '../plant/recipe-schema.ts';
import { EXPANDED_PER_HALF_WIDTH } from './doubts.ts';
import { widestOf } from './fitted-span.ts';
import { gridStartMs } from './marks.ts';
import type { Piece } from './piece.ts';
import type { PointHistory } from './point-history.ts';
import type { ScoredSensor, ScoreInput } from './shape.ts';

/** Older readings of a start point say nothing of a piece any more [ms]. */
export const START_READ_MS = 3_600_000;

/** A start point is stale when it has not spoken for so long before the load [ms]. */
const STALE_MS = 10 * 60_000;

/** Pieces, and the air where they wait, change no faster [K/min]. Common practice, no source. */
const WAITING_K_PER_MIN = 0.2;

/** Warmest a piece from a hall is, where nobody measured it [°C]. Common practice, no source. */
const WARM_HALL_C = 30;

/**
 * Start temperature of a piece [°C]. What a start point's silence leaves open lies between `lowC` and
 * `highC` and counts whole, as any gap does; `expandedK` (k = 2) is an input's doubt like the others.
 */
export interface StartRange {
  lowC: number;
  nominalC: number;
  highC: number;
  expandedK: number;
  /** The point that measures it; null where none does. */
  point: string | null;
  /** Age of its last reading at the start [ms]; null where it has read nothing that counts. */
  ageMs: number | null;
}

/** Points that measure the start temperature of the pieces in the zones, each once. */
export function startPointsOf(recipe: Recipe, zones: readonly string[]): string[] {
  const points = initialsOf(recipe, zones).flatMap((initialC) =>
    typeof initialC === 'object' && 'point' in initialC ? [initialC.point] : [],
  );
  return [...new Set(points)];
}

function initialsOf(recipe: Recipe, zones: readonly string[]): (InitialC | undefined)[] {
  if (recipe.kind === 'oven' && recipe.places !== undefined) {
    return recipe.places.map(({ part }) => part.initialC);
  }
  if (recipe.kind !== 'press') return [recipe.part?.initialC];
  return zones.map((zone) => {
    const place = recipe.places?.find((each) => each.zones.includes(zone));
    return (place?.layup ?? recipe.layup)?.initialC;
  });
}

/** The start as a plan sees it: a start point speaks in time, so that its instrument is all its doubt. */
export function plannedStart(input: ScoreInput, { initialC }: Piece): StartRange {
  const hall = hallRange(input.station.surroundingsMinC);
  if (typeof initialC === 'number') return known(initialC, 0);
  if (initialC === null) return known(hall.middleC, hall.halfK * EXPANDED_PER_HALF_WIDTH);
  if ('least' in initialC) {
    const halfK = 0.5 * (initialC.most - initialC.least);
    return known(0.5 * (initialC.least + initialC.most), halfK * EXPANDED_PER_HALF_WIDTH);
  }
  const sensor = input.sensors[initialC.point];
  if (sensor === undefined) return known(hall.middleC, hall.halfK * EXPANDED_PER_HALF_WIDTH);
  return { ...known(hall.middleC, widestOf(sensor).expandedK), point: initialC.point };
}

/** The start as the readings up to it say. */
export function measuredStart(
  input: ScoreInput,
  piece: Piece,
  histories: ReadonlyMap<string, PointHistory>,
): StartRange {
  const planned = plannedStart(input, piece);
  const { point } = planned;
  const sensor = point === null ? undefined : input.sensors[point];
  const history = point === null ? undefined : histories.get(point);
  if (sensor === undefined || history === undefined) return planned;
  return { ...planned, ...readAt(gridStartMs(input), history, sensor, planned.nominalC) };
}

/**
 * What a point's readings before a time leave open at that time: each bounds it by how fast a waiting
 * piece can change, so that an older reading leaves more open, and none leaves all that is plausible.
 */
function readAt(
  startMs: number,
  { timesMs, valuesC }: PointHistory,
  { plausible, resolutionK, noiseK }: ScoredSensor,
  unreadC: number,
): Pick<StartRange, 'lowC' | 'nominalC' | 'highC' | 'ageMs'> {
  let lowC = plausible.minC;
  let highC = plausible.maxC;
  let nominalC = unreadC;
  let ageMs: number | null = null;
  timesMs.forEach((t, i) => {
    if (t > startMs || startMs - t > START_READ_MS) return;
    ageMs = startMs - t;
    nominalC = valuesC[i];
    const openK = 2 * resolutionK + 3 * (noiseK ?? 0) + (WAITING_K_PER_MIN * ageMs) / 60_000;
    lowC = Math.max(lowC, nominalC - openK);
    highC = Math.min(highC, nominalC + openK);
  });
  // Readings further apart than a piece can change bound it between them.
  if (lowC > highC) [lowC, highC] = [highC, lowC];
  return { lowC, nominalC: Math.min(highC, Math.max(lowC, nominalC)), highC, ageMs };
}

/** Whether a measured start has to be told of: nobody spoke in time. */
export function isStale({ point, ageMs }: StartRange): boolean {
  return point !== null && ageMs !== null && ageMs > STALE_MS;
}

function known(nominalC: number, expandedK: number): StartRange {
  return { lowC: nominalC, nominalC, highC: nominalC, expandedK, point: null, ageMs: null };
}

function hallRange(coldestC: number): { middleC: number; halfK: number } {
  const leastC = Math.min(coldestC, WARM_HALL_C);
  return { middleC: 0.5 * (leastC + WARM_HALL_C), halfK: 0.5 * (WARM_HALL_C - leastC) };
}
