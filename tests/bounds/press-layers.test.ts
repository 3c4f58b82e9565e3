import { readFileSync } from 'node:fs';
import { temperatureCourse } from '@setwell/shared-models/heat/course';
import { cutSlab } from '@setwell/shared-models/heat/slab';
import type { Layer } from '@setwell/shared-models/plant/recipe-schema';
import { canonicalReadings } from '@setwell/shared-models/score/readings';
import { scoreReadings } from '@setwell/shared-models/score/score';
import { trace } from '@setwell/shared-models/score/trace';
import { describe, expect, it } from 'vitest';
import {
  faceSensor,
  pressLoad,
  readingsOf,
  shellRecipe,
  thirteenPlies,
} from '../fixtures/press-load.ts';

interface Case {
  layers: Layer[];
  contactWPerM2K: number;
  initialC: number;
  upperMm: number;
  lowerMm: number;
  upperC: number[];
  lowerC: number[];
  /** One row a minute, one value a glue line. */
  linesC: number[][];
}

interface Cases {
  faceEveryS: number;
  untilS: number;
  platenMetal: { conductivityWPerMK: number; densityKgPerM3: number; heatCapacityJPerKgK: number };
  cases: Case[];
}

const { faceEveryS, untilS, platenMetal, cases } = JSON.parse(
  readFileSync(new URL('../fixtures/conduction/layered-cases.json', import.meta.url), 'utf8'),
) as Cases;

/** Nominal temperatures of a case as scoring computes them. */
function traced({
  layers,
  contactWPerM2K,
  initialC,
  upperMm,
  lowerMm,
  upperC,
  lowerC,
}: Omit<Case, 'linesC'>) {
  const input = pressLoad(untilS / 60, {
    recipe: { ...shellRecipe, layup: { layers, contactWPerM2K, initialC, dryGlue: true } },
    zones: [
      {
        id: 'left',
        upper: 'ul',
        lower: 'll',
        air: null,
        ...(upperMm > 0 ? { upperMetal: { thicknessMm: upperMm, ...platenMetal } } : {}),
        ...(lowerMm > 0 ? { lowerMetal: { thicknessMm: lowerMm, ...platenMetal } } : {}),
      },
    ],
    sensors: { ul: faceSensor, ll: faceSensor },
  });
  const rows = (point: string, valuesC: number[]) =>
    valuesC.map((value, i) => ({ point, tMs: i * faceEveryS * 1000, value }));
  return trace(input, canonicalReadings([...rows('ul', upperC), ...rows('ll', lowerC)]));
}

describe('platen metal, cauls, pads, films and contacts', () => {
  it.each(cases.map((each, i) => [i, each] as const))(
    'lay-up %i: every glue line, every minute, within 0.05 K of SciPy',
    (_i, each) => {
      const { timesMs, lines } = traced(each);
      expect(lines).toHaveLength(each.linesC[0]?.length ?? NaN);
      each.linesC.forEach((row, minute) => {
        const at = timesMs.indexOf((minute + 1) * 60_000);
        row.forEach((expectedC, line) =>
          expect(Math.abs((lines[line]?.nominalC[at] ?? NaN) - expectedC)).toBeLessThan(0.05),
        );
      });
    },
    20_000,
  );

  it('mirrored with their metal they give mirrored lines to 1e-9 K', () => {
    for (const each of cases.slice(0, 4)) {
      const { layers, upperMm, lowerMm, upperC, lowerC } = each;
      const straight = traced(each).lines;
      const turned = traced({
        ...each,
        layers: [...layers].reverse(),
        upperMm: lowerMm,
        lowerMm: upperMm,
        upperC: lowerC,
        lowerC: upperC,
      }).lines;
      straight.forEach(({ nominalC }, i) =>
        nominalC.forEach((value, time) => {
          const other = turned[turned.length - 1 - i]?.nominalC[time] ?? NaN;
          expect(Math.abs(value - other)).toBeLessThan(1e-9);
        }),
      );
    }
  });

  it('depths count from the upper face of the first layer, and the section shows the lay-up alone', () => {
    const [, deep] = cases;
    if (deep === undefined) throw new Error('no case');
    const { section } = traced(deep);
    const thickMm = deep.layers.reduce(
      (sum, layer) => sum + ('thicknessMm' in layer ? layer.thicknessMm : 0),
      0,
    );
    expect(section?.depthsMm[0]).toBeCloseTo(0, 9);
    expect(section?.depthsMm.at(-1)).toBeCloseTo(thickMm, 9);
    expect(section?.tempC[0]).toHaveLength(section?.depthsMm.length ?? NaN);
  });

  it('a contact stops heat as a thin layer of the same resistance does', () => {
    const ply = { thicknessMm: 3, count: 1 } as const;
    const wood = { conductivityWPerMK: 0.17, densityKgPerM3: 720, heatCapacityJPerKgK: 1700 };
    const film = { conductivityWPerMK: 0.002, densityKgPerM3: 1, heatCapacityJPerKgK: 1 };
    const faces = { timesS: [0, 600], upperC: [138, 138], lowerC: [138, 138] };
    const between = (layer: Layer) =>
      temperatureCourse(
        [{ ...ply, ...wood }, layer, { ...ply, ...wood }],
        { upperWPerM2K: 500, lowerWPerM2K: 0 },
        20,
        faces,
        [1.5],
        [60, 300, 600],
      ).tempC.flat();
    const contact = between({ contactWPerM2K: 200 });
    const layer = between({ thicknessMm: 0.01, count: 1, ...film });
    contact.forEach((value, i) => expect(value).toBeCloseTo(layer[i] ?? NaN, 1));
  });

  it('glue lines are where glue is: not at films, pads, cauls, nor across a contact', () => {
    const wood = { material: 'beech', thicknessMm: 1.5 } as const;
    const lines = (layers: Layer[]) => cutSlab(layers).glueLineNodes.length;
    expect(lines([{ ...wood, count: 3 }])).toBe(2);
    expect(lines([{ ...wood, count: 2 }, { contactWPerM2K: 300 }, { ...wood, count: 2 }])).toBe(2);
    const film = {
      thicknessMm: 0.1,
      count: 1,
      conductivityWPerMK: 0.25,
      densityKgPerM3: 1200,
      heatCapacityJPerKgK: 1500,
    };
    expect(lines([film, { ...wood, count: 3 }])).toBe(3);
    expect(
      lines([
        { ...film, tool: true },
        { ...wood, count: 3 },
      ]),
    ).toBe(2);
    expect(
      lines([
        { material: 'silicone', thicknessMm: 3, count: 1 },
        { ...wood, count: 3 },
      ]),
    ).toBe(2);
    const foil = { material: 'aluminium', thicknessMm: 0.5, count: 1, tool: false } as const;
    expect(lines([{ ...wood, count: 1 }, foil, { ...wood, count: 1 }])).toBe(2);
  });

  it('an uncertain contact inside is moved with those of the faces', () => {
    const layers: Layer[] = [
      { material: 'aluminium', thicknessMm: 2, count: 1 },
      { contactWPerM2K: 150 },
      ...thirteenPlies.layers,
    ];
    const down = (contactPct: number) => {
      const layup = { ...thirteenPlies, layers, tolerance: { contactPct } };
      const input = pressLoad(24, { recipe: { ...shellRecipe, layup } });
      const held = () => 138;
      const { budget } = scoreReadings(input, readingsOf({ ul: held, ll: held }, 1440));
      return budget.find(({ term }) => term === 'contact')?.down ?? 0;
    };
    expect(down(0)).toBe(0);
    expect(down(20)).toBeGreaterThan(0.3);
  });
});
