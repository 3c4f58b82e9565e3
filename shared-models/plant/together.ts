import type { Finding } from './finding.ts';
import { nearestName } from './nearest-name.ts';
import { measuresTemperature, type Plant } from './plant.ts';
import type { InitialC, Recipe } from './recipe-schema.ts';

interface Named<T> {
  file: string;
  value: T;
}

/** What is wrong between files that are right each for itself: the file as a whole is named. */
export function tellTogether(plants: Named<Plant>[], recipes: Named<Recipe>[]): Finding[] {
  const findings: Finding[] = [];
  const tell = (file: string, details: Omit<Finding, 'file' | 'line' | 'column'>) =>
    findings.push({ file, line: 1, column: 1, ...details });
  const ids = new Map<string, string>();
  for (const { file, value: recipe } of recipes) {
    const before = ids.get(recipe.id);
    if (before !== undefined) {
      tell(file, {
        code: 'id-twice',
        severity: 'error',
        field: 'id',
        found: `the recipe ${recipe.id} of ${before} again`,
        expected: 'one file a recipe; its revisions are kept by the ledger',
      });
    }
    ids.set(recipe.id, file);
  }
  for (const { value: plant } of plants) {
    for (const { file, value: recipe } of recipes) {
      for (const details of recipeInPlant(recipe, plant)) tell(file, details);
    }
  }
  return findings;
}

function recipeInPlant(recipe: Recipe, plant: Plant): Omit<Finding, 'file' | 'line' | 'column'>[] {
  const stations = plant.stations.filter(({ kind }) => kind === recipe.kind);
  if (stations.length === 0) {
    return [
      {
        code: 'no-station',
        severity: 'warning',
        field: 'kind',
        found: `no ${recipe.kind} in the plant`,
        expected: `a station of kind ${recipe.kind}`,
      },
    ];
  }
  const points = startsOf(recipe).flatMap((start) =>
    typeof start === 'object' && 'point' in start ? [start.point] : [],
  );
  const unknownPoints = points.flatMap((point) => {
    const sensor = plant.sensors.get(point);
    const field = 'initialC.point';
    if (sensor === undefined)
      return [{ ...named('point', point, [...plant.sensors.keys()]), field }];
    if (measuresTemperature(sensor)) return [];
    return [
      {
        code: 'no-temperature',
        severity: 'error' as const,
        field,
        found: `${JSON.stringify(point)}, which measures ${sensor.signal}`,
        expected: 'a point that measures temperature',
      },
    ];
  });
  if (recipe.kind !== 'press' || recipe.places === undefined) return unknownPoints;
  const zones = recipe.places.flatMap((place) => place.zones);
  const known = stations.map((station) => new Set(station.zones.map(({ id }) => id)));
  if (known.some((ids) => zones.every((zone) => ids.has(zone)))) return unknownPoints;
  const all = [...new Set(known.flatMap((ids) => [...ids]))];
  const missing = zones.find((zone) => !all.includes(zone)) ?? zones.join(', ');
  return [...unknownPoints, { ...named('zone', missing, all), field: 'places' }];
}

function startsOf(recipe: Recipe): (InitialC | undefined)[] {
  if (recipe.kind === 'oven' && recipe.places !== undefined) {
    return recipe.places.map(({ part }) => part.initialC);
  }
  if (recipe.kind !== 'press') return [recipe.part?.initialC];
  return [recipe.layup, ...(recipe.places ?? []).map(({ layup }) => layup)].map(
    (layup) => layup?.initialC,
  );
}

function named(kind: 'point' | 'zone', name: string, known: string[]) {
  const nearest = nearestName(name, known);
  return {
    code: `unknown-${kind}`,
    severity: 'error' as const,
    found: JSON.stringify(name),
    expected: `a ${kind} of the plant`,
    ...(nearest === null ? {} : { nearest }),
  };
}
