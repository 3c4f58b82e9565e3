import type { StationFile } from './plant-schema.ts';
import type { Zone } from './plant.ts';

type Platen = NonNullable<StationFile['platens']>[number];

/** Name of the one zone of a platen, or of a station known only by its readings. */
export const onlyZone = 'only';

/**
 * A station's zones, whichever way the file wrote them.
 *
 * Openings lie between platens: the platen above gives the upper face, the one below the lower face,
 * so a platen's point is the lower face of the opening above it and the upper face of the one below.
 */
export function zonesOf(station: StationFile): Zone[] {
  if (station.zones !== undefined) {
    return station.zones.map(({ id, opening, upper, lower, air, fromM, toM }) => ({
      id,
      opening: opening ?? null,
      upper: upper ?? null,
      lower: lower ?? null,
      air: air ?? null,
      ...(fromM === undefined ? {} : { fromM }),
      ...(toM === undefined ? {} : { toM }),
    }));
  }
  const platens = new Map((station.platens ?? []).map((platen) => [platen.id, pointsOf(platen)]));
  return (station.openings ?? []).flatMap(({ id: opening, upper, lower }) => {
    const above = platens.get(upper) ?? new Map<string, string>();
    const below = platens.get(lower) ?? new Map<string, string>();
    return [...new Set([...above.keys(), ...below.keys()])].map((id) => ({
      id,
      opening,
      upper: above.get(id) ?? null,
      lower: below.get(id) ?? null,
      air: null,
    }));
  });
}

/** Points of a platen by zone. */
function pointsOf(platen: Platen): Map<string, string> {
  if ('point' in platen) return new Map([[onlyZone, platen.point]]);
  return new Map(platen.zones.map(({ id, point }) => [id, point]));
}
