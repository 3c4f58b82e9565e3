import { quantile } from 'simple-statistics';
import type { FeatureName } from './feature.ts';

/** How fast a station's faces can move: the envelopes of what nothing was read of. */
export const rateKeys = ['maxHeatingKPerMin', 'maxCoolingKPerMin', 'loadingDropKPerMin'] as const;
/** What a recipe's phases ask of them. */
export const phaseKeys = ['recovery.withinMin', 'before-load.minC', 'before-load.maxC'] as const;

export type RateKey = (typeof rateKeys)[number];
export type LimitKey = RateKey | (typeof phaseKeys)[number];

export function isRate(key: LimitKey): key is RateKey {
  return rateKeys.some((each) => each === key);
}

/** A limit of plant or recipe as the plant's own data would have it, for a person to approve. */
export interface Proposal {
  key: LimitKey;
  value: number;
  /** What it rests on. */
  cycles: number;
  /** The greatest (least) that was seen. */
  seen: number;
}

/** Fewer cycles say nothing about the greatest there can be. */
const leastCycles = 10;
/** An envelope has to hold what has not been seen yet. Common practice, no source. */
const margin = 1.25;

/**
 * What a station's own cycles say its limits are. An envelope that is too narrow would narrow the
 * interval of every gap: its numbers are rounded outwards, and nothing takes them over by itself.
 *
 * @param valuesOf all values of a feature of the station, of all faces
 */
export function proposals(valuesOf: (feature: FeatureName) => number[]): Proposal[] {
  const list: Proposal[] = [];
  const rate = (key: RateKey, names: FeatureName[], perKPerMin: number) => {
    const all = names.map(valuesOf);
    const cycles = all.reduce((sum, { length }) => sum + length, 0);
    if (cycles < leastCycles) return;
    const seen = greatest(all.map(greatest));
    const value = Math.ceil(margin * seen * perKPerMin) / perKPerMin;
    list.push({ key, value, cycles, seen });
  };
  rate('maxHeatingKPerMin', ['rate-at-60', 'rate-at-100', 'charge-rise'], 2);
  rate('maxCoolingKPerMin', ['idle-loss'], 10);
  rate('loadingDropKPerMin', ['charge-fall'], 1);
  const recovery = valuesOf('recovery');
  if (recovery.length >= leastCycles) {
    const seen = greatest(recovery);
    const value = Math.ceil(quantile(recovery, 0.99) * 2) / 2;
    list.push({ key: 'recovery.withinMin', value, cycles: recovery.length, seen });
  }
  const levels = valuesOf('hold-level');
  if (levels.length >= leastCycles) {
    const [low, high] = [quantile(levels, 0.01), quantile(levels, 0.99)];
    const cycles = levels.length;
    list.push({ key: 'before-load.minC', value: Math.floor(low), cycles, seen: low });
    list.push({ key: 'before-load.maxC', value: Math.ceil(high), cycles, seen: high });
  }
  return list;
}

/** Of more values than a call takes arguments. */
function greatest(values: readonly number[]): number {
  let most = -Infinity;
  for (const value of values) if (value > most) most = value;
  return most;
}
