import type { Station, Zone } from '../plant/plant.ts';
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

/** The same of a zone; which opening it is in, the load says. */
export function scoredZone({ id, upper, lower, air }: Zone): ScoredZone {
  return { id, upper, lower, air };
}
