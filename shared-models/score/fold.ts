import { pieceOf, type Piece } from './body.ts';
import { doubtsOf, move, startRange, unmoved, type Doubt, type Moved } from './doubts.ts';
import { facePath, ratesOf, type FacePath } from './envelope.ts';
import { gridTimes, stepSecondsOf } from './grid.ts';
import { runLaws, type RunLaws } from './laws.ts';
import { gapsOf, pointHistory, type PointHistory } from './point-history.ts';
import type { RawReading } from './readings.ts';
import { Run } from './run.ts';
import type { BudgetTerm, CureInterval, Gap, ScoredZone, ScoreInput } from './shape.ts';
import { planWeights } from './weigh.ts';

/** Faces of a zone at the grid times: low, nominal, high. */
export interface ZonePaths {
  upper: FacePath;
  lower: FacePath;
}

/** A zone with its five runs, as far as the grid goes. */
export interface ZoneFold {
  zone: ScoredZone;
  piece: Piece;
  paths: ZonePaths;
  doubts: Doubt[];
  weightOf: (term: BudgetTerm) => number;
  nominal: Run;
  lows: Run[];
  highs: Run[];
  ceilingC: number;
}

/** All that the readings up to now say of a load. */
export interface LoadFold {
  gridMs: Float64Array;
  /** Null where nothing can be judged: the recipe has no lay-up for the zone. */
  zones: (ZoneFold | null)[];
  histories: Map<string, PointHistory>;
  gaps: Gap[];
}

/** Called after each grid step of a zone, for pictures. */
export type Watch = (zone: ZoneFold, gridIndex: number) => void;

/**
 * Folds a load's readings into the runs of its zones, from its start to its end, or to `asOfMs`.
 *
 * @param readings sorted by point and time
 * @param gapless true: paths without the widening of gaps, to price them
 */
export function foldLoad(
  input: ScoreInput,
  readings: readonly RawReading[],
  watch: Watch | null = null,
  gapless = false,
): LoadFold {
  const endMs = input.endMs ?? input.asOfMs;
  const gridMs = gridTimes(input.startMs, endMs, stepSecondsOf(input.station.kind));
  const histories = historiesOf(input, readings, endMs);
  const laws = runLaws(input.recipe.law);
  const weights = input.weights ?? planWeights(input);
  const zones = input.zones.map((zone, index) => {
    const piece = pieceOf(input, zone.id);
    if (piece === null) return null;
    const paths = zonePaths(input, zone, histories, gridMs, gapless);
    const terms = weights[index]?.terms ?? [];
    const fold = openZone(input, zone, piece, paths, laws, terms, histories);
    for (let i = 1; i < gridMs.length; i += 1) {
      stepZone(fold, gridMs, i);
      watch?.(fold, i);
    }
    return fold;
  });
  const ended = input.endMs !== null;
  const gaps = [...histories].flatMap(([point, history]) =>
    gapsOf(point, history, input.startMs, endMs, ended),
  );
  return { gridMs, zones, histories, gaps };
}

/** Points of the load's zones, each once, in plant order. */
export function pointsOf(input: ScoreInput): string[] {
  const points = input.zones.flatMap(({ upper, lower, air }) => [upper, lower, air]);
  return [...new Set(points.filter((point) => point !== null))];
}

function historiesOf(
  input: ScoreInput,
  readings: readonly RawReading[],
  endMs: number,
): Map<string, PointHistory> {
  const byPoint = new Map<string, RawReading[]>(pointsOf(input).map((point) => [point, []]));
  for (const reading of readings) byPoint.get(reading.point)?.push(reading);
  // A reading after the end still brackets the last segment.
  const untilMs = input.endMs === null ? endMs : Math.max(endMs, input.asOfMs);
  return new Map(
    [...byPoint].map(([point, own]) => {
      const sensor = input.sensors[point];
      if (sensor === undefined) throw new RangeError(`input names no sensor for point ${point}`);
      return [point, pointHistory(own, sensor, untilMs)];
    }),
  );
}

