import { quantile } from 'simple-statistics';
import type { FeatureRow } from './feature.ts';

/** A limit of plant or recipe as the plant's own data would have it, for a person to approve. */
export interface Proposal {
  key:
    | 'maxHeatingKPerMin'
    | 'maxCoolingKPerMin'
    | 'recovery.withinMin'
    | 'before-load.minC'
    | 'before-load.maxC';
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
 * @param rows of all features of the station
 */
export function proposals(rows: readonly FeatureRow[]): Proposal[] {
  const of = (...names: string[]) =>
    rows.filter(({ feature }) => names.includes(feature)).map(({ value }) => value);
  const heating = of('rate-at-60', 'rate-at-100');
  const cooling = of('idle-loss');
  const recovery = of('recovery');
  const levels = of('hold-level');
  const list: Proposal[] = [];
  const greatest = (values: number[]) => values.reduce((a, b) => Math.max(a, b), -Infinity);
  if (heating.length >= leastCycles) {
    const seen = greatest(heating);
    const value = Math.ceil(margin * seen * 2) / 2;
    list.push({ key: 'maxHeatingKPerMin', value, cycles: heating.length, seen });
  }
  if (cooling.length >= leastCycles) {
    const seen = greatest(cooling);
    const value = Math.ceil(margin * seen * 10) / 10;
    list.push({ key: 'maxCoolingKPerMin', value, cycles: cooling.length, seen });
  }
  if (recovery.length >= leastCycles) {
    const seen = greatest(recovery);
    const value = Math.ceil(quantile(recovery, 0.99) * 2) / 2;
    list.push({ key: 'recovery.withinMin', value, cycles: recovery.length, seen });
  }
  if (levels.length >= leastCycles) {
    const [low, high] = [quantile(levels, 0.01), quantile(levels, 0.99)];
    const cycles = levels.length;
    list.push({ key: 'before-load.minC', value: Math.floor(low), cycles, seen: low });
    list.push({ key: 'before-load.maxC', value: Math.ceil(high), cycles, seen: high });
  }
  return list;
}
