import type { Recipe } from '@setwell/shared-models/plant/recipe-schema';
import type { ScoredSensor, ScoredZone, ScoreInput } from '@setwell/shared-models/score/shape';

/** A station as a load of a file is scored on it. */
export interface ScoredStation {
  station: ScoreInput['station'];
  zones: ScoredZone[];
  sensors: Record<string, ScoredSensor>;
  /** Column of the file each point is read from. */
  columns: Map<string, string>;
}

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

/**
 * A station for a file without a plant: one zone, `only`, read from upper_c and lower_c or from air_c.
 *
 * @param expandedK of every reading, k = 2
 */
export function stationWithout(recipe: Recipe, expandedK: number): ScoredStation {
  const { kind } = recipe;
  const columns =
    kind === 'press'
      ? new Map([
          ['upper', 'upper_c'],
          ['lower', 'lower_c'],
        ])
      : new Map([['air', 'air_c']]);
  const sensor: ScoredSensor = {
    signal: 'celsius',
    corrections: [],
    expandedK,
    resolutionK: 0,
    plausible: { minC: -20, maxC: 300, maxRateKPerMin: STEEPEST_KPerMin },
    calibratedC: null,
  };
  const point = (name: string) => (columns.has(name) ? name : null);
  return {
    station: { id: 'file', kind, heating: 'conduction', ...UNDESCRIBED },
    zones: [{ id: 'only', upper: point('upper'), lower: point('lower'), air: point('air') }],
    sensors: Object.fromEntries([...columns.keys()].map((name) => [name, sensor])),
    columns,
  };
}
