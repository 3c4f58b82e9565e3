import type { Plant, Station, Zone } from '../plant/plant.ts';
import type { OtherSignal, Sensor } from '../plant/plant-schema.ts';
import type { Recipe, Requirement } from '../plant/recipe-schema.ts';
import type { ScoredBelt, ScoredSignal, ScoredZone, ScoreInput } from './shape.ts';

/** What of a station a verdict follows from, by value. */
export function scoredStation(station: Station): ScoreInput['station'] {
  const { id, kind, heating, supplyMaxC, surroundingsMinC } = station;
  const { maxHeatingKPerMin, maxCoolingKPerMin, loadingDropKPerMin } = station;
  return {
    id,
    kind,
    heating,
    maxHeatingKPerMin,
    maxCoolingKPerMin,
    loadingDropKPerMin,
    supplyMaxC,
    surroundingsMinC,
  };
}

/** How often a belt's speed is read, where its point does not say it [s]. */
const USUAL_SPEED_EVERY_S = 5;

/**
 * The zones of a load as it is scored: of a belt one, which has all of its zones in it; and each as often
 * as the recipe has places in a part, named zone/place.
 */
export function scoredZones(
  zones: readonly Zone[],
  station: Station,
  sensors: Plant['sensors'],
  recipe: Recipe | null,
): ScoredZone[] {
  const { beltSpeed } = station;
  if (beltSpeed === undefined) {
    return zonesOfPlaces(
      zones.map((zone) => scoredZone(zone, station, sensors)),
      recipe,
    );
  }
  const belt: ScoredBelt = {
    speed: beltSpeed,
    everyS: sensors.get(beltSpeed)?.everyS ?? USUAL_SPEED_EVERY_S,
    zones: zones.flatMap(({ air, fromM, toM }) =>
      air === null || fromM === undefined || toM === undefined ? [] : [{ air, fromM, toM }],
    ),
  };
  return zonesOfPlaces([{ id: 'belt', upper: null, lower: null, air: null, belt }], recipe);
}

/** Each zone as often as an oven's recipe has places in a part. */
export function zonesOfPlaces(zones: ScoredZone[], recipe: Recipe | null): ScoredZone[] {
  const places = recipe?.kind === 'oven' ? recipe.places : undefined;
  if (places === undefined) return zones;
  return zones.flatMap((zone) =>
    places.map(({ id: place }) => ({ ...zone, id: `${zone.id}/${place}`, place })),
  );
}

/** The zone that a place of a part is judged in, by the name it goes by: itself where it has no places. */
export function zoneOfPlace(name: string): string {
  return name.split('/')[0] ?? name;
}

/** Which signals a requirement beside heat is measured by. */
const signalsOf: Partial<Record<Requirement['kind'], readonly OtherSignal[]>> = {
  pressure: ['bar'],
  opening: ['bar'],
  air: ['percent', 'switch'],
};

/** A point that speaks on change may be silent for so many of its heartbeats, another for so many of its turns. */
const SILENT_TURNS = 3;

/** Signals beside temperatures that a load is scored with: the belt's, and those its requirements ask for. */
export function scoredSignals(
  { id, beltSpeed }: Station,
  sensors: Plant['sensors'],
  recipe: Recipe | null,
): Record<string, ScoredSignal> {
  const wanted = new Set(
    (recipe?.requirements ?? []).flatMap(({ kind, coveredBy }) =>
      coveredBy === 'measured' ? (signalsOf[kind] ?? []) : [],
    ),
  );
  const found: Record<string, ScoredSignal> = {};
  for (const sensor of sensors.values()) {
    // First, for it is asked of thousands of points each time a load is judged.
    const isHere = sensor.id === beltSpeed || sensor.station === id;
    if (!isHere) continue;
    const { plausible } = sensor;
    const asked = sensor.id === beltSpeed ? (['metre-per-minute'] as const) : wanted;
    const signal = [...asked].find((each) => each === sensor.signal);
    if (signal === undefined || !('min' in plausible)) continue;
    found[sensor.id] = scoredSignal(sensor, signal, plausible);
  }
  return found;
}

function scoredSignal(
  { expanded, ramAreaCm2, everyS, report }: Sensor,
  signal: OtherSignal,
  { min, max }: { min: number; max: number },
): ScoredSignal {
  const turnS = report?.heartbeatS ?? everyS;
  return {
    signal,
    plausible: { min, max },
    expanded: expanded ?? 0,
    ramAreaCm2: ramAreaCm2 ?? null,
    ...(turnS === undefined ? {} : { silentAfterMs: SILENT_TURNS * turnS * 1000 }),
  };
}

/**
 * The same of a zone; which opening it is in, the load says.
 *
 * @param sensors of the plant, whose depths say how much metal is before a face
 */
function scoredZone(
  { id, upper, lower, air }: Zone,
  { platenMetal }: Station,
  sensors: Plant['sensors'],
): ScoredZone {
  const zone: ScoredZone = { id, upper, lower, air };
  for (const face of ['upper', 'lower'] as const) {
    const thicknessMm = sensors.get(zone[face] ?? '')?.depthMm ?? 0;
    if (thicknessMm > 0) zone[`${face}Metal`] = { thicknessMm, ...platenMetal };
  }
  return zone;
}
