import type { Plant, Station } from '../plant/plant.ts';
import type { EdgeSource, Face, FinderSetting } from './closing-finder.ts';

/** Shares of a gauge's range at which a ram presses, and at which it does not any more. */
const pressesAt = 0.1;
const idleAt = 0.05;

/** A press that cures anything is hotter than this; a charge on cooler plates is not looked for [°C]. */
const leastHotC = 60;

/** Levels of a gauge that reaches `most` while the ram presses. */
export function pressureLevels(most: number): { onAt: number; offAt: number } {
  return { onAt: pressesAt * most, offAt: idleAt * most };
}

export const switchLevels = { onAt: 0.5, offAt: 0.5 - Number.EPSILON };

/** What a station's closings can be found by: its gauge, switch or door, and its faces. */
export function finderSettingOf(station: Station, plant: Plant): FinderSetting {
  const { pressure, limitSwitch, door } = station.closedBy;
  const edges: EdgeSource[] = [];
  if (pressure !== null) {
    const plausible = plant.sensors.get(pressure)?.plausible;
    const most = plausible !== undefined && 'max' in plausible ? plausible.max : 0;
    edges.push({ point: pressure, by: 'pressure', ...pressureLevels(most) });
  }
  if (limitSwitch !== null) {
    edges.push({ point: limitSwitch, by: 'limit-switch', ...switchLevels });
  }
  if (door !== null) edges.push({ point: door, by: 'door', ...switchLevels });
  const points = facesOf(station);
  const faces: Face[] = points.map((point) => ({
    point,
    depthMm: plant.sensors.get(point)?.depthMm ?? 0,
  }));
  return { edges, faces, hotC: hotOf(station) };
}

/** Points of a station's zones, each once, in plant order. */
export function facesOf({ zones }: Station): string[] {
  const points = zones.flatMap(({ upper, lower, air }) => [upper, lower, air]);
  return [...new Set(points.filter((point) => point !== null))];
}

/** From where on a cold charge would be seen [°C]: not far below ready, or above any room. */
function hotOf({ readyC }: Station): number {
  return readyC === null ? leastHotC : Math.max(leastHotC, readyC - 20);
}
