import { createLaw } from '@setwell/shared-models/cure/create-law';
import { Conduction } from '@setwell/shared-models/heat/conduction';
import { cutSlab } from '@setwell/shared-models/heat/slab';
import { canonicalReadings } from '@setwell/shared-models/score/readings';
import { score } from '@setwell/shared-models/score/score';
import { afterAll, expect, it } from 'vitest';
import { faceSensor, platenC, pressLoad, readingsOf, shellRecipe } from '../fixtures/press-load.ts';
import { seededNormal, seededUniform } from '../fixtures/seeded-normal.ts';

/** What one case presses, and how well its inputs are known (half-widths; the sensor's is expanded, k = 2). */
interface Case {
  plies: number;
  minutes: number;
  holdC: number;
  activationEnergyJPerMol: number;
  diffusivityPct: number;
  contactPct: number;
  placeK: number;
  sensorK: number;
  startHalfK: number;
}

const TRIALS = 1000;
const STEP_S = 5;

const cases: Case[] = Array.from({ length: 20 }, (_, i) => {
  const plies = [5, 7, 9, 11, 13][i % 5] ?? 13;
  return {
    plies,
    minutes: 4 + plies * plies * 0.11 + (i % 3) * 2,
    holdC: [128, 134, 138, 142][i % 4] ?? 138,
    activationEnergyJPerMol: [70_000, 90_000, 105_000][i % 3] ?? 90_000,
    diffusivityPct: [8, 4, 10, 0][i % 4] ?? 8,
    contactPct: [20, 30, 0][i % 3] ?? 20,
    placeK: [1.5, 0.5, 2, 0, 1][i % 5] ?? 1.5,
    sensorK: [0.5, 1.3, 0.3][(i + 1) % 3] ?? 0.5,
    startHalfK: [0, 5, 10, 0][(i + 1) % 4] ?? 0,
  };
});

const layersOf = ({ plies }: Case) => [
  {
    thicknessMm: 1.5,
    count: plies,
    conductivityWPerMK: 0.17,
    densityKgPerM3: 720,
    heatCapacityJPerKgK: 1700,
  },
];

const lawOf = ({ activationEnergyJPerMol }: Case) =>
  ({
    form: 'equivalent-time',
    referenceC: 135,
    activationEnergyJPerMol,
    source: 'invented for the tests',
  }) as const;

const faceC = ({ holdC }: Case, s: number) => platenC(s) + holdC - 138;

/**
 * Distribution of the measure at the last and at the first line to cure, when every input is drawn.
 *
 * @source JCGM 101:2008, 5.9 and 7: rectangular for half-widths, normal for an expanded uncertainty
 */
function drawn(of: Case, seed: number): { last: number[]; first: number[] } {
  const normal = seededNormal(seed);
  const uniform = seededUniform(seed + 1000);
  const within = (half: number) => half * (2 * uniform() - 1);
  const slab = cutSlab(layersOf(of));
  const law = createLaw(lawOf(of));
  const lastNode = slab.glueLineNodes[Math.floor((of.plies - 1) / 2)] ?? 0;
  const firstNode = slab.glueLineNodes[0] ?? 0;
  const last: number[] = [];
  const first: number[] = [];
  const steps = Math.round((of.minutes * 60) / STEP_S);
  for (let trial = 0; trial < TRIALS; trial += 1) {
    const shiftK = 0.5 * of.sensorK * normal() + within(of.placeK);
    const contact = 500 * (1 + within(of.contactPct / 100));
    const diffusivity = 1 + within(of.diffusivityPct / 100);
    const startC = 20 + within(of.startHalfK);
    const contacts = { upperWPerM2K: contact, lowerWPerM2K: contact };
    const body = new Conduction(slab, contacts, STEP_S, 2, { diffusivity, contact: 1 });
    const tempC = new Float64Array(slab.depthsMm.length).fill(startC);
    let lastState = law.initial;
    let firstState = law.initial;
    for (let i = 0; i < steps; i += 1) {
      const lastC = tempC[lastNode] ?? NaN;
      const firstC = tempC[firstNode] ?? NaN;
      const from = faceC(of, i * STEP_S) + shiftK;
      const to = faceC(of, (i + 1) * STEP_S) + shiftK;
      body.step(tempC, from, to, from, to);
      lastState = law.advance(lastState, lastC, tempC[lastNode] ?? NaN, STEP_S);
      firstState = law.advance(firstState, firstC, tempC[firstNode] ?? NaN, STEP_S);
    }
    last.push(law.value(lastState));
    first.push(law.value(firstState));
  }
  return { last, first };
}

const pointOf = (values: number[], share: number) =>
  [...values].sort((a, b) => a - b)[Math.floor(share * values.length)] ?? NaN;

/** How far each end stood from its point, as shares of the nominal. */
const shares: number[] = [];

afterAll(() => {
  const within = (share: number) => shares.filter((each) => each < share).length;
  const worst = (100 * Math.max(...shares)).toFixed(1);
  const counts = `${within(0.06)} of ${shares.length} ends within 6 % of nominal, ${within(0.03)} within 3 %`;
  console.info(`${cases.length} cases of ${TRIALS} trials: ${counts}, the worst ${worst} %`);
});

/** Two-sided 95.4 %: what k = 2 stands for. */
const LOW = 0.0228;
const HIGH = 0.9772;

it.each(cases.map((each, i) => [i, each] as const))(
  'case %i: low and high stand at the 2.3 and 97.7 percent points, within 6 percent of the nominal',
  (seed, of) => {
    const { diffusivityPct, contactPct, placeK, sensorK, startHalfK } = of;
    const recipe = {
      ...shellRecipe,
      law: lawOf(of),
      plannedMin: of.minutes,
      limits: [{ phase: 'hold' as const, minC: of.holdC - 2, maxC: of.holdC + 2 }],
      layup: {
        layers: layersOf(of),
        contactWPerM2K: 500,
        dryGlue: true,
        initialC: { least: 20 - startHalfK, most: 20 + startHalfK },
        tolerance: { diffusivityPct, contactPct, placeK },
      },
    };
    const sensor = { ...faceSensor, expandedK: sensorK };
    const input = pressLoad(of.minutes, { recipe, sensors: { ul: sensor, ll: sensor } });
    const course = (s: number) => faceC(of, s);
    const readings = readingsOf({ ul: course, ll: course }, of.minutes * 60);
    const { places } = score(input, canonicalReadings(readings));
    const last = places[Math.floor((of.plies - 1) / 2)];
    const first = places[0];
    const trials = drawn(of, seed + 1);
    const share = (value: number | undefined, point: number, nominal: number | undefined) =>
      Math.abs((value ?? NaN) - point) / (nominal ?? NaN);
    const ends = [
      share(last?.low, pointOf(trials.last, LOW), last?.nominal),
      share(last?.high, pointOf(trials.last, HIGH), last?.nominal),
      share(first?.high, pointOf(trials.first, HIGH), first?.nominal),
      share(first?.low, pointOf(trials.first, LOW), first?.nominal),
    ];
    shares.push(...ends);
    for (const each of ends) expect(each).toBeLessThan(0.06);
  },
  60_000,
);
