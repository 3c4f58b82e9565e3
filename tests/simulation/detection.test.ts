import { featureCondition } from '@setwell/shared-models/condition/zone-condition';
import type { FeatureRow } from '@setwell/shared-models/condition/feature';
import { beforeAll, describe, expect, it } from 'vitest';
import { featuresOf } from '../fixtures/condition-press.ts';
import { closingsADay, detected, falseCalls, faults, most, of, sound } from './detection-table.ts';

describe('faults of known size and onset', () => {
  const table: Record<string, string | number>[] = [];

  it.each(Object.keys(faults))('finds: %s', (name) => {
    const { feature, cycles } = detected(name, 1);
    table.push({ fault: name, 'found by': feature, 'after cycles': cycles });
    expect(cycles).toBeLessThanOrEqual(most[name] ?? 5);
  });

  it('prints the table', () => {
    console.table(table);
    expect(table).toHaveLength(Object.keys(faults).length);
  });
});

describe('a steady press over 245 heat-ups and 980 charges', () => {
  let rows: FeatureRow[];
  beforeAll(() => {
    rows = featuresOf({ days: 245, faultDay: Infinity, fault: sound, closingsADay, seed: 7 });
  });

  it('calls falsely at most once a zone and 200 cycles, over all features together', () => {
    const counts = falseCalls(rows);
    console.table(counts);
    for (const { calls } of counts) expect(calls).toBeLessThanOrEqual(1);
  });

  it('takes no warm start for a stronger heater', () => {
    const own = of(rows, 'minutes-to-ready', 'up');
    const raw = spread(own.map(({ value }) => value));
    const alike = featureCondition(own, []);
    expect(alike?.state).toBe('as-it-was');
    expect((alike?.usual?.high ?? 0) - (alike?.usual?.low ?? 0)).toBeLessThan(0.7 * raw);
  });
});

function spread(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  const at = (share: number) => sorted[Math.floor(share * (sorted.length - 1))] ?? 0;
  return at(0.9) - at(0.1);
}
