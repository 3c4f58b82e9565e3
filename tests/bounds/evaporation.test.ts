import { readFileSync } from 'node:fs';
import { WetConduction } from '@setwell/shared-models/heat/evaporation';
import { cutSlab } from '@setwell/shared-models/heat/slab';
import { canonicalReadings } from '@setwell/shared-models/score/readings';
import { trace } from '@setwell/shared-models/score/trace';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { faceSensor, pressLoad, shellRecipe } from '../fixtures/press-load.ts';

const boilingC = 99.974;
const latentJPerKg = 2.2565e6;

const ply = {
  thicknessMm: 1.5,
  conductivityWPerMK: 0.17,
  densityKgPerM3: 720,
  heatCapacityJPerKgK: 1700,
};

/** Nine plies between two faces from cold; water gone from each line and temperatures in the end. */
function pressed(stepS: number, order: 1 | 2, untilS: number, faceC: number, waterKgPerM2: number) {
  const slab = cutSlab([{ ...ply, count: 9 }]);
  const body = new WetConduction(slab, { upperWPerM2K: 500, lowerWPerM2K: 500 }, stepS, order);
  const tempC = new Float64Array(slab.depthsMm.length).fill(20);
  const water = new Float64Array(8).fill(waterKgPerM2);
  for (let s = 0; s < untilS - 1e-9; s += stepS) {
    body.step(tempC, water, faceC, faceC, faceC, faceC);
  }
  return { slab, tempC, water };
}

describe('water in glue lines', () => {
  it('as scored, agrees with explicit enthalpy differences in which each glue line is a volume', () => {
    const [, ...rows] = readFileSync(
      new URL('../fixtures/conduction/piece-wet.csv', import.meta.url),
      'utf8',
    )
      .trim()
      .split('\n')
      .map((line) => line.split(',').map(Number));
    // As the run was made: contact 610, diffusivity 0.95, faces 0.8 K hotter than read, 40 % of 80 g/m².
    const layup = {
      layers: [{ ...ply, conductivityWPerMK: 0.95 * 0.17, count: 9 }],
      contactWPerM2K: 610,
      evaporation: { waterKgPerM2PerLine: 0.08, share: [0.4, 0.4] as [number, number] },
      initialC: 18.5,
    };
    const face = (point: string, column: number) =>
      rows.map((row) => ({
        point,
        tMs: (row[0] ?? NaN) * 1000,
        value: Math.round(((row[column] ?? NaN) + 0.8) * 1000) / 1000,
      }));
    const { timesMs, lines } = trace(
      pressLoad(20, {
        recipe: { ...shellRecipe, layup },
        sensors: { ul: faceSensor, ll: faceSensor },
      }),
      canonicalReadings([...face('ll', 2), ...face('ul', 1)]),
    );
    let squares = 0;
    let compared = 0;
    rows.forEach((row) => {
      const at = timesMs.indexOf((row[0] ?? NaN) * 1000);
      if (at < 0 || row[0] === 0) return;
      [1, 3, 5, 8].forEach((line, column) => {
        const missK = (row[3 + column] ?? NaN) - (lines[line - 1]?.nominalC[at] ?? NaN);
        // Four standard deviations of the run's noise.
        expect(Math.abs(missK)).toBeLessThan(0.6);
        squares += missK * missK;
        compared += 1;
      });
    });
    expect(compared).toBeGreaterThan(400);
    expect(Math.sqrt(squares / compared)).toBeLessThan(0.17);
  });

  it('the plateau’s length does not hang on the step', () => {
    const leftAt = (stepS: number, order: 1 | 2) =>
      pressed(stepS, order, 350, 138, 0.032).water.map((each) => 1000 * each);
    const fine = leftAt(0.05, 2);
    leftAt(1, 2).forEach((gPerM2, line) =>
      expect(Math.abs(gPerM2 - (fine[line] ?? NaN))).toBeLessThan(0.1),
    );
    leftAt(1, 1).forEach((gPerM2, line) =>
      expect(Math.abs(gPerM2 - (fine[line] ?? NaN))).toBeLessThan(0.3),
    );
    expect(Math.max(...fine)).toBeGreaterThan(5);
    expect(Math.min(...fine)).toBe(0);
  });

  it('keeps energy: insulated, what warms the wood and drives out water is what was there', () => {
    for (const order of [1, 2] as const) {
      const slab = cutSlab([{ ...ply, count: 4 }]);
      const body = new WetConduction(slab, { upperWPerM2K: 0, lowerWPerM2K: 0 }, 2, order);
      const tempC = Float64Array.from(slab.depthsMm, (mm) => 60 + 20 * mm);
      const water = new Float64Array(3).fill(0.01);
      const heat = () =>
        tempC.reduce((sum, c, i) => sum + c * (slab.capacityJPerM2K[i] ?? NaN), 0) -
        latentJPerKg * water.reduce((sum, each) => sum + each, 0);
      const before = heat();
      for (let i = 0; i < 400; i += 1) body.step(tempC, water, 0, 0, 0, 0);
      expect(Math.abs(heat() / before - 1)).toBeLessThan(1e-11);
      expect(Math.min(...water)).toBeLessThan(0.01);
    }
  });

  it('of first order, a hotter face or less water never leaves a line colder', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 95, max: 150, noNaN: true }),
        fc.double({ min: 0, max: 10, noNaN: true }),
        fc.double({ min: 0, max: 0.1, noNaN: true }),
        fc.double({ min: 0, max: 1, noNaN: true }),
        fc.integer({ min: 1, max: 60 }),
        (faceC, hotterK, water, share, stepS) => {
          const cool = pressed(stepS, 1, 1200, faceC, water);
          const hot = pressed(stepS, 1, 1200, faceC + hotterK, water * share);
          cool.tempC.forEach((c, i) => expect(hot.tempC[i]).toBeGreaterThanOrEqual(c - 1e-7));
        },
      ),
      { numRuns: 60, seed: 9 },
    );
  });

  it('holds a line at the boiling point while it has water, and not after', () => {
    const { slab, tempC, water } = pressed(1, 2, 350, 138, 0.032);
    slab.glueLineNodes.forEach((node, line) => {
      if ((water[line] ?? 0) > 0) expect(tempC[node]).toBeLessThanOrEqual(boilingC + 1e-9);
      else expect(tempC[node]).toBeGreaterThan(boilingC);
    });
  });

  it('without water it is the slab that it is', () => {
    const dry = pressed(1, 2, 300, 138, 0);
    expect(Math.max(...dry.tempC)).toBeLessThan(138);
    expect(dry.water.every((each) => each === 0)).toBe(true);
  });
});
