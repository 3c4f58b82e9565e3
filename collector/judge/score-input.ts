import {
  measuresTemperature,
  type Plant,
  type Station,
  type Zone,
} from '@setwell/shared-models/plant/plant';
import { withSurveyedPlace } from '@setwell/shared-models/condition/surveyed-place';
import type { Recipe } from '@setwell/shared-models/plant/recipe-schema';
import type { LoadOpened } from '@setwell/shared-models/record/bodies';
import { scoredPoint, standIns, type PointFacts } from '@setwell/shared-models/score/scored-point';
import {
  scoredSignals,
  scoredStation,
  scoredZones,
} from '@setwell/shared-models/score/scored-station';
import type { Marks, ScoredSensor, ScoreInput } from '@setwell/shared-models/score/shape';
import { START_READ_MS, startPointsOf } from '@setwell/shared-models/score/start';
import type { FittedPlant } from './fittings.ts';

/** The points whose silence hurts the verdict: those of the load's zones, in plant order. */
export function neededPoints(plant: Plant, opened: LoadOpened): string[] {
  const points = zonesOfLoad(plant, opened)
    .flatMap(({ upper, lower, air }) => [upper, lower, air])
    .filter((point) => point !== null);
  const { beltSpeed } = stationOf(plant, opened.station);
  return [...new Set(beltSpeed === undefined ? points : [...points, beltSpeed])];
}

/** Readings from before the load that its record keeps: the phase before [ms]. */
const before = 10 * 60_000;

/** From when to when a point's readings take part in a load [ms]. */
export interface ReadSpan {
  fromMs: number;
  toMs: number;
}

/**
 * Points that take part in a load: those of its zones, those that stand in for one of them, those of its
 * requirements beside heat, and those that measure its start temperature.
 */
export function readSpans(
  plant: FittedPlant,
  opened: LoadOpened,
  recipe: Recipe | null,
): Map<string, ReadSpan> {
  const startMs = opened.marks.pressureOn.earliestMs;
  const spans = new Map<string, ReadSpan>();
  const load = { readFromMs: startMs - before, startMs, endMs: Infinity };
  for (const point of neededPoints(plant, opened)) {
    for (const source of [point, ...standIns(point, plant.fittings.acts, load)]) {
      spans.set(source, { fromMs: startMs - before, toMs: Infinity });
    }
  }
  if (recipe === null) return spans;
  const signals = scoredSignals(stationOf(plant, opened.station), plant.sensors, recipe);
  for (const point of Object.keys(signals)) {
    spans.set(point, { fromMs: startMs - before, toMs: Infinity });
  }
  for (const point of startPointsOf(recipe, opened.zones)) {
    const sensor = plant.sensors.get(point);
    // No such thermometer is a finding of the plant's check; the start then is unknown.
    if (!sensor || !measuresTemperature(sensor)) continue;
    const toMs = spans.has(point) ? Infinity : startMs;
    spans.set(point, { fromMs: startMs - START_READ_MS, toMs });
  }
  return spans;
}

/** All that is known of a load that nobody can judge: no recipe was named. */
export type UnjudgedInput = Omit<ScoreInput, 'recipe'> & { recipe: null };

/** All that a verdict follows from beside the readings, by value. */
export function scoreInput(
  plant: FittedPlant,
  opened: LoadOpened,
  recipe: Recipe,
  marks: Marks,
  endMs: number | null,
  asOfMs: number,
): ScoreInput {
  const scored = opened.place ? withSurveyedPlace(recipe, opened.place.placeK) : recipe;
  return { ...inputOf(plant, opened, recipe, marks, endMs, asOfMs), recipe: scored };
}

/** The same of a load without a recipe. */
export function unjudgedInput(
  plant: FittedPlant,
  opened: LoadOpened,
  marks: Marks,
  endMs: number | null,
  asOfMs: number,
): UnjudgedInput {
  return { ...inputOf(plant, opened, null, marks, endMs, asOfMs), recipe: null };
}

function inputOf(
  plant: FittedPlant,
  opened: LoadOpened,
  recipe: Recipe | null,
  marks: Marks,
  endMs: number | null,
  asOfMs: number,
): Omit<ScoreInput, 'recipe'> {
  const station = stationOf(plant, opened.station);
  const startMs = opened.marks.pressureOn.earliestMs;
  const sensors: Record<string, ScoredSensor> = {};
  const signals = scoredSignals(station, plant.sensors, recipe);
  const facts: PointFacts = {
    plant,
    acts: plant.fittings.acts,
    fittings: plant.fittings.of(plant),
    hottestC: station.supplyMaxC,
  };
  const ofZones = neededPoints(plant, opened);
  const ofStart = recipe === null ? [] : startPointsOf(recipe, opened.zones);
  for (const point of new Set([...ofZones, ...ofStart])) {
    const readFromMs = startMs - (ofZones.includes(point) ? before : START_READ_MS);
    const sensor = scoredPoint(point, facts, { readFromMs, startMs, endMs: endMs ?? Infinity });
    // A belt's speed is no temperature; a start point that is none is a finding of the plant's check.
    if (sensor === null) continue;
    const noiseK = plant.sensors.get(point)?.noiseK ?? opened.noiseK?.[point];
    sensors[point] = { ...sensor, ...(noiseK === undefined ? {} : { noiseK }) };
  }
  return {
    format: 1,
    load: opened.load,
    station: scoredStation(plant.fittings.limits.at(station, startMs)),
    zones: scoredZones(zonesOfLoad(plant, opened), station, plant.sensors, recipe),
    startMs,
    endMs,
    asOfMs,
    marks,
    plannedEndMs: opened.plannedEndMs,
    sensors,
    ...(Object.keys(signals).length === 0 ? {} : { signals }),
    readingsSha256: '',
    coats: [],
    weights: opened.weights,
    ...(opened.carried === undefined ? {} : { carried: opened.carried }),
  };
}

function zonesOfLoad(plant: Plant, { station, opening, zones }: LoadOpened): Zone[] {
  const { zones: all, beltSpeed } = stationOf(plant, station);
  // A belt brings its parts through all of its zones, whichever a load names.
  return all.filter(
    (zone) => zone.opening === opening && (beltSpeed !== undefined || zones.includes(zone.id)),
  );
}

export function stationOf(plant: Plant, id: string): Station {
  const station = plant.stations.find((candidate) => candidate.id === id);
  // The plant of a load is the one it was opened with, so that this is a bug.
  if (!station) throw new Error(`no station ${id} in the plant`);
  return station;
}
