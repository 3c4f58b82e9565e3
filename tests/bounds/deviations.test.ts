import { canonicalReadings } from '@setwell/shared-models/score/readings';
import { score } from '@setwell/shared-models/score/score';
import { describe, expect, it } from 'vitest';
import { pressLoad, readingsOf, shellRecipe } from '../fixtures/press-load.ts';

describe('limits of the recipe', () => {
  const limits = [
    { phase: 'before-load' as const, minC: 136, maxC: 140 },
    { phase: 'recovery' as const, withinMin: 5 },
    { phase: 'hold' as const, minC: 135, maxC: 140 },
  ];
  const found = (course: (s: number) => number, before = 138) => {
    const recipe = { ...shellRecipe, limits };
    const early = [-20, -10, 0].map((s) => ({ point: 'ul', tMs: s * 1000, value: before }));
    const readings = readingsOf({ ll: () => 138, ul: course }, 1200, 10).filter(
      ({ point, tMs }) => point === 'll' || tMs > 0,
    );
    const result = score(pressLoad(20, { recipe }), canonicalReadings([...early, ...readings]));
    return result.deviations;
  };
  const dip = (s: number) => 138 - 13 * Math.max(0, 1 - s / 240);

  it('a load inside them has no deviation', () => {
    expect(found(dip)).toEqual([]);
  });

  it('before the load, late in recovery, outside the hold: each once, at its worst, and no verdict', () => {
    expect(found(dip, 133)).toMatchObject([
      { phase: 'before-load', zone: 'left', what: 'ul', side: 'short', by: 3, unit: 'K', atMs: 0 },
    ]);
    expect(found((s) => 138 - 13 * Math.max(0, 1 - s / 600))).toMatchObject([
      { phase: 'recovery', side: 'long', by: expect.closeTo(470 / 60 - 5, 1) as number },
      { phase: 'hold', side: 'short' },
    ]);
    expect(found((s) => (s > 700 && s < 800 ? 143 : dip(s)))).toMatchObject([
      { phase: 'hold', side: 'long', by: 3, atMs: 710_000 },
    ]);
  });
});
