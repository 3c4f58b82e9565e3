import { carriedFaces } from '@setwell/shared-models/score/cold-tool';
import { foldLoad } from '@setwell/shared-models/score/fold';
import { scoreReadings } from '@setwell/shared-models/score/score';
import type { CarriedFace, ScoreInput } from '@setwell/shared-models/score/shape';
import { describe, expect, it } from 'vitest';
import {
  faceSensor,
  platenC,
  pressLoad,
  readingsOf,
  shellRecipe,
  thirteenPlies,
} from '../fixtures/press-load.ts';

const minute = 60_000;

// A wood former of 30 mm on top, a thin shell below, the heat from below alone.
const former = {
  thicknessMm: 10,
  count: 1,
  conductivityWPerMK: 160,
  densityKgPerM3: 2800,
  heatCapacityJPerKgK: 880,
};
const formerJPerM2K = 0.01 * 2800 * 880;

function oneSided(carried: CarriedFace[] | null, plies = 3): ScoreInput {
  const layers = [former, { ...thirteenPlies.layers[0]!, count: plies } as typeof former];
  const base = pressLoad(15, {
    zones: [{ id: 'left', upper: null, lower: 'll', air: null }],
    sensors: { ll: faceSensor },
    recipe: { ...shellRecipe, layup: { ...thirteenPlies, layers } },
  });
  return {
    ...base,
    station: { ...base.station, heating: 'one-sided' },
    ...(carried === null ? {} : { carried }),
  };
}

const rows = readingsOf({ ll: platenC }, 900);
const left = (c: number, ageMin: number): CarriedFace[] => [
  { zone: 'left', lowC: c - 2, nominalC: c, highC: c + 2, atMs: -ageMin * minute },
];
const worstOf = (input: ScoreInput) => {
  const [place] = scoreReadings(input, rows).places;
  if (place === undefined) throw new Error('no place');
  return place;
};

describe('a tool that nothing heats, from closing to closing', () => {
  it('begins as the closing before left it: a warm one cures more', () => {
    const [cold, warm] = [worstOf(oneSided(left(30, 1))), worstOf(oneSided(left(90, 1)))];
    expect(warm.nominal).toBeGreaterThan(cold.nominal + 1);
    expect(warm.low).toBeGreaterThan(cold.low);
    expect(warm.high).toBeGreaterThan(cold.high);
  });

  it('where no closing is known it may be anything, and the interval says so', () => {
    const unknown = worstOf(oneSided(null));
    for (const c of [15, 60, 120]) {
      const known = worstOf(oneSided(left(c, 1)));
      expect(unknown.low).toBeLessThanOrEqual(known.low);
      expect(unknown.high).toBeGreaterThanOrEqual(known.high);
    }
    const budget = scoreReadings(oneSided(null), rows).budget;
    expect(budget.find(({ term }) => term === 'gap')?.up).toBeGreaterThan(1);
  });

  it('a break lets low lose heat to still air, and high none', () => {
    const [soon, late] = [worstOf(oneSided(left(90, 1))), worstOf(oneSided(left(90, 40)))];
    expect(late.low).toBeLessThan(soon.low);
    expect(late.high).toBe(soon.high);
    // 10 W/(m²K) to 10 °C on one face, by hand.
    const afterC = 10 + (88 - 10) * Math.exp((-10 * 40 * 60) / formerJPerM2K);
    const same = worstOf(oneSided([{ ...left(90, 0)[0]!, lowC: afterC, atMs: 0 }]));
    expect(late.low).toBeCloseTo(same.low, 9);
  });

  it('is handed on between what it may least and most have become', () => {
    const fold = foldLoad(oneSided(left(40, 1)), rows);
    const [face] = carriedFaces(fold);
    expect(face).toMatchObject({ zone: 'left', atMs: 15 * minute });
    const { lowC = NaN, nominalC = NaN, highC = NaN } = face ?? {};
    expect(lowC).toBeLessThan(nominalC);
    expect(nominalC).toBeLessThan(highC);
    expect(nominalC).toBeGreaterThan(60);
    expect(highC).toBeLessThan(138);
    // A press heated from both sides has none.
    expect(
      carriedFaces(foldLoad(pressLoad(15), readingsOf({ ul: platenC, ll: platenC }, 900))),
    ).toEqual([]);
  });

  it('heat through the whole of it: nominal agrees with explicit differences', () => {
    const face = carriedFaces(foldLoad(oneSided(left(40, 1)), rows))[0]?.nominalC ?? NaN;
    // Twenty pieces through 4.5 mm of wood, the former as one mass, its upper face without loss.
    const dx = 0.0045 / 20;
    const store = 720 * 1700 * dx;
    const g = 0.17 / dx;
    const wood = new Array<number>(20).fill(20);
    let toolC = 0.5 * (10 + (38 - 10) * Math.exp((-10 * 60) / formerJPerM2K) + 40);
    const dt = 0.05;
    for (let s = 0; s < 900; s += dt) {
      const before = [...wood];
      const inC = (i: number) => before[i] ?? NaN;
      const fromTool = 2 * g * (toolC - inC(0));
      for (let i = 0; i < 20; i += 1) {
        const up = i === 0 ? fromTool : g * (inC(i - 1) - inC(i));
        const down =
          i === 19 ? (platenC(s) - inC(i)) / (1 / 500 + dx / 2 / 0.17) : g * (inC(i + 1) - inC(i));
        wood[i] = inC(i) + ((up + down) * dt) / store;
      }
      toolC -= (fromTool * dt) / formerJPerM2K;
    }
    expect(Math.abs(face - toolC)).toBeLessThan(0.3);
  });
});
