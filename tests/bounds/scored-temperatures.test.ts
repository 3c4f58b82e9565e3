import { readFileSync } from 'node:fs';
import { Conduction } from '@setwell/shared-models/heat/conduction';
import { cutSlab } from '@setwell/shared-models/heat/slab';
import type { Layer } from '@setwell/shared-models/plant/recipe-schema';
import { canonicalReadings } from '@setwell/shared-models/score/readings';
import { trace } from '@setwell/shared-models/score/trace';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { faceSensor, pressLoad, shellRecipe } from '../fixtures/press-load.ts';

interface Case {
  layers: Layer[];
  contactWPerM2K: number;
  initialC: number;
  upperC: number[];
  lowerC: number[];
  /** One row a minute, one value a glue line. */
  linesC: number[][];
}

const { faceEveryS, untilS, cases } = JSON.parse(
  readFileSync(new URL('../fixtures/conduction/cases.json', import.meta.url), 'utf8'),
) as { faceEveryS: number; untilS: number; cases: Case[] };

/** Nominal temperatures of a case as scoring computes them. */
function traced({ layers, contactWPerM2K, initialC, upperC, lowerC }: Case) {
  const layup = { layers, contactWPerM2K, initialC, dryGlue: true };
  const input = pressLoad(untilS / 60, {
    recipe: { ...shellRecipe, layup },
    sensors: { ul: faceSensor, ll: faceSensor },
  });
  const readings = [
    ...upperC.map((value, i) => ({ point: 'ul', tMs: i * faceEveryS * 1000, value })),
    ...lowerC.map((value, i) => ({ point: 'll', tMs: i * faceEveryS * 1000, value })),
  ];
  return trace(input, canonicalReadings(readings));
}

describe('temperatures in scoring', () => {
  it.each(cases.map((each, i) => [i, each] as const))(
    'random lay-up %i: every glue line, every minute, within 0.05 K of SciPy',
    (_i, each) => {
      const { timesMs, lines } = traced(each);
      let compared = 0;
      each.linesC.forEach((row, minute) => {
        const at = timesMs.indexOf((minute + 1) * 60_000);
        row.forEach((expectedC, line) => {
          compared += 1;
          expect(Math.abs((lines[line]?.nominalC[at] ?? NaN) - expectedC)).toBeLessThan(0.05);
        });
      });
      expect(compared).toBe((untilS / 60) * lines.length);
    },
    20_000,
  );

  it('mirrored faces and lay-up give mirrored lines to 1e-9 K', () => {
    for (const each of cases.slice(0, 6)) {
      const { layers, upperC, lowerC } = each;
      const mirrored = { ...each, layers: [...layers].reverse(), upperC: lowerC, lowerC: upperC };
      const straight = traced(each).lines.map(({ nominalC }) => nominalC);
      const turned = traced(mirrored).lines.map(({ nominalC }) => nominalC);
      straight.forEach((line, i) =>
        line.forEach((value, time) => {
          const other = turned[turned.length - 1 - i]?.[time] ?? NaN;
          expect(Math.abs(value - other)).toBeLessThan(1e-9);
        }),
      );
    }
  });
});

const ply = (thicknessMm: number) => ({
  thicknessMm,
  count: 1,
  conductivityWPerMK: 0.17,
  densityKgPerM3: 720,
  heatCapacityJPerKgK: 1700,
});

describe('one step', () => {
  it('of first order keeps the maximum principle, however long it is', () => {
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: 5, max: 150, noNaN: true }), { minLength: 41, maxLength: 41 }),
        fc.double({ min: 5, max: 150, noNaN: true }),
        fc.double({ min: 5, max: 150, noNaN: true }),
        fc.double({ min: 0.01, max: 1e5, noNaN: true }),
        (start, upperC, lowerC, stepS) => {
          const slab = cutSlab([ply(20)]);
          const body = new Conduction(slab, { upperWPerM2K: 500, lowerWPerM2K: 50 }, stepS, 1);
          const tempC = Float64Array.from(slab.depthsMm, (_, i) => start[i] ?? 20);
          const all = [...tempC, upperC, lowerC];
          body.step(tempC, upperC, upperC, lowerC, lowerC);
          expect(Math.min(...tempC)).toBeGreaterThanOrEqual(Math.min(...all) - 1e-9);
          expect(Math.max(...tempC)).toBeLessThanOrEqual(Math.max(...all) + 1e-9);
        },
      ),
      { numRuns: 200, seed: 4 },
    );
  });

  it('of either order keeps energy: insulated, a piece evens out and loses nothing', () => {
    for (const order of [1, 2] as const) {
      const slab = cutSlab([ply(10), ply(5)]);
      const body = new Conduction(slab, { upperWPerM2K: 0, lowerWPerM2K: 0 }, 2, order);
      const tempC = Float64Array.from(slab.depthsMm, (mm) => 20 + mm * mm);
      const energy = () =>
        tempC.reduce((sum, c, i) => sum + c * (slab.capacityJPerM2K[i] ?? NaN), 0);
      const before = energy();
      for (let i = 0; i < 500; i += 1) body.step(tempC, 0, 0, 0, 0);
      expect(Math.abs(energy() / before - 1)).toBeLessThan(1e-12);
    }
  });

  it('converges in its own order in time, and in second order in space', () => {
    const centreC = (stepS: number, order: 1 | 2, share: number) => {
      const slab = cutSlab([ply(20)], share, [10]);
      const contacts = { upperWPerM2K: 500, lowerWPerM2K: 500 };
      const body = new Conduction(slab, contacts, stepS, order);
      const tempC = new Float64Array(slab.depthsMm.length).fill(20);
      for (let s = 0; s < 600; s += stepS) {
        const from = 20 + 0.1 * s;
        body.step(tempC, from, from + 0.1 * stepS, from, from + 0.1 * stepS);
      }
      return tempC[slab.depthsMm.indexOf(10)] ?? NaN;
    };
    const orderOf = (of: (fineness: number) => number) => {
      const [coarse, middle, fine] = [of(1), of(2), of(4)] as const;
      return Math.log2((coarse - middle) / (middle - fine));
    };
    expect(orderOf((fineness) => centreC(20 / fineness, 1, 1 / 40))).toBeCloseTo(1, 0);
    expect(orderOf((fineness) => centreC(20 / fineness, 2, 1 / 40))).toBeGreaterThan(1.8);
    expect(orderOf((fineness) => centreC(1, 2, 1 / (8 * fineness)))).toBeCloseTo(2, 1);
  });
});
