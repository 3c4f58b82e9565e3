import { dayOfDate } from '@setwell/shared-models/metrology/calendar-day';
import { misfit } from '@setwell/shared-models/plant/misfit';
import { measuresTemperature } from '@setwell/shared-models/plant/plant';
import type { Plant, Station, Zone } from '@setwell/shared-models/plant/plant';
import type { Sensor } from '@setwell/shared-models/plant/plant-schema';
import { nearestName } from '@setwell/shared-models/plant/nearest-name';
import { readPlant } from '@setwell/shared-models/plant/read-plant';
import type { Recipe } from '@setwell/shared-models/plant/recipe-schema';
import { scoredSensor } from '@setwell/shared-models/score/scored-sensor';
import {
  scoredSignals,
  scoredStation,
  scoredZones,
  zoneOfPlace,
  zonesOfPlaces,
} from '@setwell/shared-models/score/scored-station';
import type {
  ScoredSensor,
  ScoredSignal,
  ScoredZone,
  ScoreInput,
} from '@setwell/shared-models/score/shape';
import { startPointsOf } from '@setwell/shared-models/score/start';
import { CommandProblem } from '../problem.ts';
import { readOwnFile } from './own-file.ts';

/** A station as a load of a file is scored on it. */
export interface ScoredStation {
  station: ScoreInput['station'];
  zones: ScoredZone[];
  /** Point of each column a file may have; a point may have several names. */
  columns: Map<string, string>;
  /** What is read beside temperatures: a belt's speed. */
  signals: Record<string, ScoredSignal>;
  /** @param day that the certificates count as of; null: each as on its own day */
  sensors(day: number | null): Record<string, ScoredSensor>;
}

/** Zones of a station's opening that a load is in; null: all of them. */
export function zonesNamed(zones: ScoredZone[], names: string[] | null): ScoredZone[] {
  if (names === null) return zones;
  // A zone of several places is asked for by its own name.
  const ids = zones.map(({ id }) => zoneOfPlace(id));
  const unknown = names.find((name) => !ids.includes(name));
  if (unknown === undefined) return zones.filter((_zone, i) => names.includes(ids[i] ?? ''));
  throw new CommandProblem({
    code: 'unknown-zone',
    field: '--zones',
    found: JSON.stringify(unknown),
    expected: `of ${[...new Set(ids)].join(', ')}`,
  });
}

/** Whose zones: a named opening's; the only one's; the first one's, where they are alike. */
export type OpeningAsked = { id: string } | 'only' | 'first';

/** Limits of a station nobody describes; they stand in the command's contract. */
const UNDESCRIBED = {
  maxHeatingKPerMin: 12,
  maxCoolingKPerMin: 6,
  loadingDropKPerMin: null,
  supplyMaxC: 300,
  surroundingsMinC: -20,
};

/** Steeper than this is no temperature of a platen, an oven or a room: a wire, or a wrong row. */
const STEEPEST_KPerMin = 600;

/** Columns of a file that knows no points. */
const faceColumns = { upper: 'upper_c', lower: 'lower_c', air: 'air_c' } as const;

/**
 * A station for a file without a plant: one zone, `only`, read from upper_c and lower_c or from air_c.
 *
 * @param expandedK of every reading, k = 2
 * @throws CommandProblem for a dose: the file's columns are temperatures
 */
export function stationWithout(recipe: Recipe, expandedK: number): ScoredStation {
  const { kind } = recipe;
  const wrong = misfit(recipe, { kind, heating: 'conduction' });
  if (wrong !== null) throw new CommandProblem({ code: 'no-dose', field: '--recipe', ...wrong });
  const faces = kind === 'press' ? (['upper', 'lower'] as const) : (['air'] as const);
  const sensor: ScoredSensor = {
    signal: 'celsius',
    corrections: [],
    expandedK,
    resolutionK: 0,
    plausible: { minC: -20, maxC: 300, maxRateKPerMin: STEEPEST_KPerMin },
    calibratedC: null,
  };
  const zone: ScoredZone = { id: 'only', upper: null, lower: null, air: null };
  for (const face of faces) zone[face] = face;
  return {
    station: { id: 'file', kind, heating: 'conduction', ...UNDESCRIBED },
    zones: zonesOfPlaces([zone], recipe),
    signals: {},
    columns: new Map(faces.map((face) => [faceColumns[face], face])),
    sensors: () => Object.fromEntries(faces.map((face) => [face, sensor])),
  };
}

