import { likelyCauses } from '@setwell/shared-models/condition/causes';
import type { FeatureName, FeatureRow } from '@setwell/shared-models/condition/feature';
import { meets, outlook } from '@setwell/shared-models/condition/outlook';
import { repairEvidence } from '@setwell/shared-models/condition/repair';
import { runsOf } from '@setwell/shared-models/condition/run';
import {
  featureCondition,
  type FeatureCondition,
} from '@setwell/shared-models/condition/zone-condition';
import { describe, expect, it } from 'vitest';
import { seededNormal } from '../fixtures/seeded-normal.ts';

const dayMs = 86_400_000;

/** One heat-up a day: a level, a slope a day from some day on, and scatter. */
function heatUps(
  days: number,
  at: (day: number) => number,
  { feature = 'minutes-to-ready' as FeatureName, point = 'up', sigma = 0.3, seed = 3 } = {},
): FeatureRow[] {
  const normal = seededNormal(seed);
  return Array.from({ length: days }, (_, day) => ({
    feature,
    point,
    atMs: day * dayMs,
    value: at(day) + sigma * normal(),
    startC: 19,
  }));
}

function conditionOf(rows: FeatureRow[], restartsMs: number[] = []): FeatureCondition {
  const condition = featureCondition(rows, restartsMs);
  if (condition === null) throw new Error('no rows');
  return condition;
}

describe('the state of a zone', () => {
  it('says nothing before ten cycles, and judges nothing before twenty', () => {
    expect(conditionOf(heatUps(9, () => 34))).toMatchObject({ state: 'too-few', usual: null });
    const twelve = conditionOf(heatUps(12, (day) => 34 + day));
    expect(twelve.state).toBe('as-it-was');
    expect(twelve.usual).not.toBeNull();
    expect(twelve.trend).toBeNull();
  });

  it('gives a weakening as a slope with an interval that holds the true one, and since when', () => {
    const perWeek = 1.1;
    const rows = heatUps(60, (day) => 34 + (Math.max(0, day - 35) * perWeek) / 7);
    const { state, sinceMs, trend } = conditionOf(rows);
    expect(state).toBe('weakens');
    expect(Math.abs((sinceMs ?? 0) / dayMs - 35)).toBeLessThanOrEqual(5);
    expect(trend?.lowPerWeek).toBeLessThan(perWeek);
    expect(trend?.highPerWeek).toBeGreaterThan(perWeek);
    expect(trend?.lowPerWeek).toBeGreaterThan(0);
  });

  it('is better, not weaker, when it heats up faster', () => {
    expect(conditionOf(heatUps(50, (day) => (day < 30 ? 34 : 31))).state).toBe('better');
  });

  it('begins anew after work: the old past condemns no new heater', () => {
    const rows = heatUps(60, (day) => (day < 45 ? 34 + day / 10 : 34));
    expect(conditionOf(rows.slice(0, 45)).state).toBe('weakens');
    const after = conditionOf(rows, [45 * dayMs]);
    expect(after).toMatchObject({ state: 'as-it-was', baselineCycles: 15, cycles: 15 });
    expect(after.baselineSinceMs).toBe(45 * dayMs);
  });

  it('takes the charges of one day as one run', () => {
    const charges = Array.from({ length: 68 }, (_, i): FeatureRow => {
      const day = Math.floor(i / 34);
      const atMs = day * dayMs + (i % 34) * 27 * 60_000;
      return { feature: 'recovery', point: 'up', atMs, value: day === 0 ? 4 : 5, startC: null };
    });
    expect(runsOf(charges).map(({ value }) => value)).toEqual([4, 5]);
  });
});

