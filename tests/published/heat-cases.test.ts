import { Conduction } from '@setwell/shared-models/heat/conduction';
import { temperatureCourse } from '@setwell/shared-models/heat/course';
import { materialOf } from '@setwell/shared-models/heat/materials';
import { cutSlab } from '@setwell/shared-models/heat/slab';
import { woodThermal } from '@setwell/shared-models/heat/wood';
import { canonicalReadings } from '@setwell/shared-models/score/readings';
import { trace } from '@setwell/shared-models/score/trace';
import { describe, expect, it } from 'vitest';
import { faceSensor, platenC, pressLoad, readingsOf, shellRecipe } from '../fixtures/press-load.ts';

const layer = (
  thicknessMm: number,
  conductivityWPerMK: number,
  densityKgPerM3: number,
  heatCapacityJPerKgK: number,
) => ({ thicknessMm, count: 1, conductivityWPerMK, densityKgPerM3, heatCapacityJPerKgK });

const constant = (upperC: number, lowerC: number, untilS: number) => ({
  timesS: [0, untilS],
  upperC: [upperC, upperC],
  lowerC: [lowerC, lowerC],
});

describe('conduction', () => {
  // NIST Fire Dynamics Simulator verification suite, ht3d_slab: k 1, ρcp 1000, h 1, from 1000 into 0 °C.
  it('a half-space that loses heat by convection, at its face and inside, within 0.02 K', () => {
    const contacts = { upperWPerM2K: 1, lowerWPerM2K: 0 };
    const at = (mm: number, s: number) => {
      // Deep enough that nothing comes back from the far face: eight times √(α·t).
      const deepM = 8 * Math.sqrt(0.001 * s);
      const halfSpace = Array.from({ length: 20 }, () => layer(50 * deepM, 1, 1000, 1));
      const faces = constant(0, 0, s);
      return temperatureCourse(halfSpace, contacts, 1000, faces, [mm], [s]).tempC[0]?.[0] ?? NaN;
    };
    for (const [s, expectedC] of [
      [36.734694, 815.77423],
      [514.285714, 519.28439],
      [1800, 349.546036],
    ] as const) {
      expect(Math.abs(at(0, s) - expectedC)).toBeLessThan(0.02);
    }
    expect(Math.abs(at(500, 200) - 882.390488)).toBeLessThan(0.02);
    expect(Math.abs(at(500, 1000) - 621.864043)).toBeLessThan(0.02);
  });

  // Plane wall, one-term series: ζ₁ tan ζ₁ = Bi and C₁; Incropera et al., table 5.1 (typed from memory),
  // digits by the equation itself.
  it.each([
    [0.1, 0.311053, 1.016094],
    [1, 0.860334, 1.119132],
    [10, 1.42887, 1.261963],
    [100, 1.555245, 1.273088],
  ])('a plane wall at Bi %d follows the one-term series late on', (biot, zeta, c1) => {
    const halfM = 0.05;
    const contacts = { upperWPerM2K: biot / halfM, lowerWPerM2K: biot / halfM };
    const alpha = 1e-6;
    const fo = 0.8;
    const s = (fo * halfM * halfM) / alpha;
    const wall = [layer(100, 1, 1000, 1000)];
    const centreC = temperatureCourse(wall, contacts, 100, constant(0, 0, s), [50], [s])
      .tempC[0]?.[0];
    expect(Math.abs((centreC ?? NaN) - 100 * c1 * Math.exp(-zeta * zeta * fo))).toBeLessThan(0.02);
  });

  // NIST Fire Dynamics Simulator verification suite, thermocouple_time_constant: 20 to 30 °C, read after 1
  // and 5 s. A thin, well-conducting bead is a slab with one temperature: τ = ρ c L / h on one face.
  it.each([
    [0.5, 28.647, 30.0],
    [3, 22.835, 28.111],
    [8, 21.175, 24.647],
  ])('a bead with a time constant of %d s lags as it should', (tauS, after1C, after5C) => {
    const bead = [layer(1, 400, 1000, 1000)];
    const contacts = { upperWPerM2K: (0.001 * 1000 * 1000) / tauS, lowerWPerM2K: 0 };
    const { tempC } = temperatureCourse(bead, contacts, 20, constant(30, 30, 5), [0.5], [1, 5]);
    expect(Math.abs((tempC[0]?.[0] ?? NaN) - after1C)).toBeLessThan(0.02);
    expect(Math.abs((tempC[1]?.[0] ?? NaN) - after5C)).toBeLessThan(0.02);
  });
});