/**
 * A station of a plant, its points as columns; a station of one zone also takes upper_c, lower_c, air_c.
 *
 * @throws CommandProblem for an unknown station or opening, or a station that the recipe is none for
 */
export function stationOfPlant(
  file: string,
  id: string,
  recipe: Recipe,
  opening: OpeningAsked,
): ScoredStation {
  const plant = readOwnFile(file, readPlant, 'a plant');
  const station = stationNamed(plant, file, id);
  const wrong = misfit(recipe, station);
  if (wrong !== null) {
    throw new CommandProblem({ code: 'other-kind', field: '--station', ...wrong });
  }
  const own = zonesIn(station, opening);
  const signals = scoredSignals(station, plant.sensors, recipe);
  const points = new Set(own.flatMap(({ upper, lower, air }) => [upper, lower, air]));
  for (const point of Object.keys(signals)) points.add(point);
  const starts = startPointsOf(
    recipe,
    own.map((zone) => zone.id),
  );
  for (const point of starts) if (plant.sensors.has(point)) points.add(point);
  points.delete(null);
  // A logger's file has the other openings' platens too.
  const everywhere = station.zones.flatMap(({ upper, lower, air }) => [upper, lower, air]);
  const columns = new Map(
    [...points, ...everywhere].flatMap((point) => (point === null ? [] : [[point, point]])),
  );
  const [only, ...others] = own;
  if (only !== undefined && others.length === 0) {
    for (const face of ['upper', 'lower', 'air'] as const) {
      const point = only[face];
      if (point !== null) columns.set(faceColumns[face], point);
    }
  }
  return {
    station: scoredStation(station),
    zones: scoredZones(own, station, plant.sensors, recipe),
    columns,
    signals,
    sensors: (asOfDay) =>
      Object.fromEntries(
        [...points].flatMap((point) => {
          const sensor = point === null ? undefined : plant.sensors.get(point);
          if (sensor === undefined || !measuresTemperature(sensor)) return [];
          const day = asOfDay ?? newestDay(sensor);
          return [[sensor.id, scoredSensor(sensor, day, station.supplyMaxC)]];
        }),
      ),
  };
}

/** @throws CommandProblem for a name the plant does not have */
export function stationNamed({ stations }: Plant, file: string, id: string): Station {
  const station = stations.find((each) => each.id === id);
  if (station !== undefined) return station;
  const names = stations.map((each) => each.id);
  const nearest = nearestName(id, names);
  throw new CommandProblem({
    code: 'unknown-station',
    file,
    field: '--station',
    found: JSON.stringify(id),
    expected: `${nearest === null ? '' : `${nearest}; `}one of ${names.join(', ')}`,
  });
}

function zonesIn({ zones }: Station, asked: OpeningAsked): Zone[] {
  const openings = [...new Set(zones.map((zone) => zone.opening))].filter((each) => each !== null);
  const any = asked === 'first' || openings.length === 1;
  const chosen = typeof asked === 'object' ? asked.id : any ? (openings[0] ?? null) : null;
  if (openings.length > 0 && !openings.includes(chosen ?? '')) {
    throw new CommandProblem({
      code: chosen === null ? 'missing-option' : 'unknown-opening',
      field: '--opening',
      found: chosen === null ? 'a station of several openings' : JSON.stringify(chosen),
      expected: `one of ${openings.join(', ')}`,
    });
  }
  return zones.filter((zone) => zone.opening === chosen);
}

function newestDay({ calibration }: Sensor): number {
  return calibration === undefined ? 0 : dayOfDate(calibration.date);
}
