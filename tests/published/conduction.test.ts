import { describe, expect, it } from 'vitest';
import { Conduction, type FaceContacts } from '@setwell/shared-models/heat/conduction';
import { cutSlab, type Slab } from '@setwell/shared-models/heat/slab';

function bar(
  conductivityWPerMK: number,
  densityKgPerM3: number,
  heatCapacityJPerKgK: number,
): Slab {
  const layer = {
    thicknessMm: 100,
    count: 1,
    conductivityWPerMK,
    densityKgPerM3,
    heatCapacityJPerKgK,
  };
  return cutSlab([layer], 1 / 200);
}

function run(
  slab: Slab,
  contacts: FaceContacts,
  startC: number,
  untilS: number,
  stepS: number,
  upperC: (s: number) => number,
  lowerC: (s: number) => number,
): Float64Array {
  const body = new Conduction(slab, contacts, stepS, 2);
  const tempC = new Float64Array(slab.depthsMm.length).fill(startC);
  for (let step = 0; step < Math.round(untilS / stepS); step += 1) {
    const s = step * stepS;
    body.step(tempC, upperC(s), upperC(s + stepS), lowerC(s), lowerC(s + stepS));
  }
  return tempC;
}

const atMm = (slab: Slab, tempC: Float64Array, mm: number) => tempC[slab.depthsMm.indexOf(mm)];

// NIST Fire Dynamics Simulator verification suite, heat_conduction_a; Carslaw & Jaeger §3.10,
// 100 terms, rounding 0.005 K. Lower face convective, upper insulated.
const CASE_A = [
  [200, 20.0, 20.01, 20.23, 24.06, 49.43, 116.02],
  [1000, 24.79, 27.7, 37.43, 55.97, 83.88, 118.22],
  [2000, 42.06, 45.61, 56.06, 72.77, 94.37, 118.75],
];
const CASE_C = [
  [1000, 20.69, 21.22, 23.16, 27.48, 35.38, 47.64],
  [5000, 42.75, 43.88, 47.24, 52.76, 60.26, 69.55],
  [10000, 66.61, 67.4, 69.74, 73.57, 78.77, 85.18],
];

describe('conduction against published temperatures', () => {
  it.each([
    ['Bi 100', CASE_A, 0.1, 100, 100],
    ['Bi 1', CASE_C, 1, 1000, 10],
  ])('slab, one face convective, %s, within 0.02 K', (_name, rows, k, rho, h) => {
    const slab = bar(k, rho, 1000);
    for (const [untilS, ...expectedC] of rows) {
      const tempC = run(
        slab,
        { upperWPerM2K: 0, lowerWPerM2K: h },
        20,
        untilS,
        1,
        () => 20,
        () => 120,
      );
      [0, 20, 40, 60, 80, 100].forEach((mm, index) => {
        expect(Math.abs(atMm(slab, tempC, mm) - expectedC[index])).toBeLessThan(0.02);
      });
    }
  });

  it('ramped surface', () => {
    // NAFEMS P18 T3, target 36.6 °C.
    const slab = bar(35, 7200, 440.5);
    const tempC = run(
      slab,
      { upperWPerM2K: Infinity, lowerWPerM2K: Infinity },
      0,
      32,
      0.1,
      () => 0,
      (s) => 100 * Math.sin((Math.PI * s) / 40),
    );
    expect(atMm(slab, tempC, 80)).toBeCloseTo(36.6, 1);
    expect(Math.abs(atMm(slab, tempC, 80) - 36.603)).toBeLessThan(0.02);
  });
});