describe('what goes next', () => {
  const falling = conditionOf(
    heatUps(50, (day) => 132 - (Math.max(0, day - 25) * 1.2) / 30, {
      feature: 'hold-level',
      sigma: 0.05,
    }).map((row) => ({ ...row, startC: null })),
  );

  it('meets its limit at the pace of now, between the ends of its interval', () => {
    const newest = falling.newest;
    if (newest === null) throw new Error('no newest');
    const trueMs = newest.atMs + ((newest.value - 128) / 1.2) * 30 * dayMs;
    const then = outlook(falling, 128);
    expect(then?.earliestMs).toBeLessThan(then?.atMs ?? 0);
    expect(then?.latestMs).toBeGreaterThan(then?.atMs ?? Infinity);
    expect(then?.earliestMs).toBeLessThan(trueMs);
    expect(then?.latestMs).toBeGreaterThan(trueMs);
  });

  it('is now where the limit is met already, and never where nothing moves for sure', () => {
    expect(outlook(falling, 140)?.atMs).toBe(falling.newest?.atMs);
    expect(outlook(conditionOf(heatUps(50, () => 34)), 44)).toBeNull();
  });

  it('finds where a curve meets a level, and takes what is never proven for the last that was', () => {
    const points = [
      { x: 0, y: 20 },
      { x: 8, y: 22 },
      { x: 12, y: 24 },
    ];
    expect(meets(points, 23)).toBe(10);
    expect(meets(points, 30)).toBeNull();
    expect(meets([...points, { x: 16, y: null }], 30)).toBe(12);
  });
});

describe('a repair', () => {
  it('is proven by cycles after it, with the interval of the difference', () => {
    const rows = heatUps(40, (day) => (day < 30 ? 43.9 : 35.1));
    expect(repairEvidence(rows, 30 * dayMs)).toMatchObject({
      says: 'better',
      after: { cycles: 10 },
    });
    const { low = 0, high = 0 } = repairEvidence(rows, 30 * dayMs) ?? {};
    expect(low).toBeLessThan(-8.8);
    expect(high).toBeGreaterThan(-8.8);
    expect(high).toBeLessThan(0);
  });

  it('waits for three cycles, and is not proven by what stays as it was', () => {
    const rows = heatUps(40, () => 43.9);
    expect(repairEvidence(rows.slice(0, 32), 30 * dayMs)?.says).toBe('wait');
    expect(repairEvidence(rows, 30 * dayMs)?.says).toBe('same');
  });
});

describe('likely causes', () => {
  const sides = [
    ['1l', '1r'],
    ['2l', '2r'],
  ];
  const weak = (...marks: [FeatureName, string][]): FeatureCondition[] =>
    sides.flat().flatMap((point) =>
      (['minutes-to-ready', 'rate-at-100', 'hold-level', 'recovery', 'dip-depth'] as const).map(
        (feature): FeatureCondition => ({
          ...conditionOf(heatUps(25, () => 34, { feature, point })),
          state: marks.some(([f, p]) => f === feature && p === point) ? 'weakens' : 'as-it-was',
        }),
      ),
    );
  const first = (conditions: FeatureCondition[]) => likelyCauses({ conditions, sides })[0];

  it('are none where nothing weakens', () => {
    expect(likelyCauses({ conditions: weak(), sides })).toEqual([]);
  });

  it('are the heater where one zone is slow and low', () => {
    const zone = weak(['minutes-to-ready', '1r'], ['rate-at-100', '1r'], ['hold-level', '1r']);
    expect(first(zone)).toMatchObject({ cause: 'heater', points: ['1r'] });
  });

  it('are the supply where all are slow, and one side where one platen is', () => {
    const slow = (...points: string[]) =>
      weak(...points.map((point): [FeatureName, string] => ['minutes-to-ready', point]));
    expect(first(slow('1l', '1r', '2l', '2r'))?.cause).toBe('supply');
    expect(first(slow('2l', '2r'))).toMatchObject({ cause: 'side', points: ['2l', '2r'] });
  });

  it('are the seat where only the recovery has grown, and power where dips are deeper too', () => {
    expect(first(weak(['recovery', '1l']))?.cause).toBe('seat');
    const both = likelyCauses({ conditions: weak(['recovery', '1l'], ['dip-depth', '1l']), sides });
    expect(both.map(({ cause }) => cause)).toContain('power');
  });

  it('are the element where only its level has moved', () => {
    expect(first(weak(['hold-level', '1l']))?.cause).toBe('element-drift');
  });
});
