import type { PointHistory } from './point-history.ts';
import type { ScoreInput, ScoredSensor } from './shape.ts';

/** A point's temperature at each grid time [°C]: what it may least, most likely and at most have been. */
export interface FacePath {
  low: Float64Array;
  nominal: Float64Array;
  high: Float64Array;
}

/** After loading the fall has its own rate for so long, unless the recipe states its recovery. */
const RECOVERY_MIN = 10;

/** Bounds of change of a station, and of temperature itself. */
export interface Rates {
  heatingKPerS: number;
  coolingKPerS: number;
  loadingKPerS: number;
  recoveredMs: number;
  leastC: number;
  mostC: number;
}

/** @param sensor whose plausible range clips what may have been */
export function ratesOf(input: ScoreInput, sensor: ScoredSensor): Rates {
  const { station, recipe } = input;
  const recovery = (recipe.limits ?? []).find((limit) => limit.phase === 'recovery');
  const recoveryMin = recovery?.phase === 'recovery' ? recovery.withinMin : RECOVERY_MIN;
  return {
    heatingKPerS: station.maxHeatingKPerMin / 60,
    coolingKPerS: station.maxCoolingKPerMin / 60,
    loadingKPerS: Math.max(station.loadingDropKPerMin ?? 0, station.maxCoolingKPerMin) / 60,
    recoveredMs: input.startMs + recoveryMin * 60_000,
    leastC: Math.max(sensor.plausible.minC, station.surroundingsMinC),
    mostC: Math.min(sensor.plausible.maxC, station.supplyMaxC),
  };
}

/**
 * The envelope of a point's true temperature at the grid times.
 *
 * Between two good readings it lies between the lines of greatest cooling and heating through both;
 * after the last (before the first) only one of them bounds it; nominal is linear between and holds
 * the last value. A pair steeper than the rates is bounded by its two readings. Fewer readings can
 * only widen it.
 *
 * @param gridMs ascending
 */
export function facePath(history: PointHistory, rates: Rates, gridMs: Float64Array): FacePath {
  const size = gridMs.length;
  const path: FacePath = {
    low: new Float64Array(size),
    nominal: new Float64Array(size),
    high: new Float64Array(size),
  };
  const { timesMs, valuesC } = history;
  let next = 0;
  for (let i = 0; i < size; i += 1) {
    const t = gridMs[i];
    while (next < timesMs.length && timesMs[next] <= t) next += 1;
    const before = next - 1;
    let low = rates.leastC;
    let high = rates.mostC;
    let nominal = 0.5 * (low + high);
    if (before >= 0) {
      const valueC = valuesC[before];
      low = valueC - fallK(rates, timesMs[before], t);
      high = valueC + (rates.heatingKPerS * (t - timesMs[before])) / 1000;
      nominal = valueC;
    }
    if (next < timesMs.length) {
      const aheadS = (timesMs[next] - t) / 1000;
      const lowAhead = valuesC[next] - rates.heatingKPerS * aheadS;
      const highAhead = valuesC[next] + fallK(rates, t, timesMs[next]);
      if (before < 0) {
        low = lowAhead;
        high = highAhead;
        nominal = valuesC[next];
      } else {
        const share = (t - timesMs[before]) / (timesMs[next] - timesMs[before]);
        nominal = valuesC[before] + share * (valuesC[next] - valuesC[before]);
        low = Math.min(nominal, Math.max(low, lowAhead));
        high = Math.max(nominal, Math.min(high, highAhead));
      }
    }
    path.nominal[i] = nominal;
    path.low[i] = Math.min(nominal, Math.max(low, rates.leastC));
    path.high[i] = Math.max(nominal, Math.min(high, rates.mostC));
  }
  return path;
}

/** Greatest fall between two times [K]: faster while the cold charge draws heat. */
function fallK(rates: Rates, fromMs: number, toMs: number): number {
  const loadingMs = Math.max(0, Math.min(toMs, rates.recoveredMs) - fromMs);
  const laterMs = toMs - fromMs - loadingMs;
  return (rates.loadingKPerS * loadingMs + rates.coolingKPerS * laterMs) / 1000;
}
