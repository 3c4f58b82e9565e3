import type { Plant, Station, Zone } from '../plant/plant.ts';
import type { ScoredZone, ScoreInput } from './shape.ts';

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

/**
 * The same of a zone; which opening it is in, the load says.
 *
 * @param sensors of the plant, whose depths say how much metal is before a face
 */
export function scoredZone(
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