describe('wood and boards', () => {
  // USDA Wood Handbook FPL-GTR-190, ch. 4: k = G(B + C·x) + A at about 24 °C, cp by eq. 4-16 and 4-17; worked
  // values in the tests of the public repository wigging/chemics. Ours is taken at 350 K throughout.
  it('conductivity is the handbook’s, warmed by its 2 to 3 % for 10 K', () => {
    const gravity = 0.5;
    const wood = woodThermal('own', 12, 1000 * gravity * 1.12);
    const handbookWPerMK = 0.140074;
    const share = (wood?.conductivityWPerMK ?? NaN) / handbookWPerMK;
    expect(share).toBeGreaterThan(1 + 0.02 * 5.3);
    expect(share).toBeLessThan(1 + 0.03 * 5.3);
  });

  it('heat capacity is the handbook’s, from its temperature to ours', () => {
    const of = (moisturePct: number) =>
      (woodThermal('beech', moisturePct, null)?.heatCapacityJPerKgK ?? NaN) / 1000;
    const perK = (moisturePct: number) =>
      0.003867 / (1 + moisturePct / 100) + 2.36e-4 * moisturePct;
    expect(of(12)).toBeCloseTo(1.9146 + 10 * perK(12), 3);
    expect(of(8)).toBeCloseTo(1.94189 - 23.15 * perK(8), 3);
  });

  // DIN EN 12524:2000, table 1.
  it.each([
    ['plywood', 300, 0.09],
    ['plywood', 700, 0.17],
    ['particleboard', 600, 0.14],
    ['fibreboard', 800, 0.18],
  ])('%s of %d kg/m³ conducts as its table says', (material, densityKgPerM3, expected) => {
    const own = materialOf({ material, densityKgPerM3, thicknessMm: 10, count: 1 });
    expect(own?.conductivityWPerMK).toBeCloseTo(expected, 6);
  });

  // USDA Wood Handbook FPL-GTR-190, table 20-4: green hardwood from 60 to 133 °F at the centre in 157 °F, mean of
  // five species: 1×6 in 13.2 min, 2×6 in 48.6 min. Diffusivity 0.161 mm²/s (typed from memory). One
  // dimension where the board is wide: within 25 %, and thickness counts squared.
  it('boards of the handbook are heated through in about its minutes', () => {
    const celsius = (f: number) => (f - 32) / 1.8;
    const minutesOf = (inches: number) => {
      const board = [layer(25.4 * inches, 0.161, 1000, 1000)];
      const contacts = { upperWPerM2K: Infinity, lowerWPerM2K: Infinity };
      const timesS = Array.from({ length: 601 }, (_, i) => 10 * i);
      const steam = celsius(157);
      const { tempC } = temperatureCourse(
        board,
        contacts,
        celsius(60),
        { timesS: [0, 6000], upperC: [steam, steam], lowerC: [steam, steam] },
        [12.7 * inches],
        timesS,
      );
      return (tempC.findIndex(([c]) => (c ?? NaN) >= celsius(133)) * 10) / 60;
    };
    expect(Math.abs(minutesOf(1) / 13.2 - 1)).toBeLessThan(0.25);
    expect(Math.abs(minutesOf(2) / 48.6 - 1)).toBeLessThan(0.25);
    expect(minutesOf(2) / minutesOf(1)).toBeCloseTo(4, 1);
  });
});

describe('what presses are known to do', () => {
  // Common practice, no source: about 20 mm of moulded plies between platens at 135 to 140 °C are pressed 20
  // to 25 min; so the middle must have passed 130 °C somewhere between 12 and 20 min.
  it('a 20 mm lay-up of beech is hot in its middle between 12 and 20 min', () => {
    const layup = {
      layers: [{ material: 'beech', thicknessMm: 1.54, count: 13, moisturePct: 8 }],
      contactWPerM2K: 500,
      dryGlue: true,
      initialC: 20,
    };
    const input = pressLoad(25, {
      recipe: { ...shellRecipe, layup },
      sensors: { ul: faceSensor, ll: faceSensor },
    });
    const { timesMs, lines } = trace(
      input,
      canonicalReadings(readingsOf({ ul: platenC, ll: platenC }, 1500)),
    );
    const passed = lines[5]?.nominalC.findIndex((c) => c >= 130) ?? -1;
    const minutes = (timesMs[passed] ?? NaN) / 60_000;
    expect(minutes).toBeGreaterThan(12);
    expect(minutes).toBeLessThan(20);
  });

  it('a hot piece pressed again, and one that comes into cold air, go the right way and stay between', () => {
    const slab = cutSlab([layer(20, 0.17, 720, 1700)]);
    const through = (startC: number, airC: number, contact: number, untilS: number) => {
      const contacts = { upperWPerM2K: contact, lowerWPerM2K: contact };
      const body = new Conduction(slab, contacts, 1, 2);
      const tempC = new Float64Array(slab.depthsMm.length).fill(startC);
      for (let s = 0; s < untilS; s += 1) body.step(tempC, airC, airC, airC, airC);
      return tempC;
    };
    const again = through(90, 138, 500, 300);
    const fresh = through(20, 138, 500, 300);
    again.forEach((c, i) => expect(c).toBeGreaterThan(fresh[i] ?? NaN));
    expect(Math.max(...again)).toBeLessThan(138);
    const cooled = through(120, 5, 10, 1800);
    expect(Math.max(...cooled)).toBeLessThan(120);
    expect(Math.min(...cooled)).toBeGreaterThan(5);
    // Its faces are colder than its middle.
    expect(cooled[0]).toBeLessThan(cooled[Math.floor(cooled.length / 2)] ?? NaN);
  });
});