function zonePaths(
  input: ScoreInput,
  zone: ScoredZone,
  histories: Map<string, PointHistory>,
  gridMs: Float64Array,
  gapless: boolean,
): ZonePaths {
  const pathOf = (point: string | null): FacePath | null => {
    const history = point === null ? undefined : histories.get(point);
    const sensor = point === null ? undefined : input.sensors[point];
    if (history === undefined || sensor === undefined) return null;
    const path = facePath(history, ratesOf(input, sensor), gridMs);
    return gapless ? { low: path.nominal, nominal: path.nominal, high: path.nominal } : path;
  };
  const upper = pathOf(zone.air) ?? pathOf(zone.upper);
  const lower = pathOf(zone.air) ?? pathOf(zone.lower);
  const unknown = upper ?? lower;
  if (unknown === null) throw new RangeError(`zone ${zone.id} has no point`);
  return { upper: upper ?? unknown, lower: lower ?? unknown };
}

function openZone(
  input: ScoreInput,
  zone: ScoredZone,
  piece: Piece,
  paths: ZonePaths,
  laws: RunLaws,
  terms: { term: BudgetTerm; weight: number }[],
  histories: Map<string, PointHistory>,
): ZoneFold {
  const { initialC } = piece;
  const startPoint =
    initialC !== null && typeof initialC === 'object' && 'point' in initialC
      ? histories.get(initialC.point)
      : undefined;
  const airC = piece.initialC === null ? paths.upper.nominal[0] : null;
  const start = startRange(initialC, airC, startPoint?.valuesC[0] ?? null);
  const doubts = doubtsOf(input, zone, piece, start);
  const weightOf = (term: BudgetTerm) => terms.find((row) => row.term === term)?.weight ?? 0;
  const { pressureOn, releaseStart } = input.marks;
  const open = (law: RunLaws['low'], order: 1 | 2, moved: Moved, fromMs: number, toMs: number) =>
    new Run({
      piece,
      law,
      lawFactor: moved.lawFactor,
      order,
      variation: moved,
      shiftK: moved.shiftK,
      initialC: start.nominalC + moved.startShiftK,
      creditFromMs: fromMs,
      creditToMs: toMs,
    });
  const middleMs = (mark: { earliestMs: number; latestMs: number } | null) =>
    mark === null ? Infinity : 0.5 * (mark.earliestMs + mark.latestMs);
  const both = (direction: -1 | 1) =>
    ([-1, 1] as const).map((flow) =>
      direction < 0
        ? open(
            laws.low,
            1,
            move(doubts, weightOf, -1, flow),
            pressureOn.latestMs,
            releaseStart?.earliestMs ?? Infinity,
          )
        : open(
            laws.high,
            1,
            move(doubts, weightOf, 1, flow),
            pressureOn.earliestMs,
            releaseStart?.latestMs ?? Infinity,
          ),
    );
  return {
    zone,
    piece,
    paths,
    doubts,
    weightOf,
    nominal: open(laws.nominal, 2, unmoved, middleMs(pressureOn), middleMs(releaseStart)),
    lows: both(-1),
    highs: both(1),
    ceilingC: laws.ceilingC,
  };
}

/** High first: where it passes the ceiling, low earns nothing. */
function stepZone(fold: ZoneFold, gridMs: Float64Array, i: number): void {
  const { upper, lower } = fold.paths;
  const go = (run: Run, path: 'low' | 'nominal' | 'high', barred: Uint8Array | null) =>
    run.step(
      gridMs[i - 1],
      gridMs[i],
      upper[path][i - 1],
      upper[path][i],
      lower[path][i - 1],
      lower[path][i],
      barred,
    );
  let barred: Uint8Array | null = null;
  if (fold.ceilingC < Infinity) barred = new Uint8Array(fold.piece.spots.length);
  for (const run of fold.highs) {
    go(run, 'high', null);
    for (let s = 0; barred !== null && s < barred.length; s += 1) {
      if (run.spotC(s) > fold.ceilingC) barred[s] = 1;
    }
  }
  for (const run of fold.lows) go(run, 'low', barred);
  go(fold.nominal, 'nominal', null);
}

/** Interval of a spot, in the law's unit. */
export function intervalOf(fold: ZoneFold, spot: number): CureInterval {
  const nominal = fold.nominal.value(spot);
  let low = nominal;
  let high = nominal;
  for (const run of fold.lows) low = Math.min(low, run.value(spot));
  for (const run of fold.highs) high = Math.max(high, run.value(spot));
  return { low, nominal, high };
}
