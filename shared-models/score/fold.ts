import { constantsDoubt } from './constants-doubt.ts';
import { readingsFor } from './fitted-span.ts';
import { gridOf, gridTimeMs, stepSecondsOf, type Grid } from './grid.ts';
import { runLaws } from './laws.ts';
import { gridEndMs, gridStartMs } from './marks.ts';
import { gapsOf, heartbeatInTimeMs, pointHistory, type PointHistory } from './point-history.ts';
import { byPointOf, type RawReading } from './readings.ts';
import type { Gap, ScoreInput } from './shape.ts';
import { plannedC, planWeights } from './weigh.ts';
import { facesAt, openZone, stepZone, type ZoneRuns } from './zone-runs.ts';

/** All that the readings up to now say of a load. */
export interface LoadFold {
  grid: Grid;
  /** Null where nothing can be judged: the recipe has no lay-up for the zone. */
  zones: (ZoneRuns | null)[];
  histories: ReadonlyMap<string, PointHistory>;
  gaps: Gap[];
}

/** Called at the grid's start and after each step of a zone, for pictures. */
export type Watch = (zone: ZoneRuns, steps: number) => void;

/** Called with each zone before its first step: what was there before the load. */
export type Begin = (zone: ZoneRuns) => void;

/**
 * Folds a load's readings into the runs of its zones, from its start to its end, or to `asOfMs`.
 *
 * @param readings sorted by point and time
 */
export function foldLoad(
  input: ScoreInput,
  readings: readonly RawReading[],
  watch: Watch | null = null,
  begin: Begin | null = null,
): LoadFold {
  const histories = historiesOf(input, readings);
  const grid = gridOfLoad(input);
  const zones = runZones(input, histories, grid, watch, begin);
  return { grid, zones, histories, gaps: gapsIn(input, histories) };
}

/** The runs of a load's zones, from their first step to the grid's last. */
export function runZones(
  input: ScoreInput,
  histories: ReadonlyMap<string, PointHistory>,
  grid: Grid,
  watch: Watch | null,
  begin: Begin | null,
): (ZoneRuns | null)[] {
  const zones = openZones(input, histories);
  for (const zone of zones) {
    if (zone === null) continue;
    begin?.(zone);
    watch?.(zone, 0);
    let faces = facesAt(zone, gridTimeMs(grid, 0));
    for (let steps = 1; steps <= grid.steps; steps += 1) {
      const [fromMs, toMs] = [gridTimeMs(grid, steps - 1), gridTimeMs(grid, steps)];
      faces = stepZone(zone, fromMs, toMs, faces);
      watch?.(zone, steps);
    }
  }
  return zones;
}

/** Whether no temperature was read at all. */
export function isUnread({ signals }: ScoreInput, { histories }: LoadFold): boolean {
  return [...histories].every(
    ([point, { timesMs }]) => timesMs.length === 0 || signals?.[point] !== undefined,
  );
}

export function gridOfLoad(input: ScoreInput): Grid {
  return gridOf(gridStartMs(input), gridEndMs(input), stepSecondsOf(input.station.kind));
}

/** The zones of a load before their first step. */
export function openZones(
  input: ScoreInput,
  histories: ReadonlyMap<string, PointHistory>,
): (ZoneRuns | null)[] {
  const laws = runLaws(input.recipe.law, constantsDoubt(input.recipe, plannedC(input)));
  const weights = input.weights ?? planWeights(input);
  return input.zones.map((zone) => {
    const terms = weights.find((each) => each.zone === zone.id)?.terms ?? [];
    return openZone(input, zone, histories, laws, terms, gridStartMs(input));
  });
}

/** Points of the load's zones, each once, in plant order. */
export function pointsOf(input: ScoreInput): string[] {
  const points = input.zones.flatMap(({ upper, lower, air, belt }) => [
    ...[upper, lower, air],
    ...(belt === undefined ? [] : [...belt.zones.map((zone) => zone.air), belt.speed]),
  ]);
  return [...new Set(points.filter((point) => point !== null))];
}

/** The zones' points and, behind them, all others the input knows: start temperatures, signals. */
function scoredPoints(input: ScoreInput): string[] {
  const others = [...Object.keys(input.sensors), ...Object.keys(input.signals ?? {})].sort();
  return [...new Set([...pointsOf(input), ...others])];
}

/** @throws RangeError for a zone's point without a sensor */
export function historiesOf(
  input: ScoreInput,
  readings: readonly RawReading[],
): Map<string, PointHistory> {
  const byPoint = byPointOf(readings);
  // A reading after the end still brackets the last segment.
  const untilMs = Math.max(gridEndMs(input), input.asOfMs);
  return new Map(
    scoredPoints(input).map((point) => {
      const signal = input.signals?.[point];
      if (signal !== undefined) {
        return [point, pointHistory(byPoint.get(point) ?? [], signal, untilMs)];
      }
      const sensor = input.sensors[point];
      if (sensor === undefined) throw new RangeError(`input names no sensor for point ${point}`);
      return [point, pointHistory(readingsFor(point, sensor, byPoint), sensor, untilMs)];
    }),
  );
}

export function gapsIn(input: ScoreInput, histories: ReadonlyMap<string, PointHistory>): Gap[] {
  const endMs = input.endMs ?? input.asOfMs;
  return pointsOf(input).flatMap((point) => {
    const history = histories.get(point);
    if (history === undefined) return [];
    const aliveMs = heartbeatInTimeMs(input.sensors[point]?.onChange);
    return gapsOf(point, history, [gridStartMs(input), endMs], input.endMs !== null, aliveMs);
  });
}
