import { tellBelt } from './belt-findings.ts';
import type { Path } from './located-yaml.ts';
import { nearestName } from './nearest-name.ts';
import { type Tell, tellTwiceIn } from './tell.ts';
import type { StationFile } from './plant-schema.ts';
import { zonesOf } from './station-zones.ts';

/** What is wrong within one station. */
export function tellStation(station: StationFile, path: Path, tell: Tell): void {
  const { supplyMaxC, surroundingsMinC, readyC } = station;
  if (supplyMaxC <= surroundingsMinC) {
    tell([...path, 'supplyMaxC'], {
      code: 'contradiction',
      found: `supplyMaxC ${supplyMaxC} and surroundingsMinC ${surroundingsMinC}`,
      expected: 'a supply warmer than the coldest surroundings',
    });
  }
  if (readyC !== undefined && (readyC > supplyMaxC || readyC < surroundingsMinC)) {
    tell([...path, 'readyC'], {
      code: 'contradiction',
      found: `${readyC}`,
      expected: `between surroundingsMinC ${surroundingsMinC} and supplyMaxC ${supplyMaxC}`,
    });
  }
  if (station.platenMetal !== undefined && station.kind !== 'press') {
    tell([...path, 'platenMetal'], {
      code: 'contradiction',
      found: `platenMetal at a ${station.kind}`,
      expected: 'a press; elsewhere there is no platen',
    });
  }
  if (!tellLayout(station, path, tell)) return;
  tellFaces(station, path, tell);
  tellBelt(station, path, tell);
}

/** Whether the zones can be told: written out, or given by platens and openings, and not both. */
function tellLayout(station: StationFile, path: Path, tell: Tell): boolean {
  const { zones, platens, openings, kind } = station;
  const oneWay = (zones !== undefined) !== (platens !== undefined || openings !== undefined);
  if (!oneWay || (platens === undefined) !== (openings === undefined)) {
    tell(path, {
      code: zones === undefined && platens === undefined ? 'no-zones' : 'two-layouts',
      found: [
        zones === undefined ? 'no zones' : 'zones',
        platens === undefined ? 'no platens' : 'platens',
        openings === undefined ? 'no openings' : 'openings',
      ].join(', '),
      expected: 'zones, or platens and openings',
    });
    return false;
  }
  if (platens === undefined || openings === undefined) {
    tellTwiceIn(
      (zones ?? []).map(({ id, opening }) => ({
        id: opening === undefined ? id : `${opening}/${id}`,
      })),
      [...path, 'zones'],
      tell,
    );
    return true;
  }
  if (kind !== 'press') {
    tell([...path, 'platens'], {
      code: 'contradiction',
      found: `platens at a ${kind}`,
      expected: 'zones with air; platens belong to a press',
    });
  }
  tellTwiceIn(platens, [...path, 'platens'], tell);
  tellTwiceIn(openings, [...path, 'openings'], tell);
  const names = platens.map(({ id }) => id);
  let whole = true;
  openings.forEach((opening, index) => {
    for (const face of ['upper', 'lower'] as const) {
      const name = opening[face];
      if (names.includes(name)) continue;
      whole = false;
      tell([...path, 'openings', index, face], {
        code: 'unknown-platen',
        found: JSON.stringify(name),
        expected: `a platen of this station: ${names.join(', ')}`,
        nearest: nearestName(name, names),
      });
    }
    if (opening.upper === opening.lower) {
      tell([...path, 'openings', index], {
        code: 'contradiction',
        found: `${opening.upper} above and below`,
        expected: 'two platens',
      });
    }
  });
  return whole;
}

/** Whether every zone has the points that its kind of station needs. */
function tellFaces(station: StationFile, path: Path, tell: Tell): void {
  const { kind, heating } = station;
  zonesOf(station).forEach(({ id, opening, upper, lower, air }, index) => {
    const zonePath =
      station.zones === undefined
        ? [...path, 'openings', station.openings?.findIndex((each) => each.id === opening) ?? 0]
        : [...path, 'zones', index];
    const found = [upper && 'upper', lower && 'lower', air && 'air'].filter(Boolean).join(', ');
    const refuse = (expected: string) =>
      tell(zonePath, {
        code: 'missing-point',
        found: `zone ${id} with ${found || 'no point'}`,
        expected,
      });
    if (kind === 'bench') {
      if (found === '') refuse('upper, lower or air');
    } else if (kind !== 'press') {
      if (air === null || found !== 'air') refuse(`air alone, at a ${kind}`);
    } else if (heating === 'one-sided') {
      if ((upper === null) === (lower === null)) refuse('upper or lower, the heated face');
    } else if (heating === 'conduction') {
      if (upper === null || lower === null || air !== null) refuse('upper and lower');
      else if (upper === lower) refuse('two points: one face is not the other');
    }
  });
}
