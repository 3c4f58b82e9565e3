import type { Requirement } from '@setwell/shared-models/plant/recipe-schema';
import { canonicalReadings, type RawReading } from '@setwell/shared-models/score/readings';
import { score } from '@setwell/shared-models/score/score';
import { describe, expect, it } from 'vitest';
import { clamped, judged } from '../fixtures/clamped-load.ts';
import { exactly, pressLoad, readingsOf, shellRecipe } from '../fixtures/press-load.ts';

describe('signals', () => {
  const bar = (minutes: number, of: (s: number) => number): RawReading[] =>
    readingsOf({ 'p1-bar': of }, minutes * 60, 5);
  const gauge = {
    signal: 'bar' as const,
    plausible: { min: 0, max: 400 },
    expanded: 2,
    ramAreaCm2: 1000,
    silentAfterMs: 15_000,
  };
  const pressure = {
    kind: 'pressure',
    minNPerMm2: 1.44,
    maxNPerMm2: 1.76,
    pressedAreaCm2: 12_000,
    coveredBy: 'measured',
    source: 'invented',
  };
  const pressed = (requirements: object[], readings: RawReading[], changed = {}) => {
    const input = pressLoad(10, {
      recipe: { ...shellRecipe, requirements: requirements as Requirement[] },
      signals: { 'p1-bar': gauge },
      ...changed,
    });
    const faces = readingsOf({ ul: () => 138, ll: () => 138 }, 600, 10);
    return score(input, canonicalReadings([...faces, ...readings])).requirements[0];
  };

  // By hand: 192 bar on rams of 1,000 cm² are 1,920 kN; on 12,000 cm² of glue line 1.6 N/mm².
  it('oil pressure becomes pressure on the glue, all the time from pressure-on to release', () => {
    const steady = pressed(
      [pressure],
      bar(10, () => 192),
    );
    expect(steady).toMatchObject({ verdict: 'in-window', coveredBy: 'measured' });
    expect(steady?.checks[0]?.low).toBeCloseTo(1.6 - 2 / 120, 9);
    const dropped = pressed(
      [pressure],
      bar(10, (s) => (s === 300 ? 100 : 192)),
    );
    expect(dropped).toMatchObject({ verdict: 'under', checks: [{ atMs: 300_000 }] });
    const high = pressed(
      [pressure],
      bar(10, () => 220),
    );
    expect(high).toMatchObject({ verdict: 'over' });
    expect(
      pressed(
        [pressure],
        bar(10, () => 211),
      ),
    ).toMatchObject({ verdict: 'unproven' });
  });

  it('a silence of the gauge, and a gauge that nobody has, prove nothing', () => {
    const gap = bar(10, () => 192).filter(({ tMs }) => tMs < 200_000 || tMs > 230_000);
    expect(pressed([pressure], gap)).toMatchObject({ verdict: 'unproven', side: 'both' });
    expect(pressed([pressure], [])).toMatchObject({ verdict: 'unproven' });
    const without = { ...pressure, pressedAreaCm2: undefined };
    expect(
      pressed(
        [without],
        bar(10, () => 192),
      ),
    ).toMatchObject({ verdict: 'unproven' });
  });

  it('opening in steps and not too fast', () => {
    const opening = {
      kind: 'opening',
      minSteps: 3,
      minS: 90,
      coveredBy: 'measured',
      source: 'invented',
    };
    const marks = {
      contact: null,
      pressureOn: exactly(0),
      releaseStart: exactly(480_000),
      open: exactly(600_000),
    };
    const inSteps = (s: number) =>
      s < 480 ? 192 : s < 520 ? 120 : s < 560 ? 60 : s < 590 ? 20 : 0;
    const stepped = pressed([opening], bar(10, inSteps), { marks });
    expect(stepped).toMatchObject({ verdict: 'in-window' });
    expect(stepped?.checks[1]).toMatchObject({ what: 'steps', low: 4 });
    const atOnce = pressed(
      [opening],
      bar(10, (s) => (s < 480 ? 192 : 0)),
      { marks },
    );
    expect(atOnce).toMatchObject({ verdict: 'under' });
    const hasty = { ...marks, open: exactly(520_000) };
    expect(pressed([opening], bar(10, inSteps), { marks: hasty })).toMatchObject({
      verdict: 'under',
    });
  });

  it('faces that differ by 8 K warp the piece, and are told when', () => {
    const warp = { kind: 'face-difference', maxK: 3, coveredBy: 'measured', source: 'invented' };
    const input = (coldC: (s: number) => number) => {
      const recipe = {
        ...shellRecipe,
        limits: [{ phase: 'recovery' as const, withinMin: 2 }],
        requirements: [warp] as Requirement[],
      };
      const readings = readingsOf({ ul: coldC, ll: () => 138 }, 600, 10);
      return score(pressLoad(10, { recipe }), canonicalReadings(readings)).requirements[0];
    };
    expect(input(() => 137)).toMatchObject({ verdict: 'in-window' });
    expect(input(() => 130)).toMatchObject({ verdict: 'over' });
    // The cold charge's own dip does not count.
    expect(input((s) => (s < 100 ? 120 : 137.5))).toMatchObject({ verdict: 'in-window' });
  });

  it('air by its temperature, its moisture and that it moves', () => {
    const air = { kind: 'air', maxC: 24, minRhPct: 40, maxRhPct: 65, moving: true };
    const signals = {
      'ra-rh': {
        signal: 'percent' as const,
        plausible: { min: 0, max: 100 },
        expanded: 2,
        ramAreaCm2: null,
      },
      'ra-fan': {
        signal: 'switch' as const,
        plausible: { min: 0, max: 1 },
        expanded: 0,
        ramAreaCm2: null,
      },
    };
    const input = clamped([{ ...air, coveredBy: 'measured', source: 'invented' }], [], { signals });
    const rows = (rhPct: number, fan: number) =>
      readingsOf({ 'ra-rh': () => rhPct, 'ra-fan': () => fan }, 7200, 60);
    expect(judged(input, rows(50, 1)).requirement).toMatchObject({ verdict: 'in-window' });
    expect(judged(input, rows(64, 1)).requirement).toMatchObject({ verdict: 'unproven' });
    expect(judged(input, rows(70, 1)).requirement).toMatchObject({ verdict: 'over' });
    expect(judged(input, rows(50, 0)).requirement).toMatchObject({ verdict: 'under' });
    expect(judged(input).requirement).toMatchObject({ verdict: 'unproven' });
  });
});
