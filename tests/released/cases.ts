import type { LawSpec } from '@setwell/shared-models/cure/law-spec';
import type { Recipe } from '@setwell/shared-models/plant/recipe-schema';
import { canonicalReadings, type RawReading } from '@setwell/shared-models/score/readings';
import { carriedTo, scoreCoats } from '@setwell/shared-models/score/coats';
import type { ScoreInput } from '@setwell/shared-models/score/shape';
import {
  exactly,
  faceSensor,
  openLoad,
  platenC,
  pressLoad,
  readingsOf,
  shellRecipe,
  thirteenPlies,
} from '../fixtures/press-load.ts';

/** A load whose verdict a released model may never change by a bit. */
export interface ReleasedCase {
  name: string;
  input: ScoreInput;
  readings: RawReading[];
}

const both = (course: (s: number) => number) => ({ ul: course, ll: course });

/** Noise that is the same everywhere: no `Math.sin`, whose last bit is the machine's own. */
const jagged = (s: number) => ((s * 7919) % 21) / 100 - 0.1;

const pressed = (s: number) => Math.round(100 * (platenC(s) + jagged(s))) / 100;

const instrument = {
  ...faceSensor,
  resolutionK: 0.1,
  noiseK: 0.06,
  corrections: [
    { atC: 100, correctionK: -0.2 },
    { atC: 140, correctionK: -0.35 },
  ],
};

const instruments = { ul: instrument, ll: instrument };

function press(
  name: string,
  minutes: number,
  changed: Partial<ScoreInput> = {},
  keep: (reading: RawReading) => boolean = () => true,
): ReleasedCase {
  const input = pressLoad(minutes, { sensors: instruments, ...changed });
  return { name, input, readings: readingsOf(both(pressed), minutes * 60, 5).filter(keep) };
}

const recipeWith = (changed: Partial<typeof shellRecipe>): Recipe => ({
  ...shellRecipe,
  ...changed,
});

const wet = recipeWith({
  layup: {
    ...thirteenPlies,
    dryGlue: false,
    evaporation: { waterKgPerM2PerLine: 0.08, share: [0.1, 0.6] },
  },
});

const law = (spec: object) => ({ source: 'invented for the tests', ...spec }) as LawSpec;

/** A station that is no press: its air, its kind, its recipe. */
function inAir(
  name: string,
  kind: 'rack' | 'oven' | 'store',
  minutes: number,
  recipe: object,
  airC: (s: number) => number,
  changed: Partial<ScoreInput> = {},
): ReleasedCase {
  const plain = pressLoad(minutes);
  const input: ScoreInput = {
    ...plain,
    station: {
      ...plain.station,
      id: `${kind}-1`,
      kind,
      maxHeatingKPerMin: kind === 'oven' ? 8 : 1,
      maxCoolingKPerMin: kind === 'oven' ? 8 : 1,
      loadingDropKPerMin: null,
      supplyMaxC: kind === 'oven' ? 80 : 35,
      surroundingsMinC: 5,
    },
    zones: [{ id: 'bay', upper: null, lower: null, air: 'air' }],
    recipe: { id: name, kind, title: name, requirements: [], ...recipe } as unknown as Recipe,
    plannedEndMs: minutes * 60_000,
    sensors: { air: { ...faceSensor, resolutionK: 0.1 } },
    ...changed,
  };
  const everyS = kind === 'oven' ? 5 : 300;
  return { name, input, readings: readingsOf({ air: airC }, minutes * 60, everyS) };
}

const lacquer = law({
  form: 'equivalent-time',
  referenceC: 60,
  activationEnergyJPerMol: 70_000,
  validC: [40, 75],
});

/** One bake of a coat, 40 min of it, so many hours after the first. */
function coatBake(coat: number, hours: number, ofCoat: object = {}): ReleasedCase {
  const recipe = {
    coat,
    law: lacquer,
    window: { step: { least: 10, most: 50 }, total: { least: 10, most: 90 } },
    places: ['lip', 'centre'].map((id, i) => ({
      id,
      part: { timeConstantMin: 4 + 6 * i, initialC: 22, tolerance: { placeK: 1 } },
    })),
    ...ofCoat,
  };
  const laterMs = hours * 3_600_000;
  const plain = inAir(`coat-${coat}`, 'oven', 40, recipe, (s) => 61 + coat / 4 + jagged(s));
  const { input } = plain;
  const later = (mark: { earliestMs: number; latestMs: number } | null) =>
    mark && exactly(mark.earliestMs + laterMs);
  return {
    ...plain,
    readings: plain.readings.map((each) => ({ ...each, tMs: each.tMs + laterMs })),
    input: {
      ...input,
      load: `O-${coat}`,
      zones: ['lip', 'centre'].map((place) => ({
        ...{ id: `bay/${place}`, upper: null, lower: null, air: 'air', place },
      })),
      startMs: input.startMs + laterMs,
      endMs: (input.endMs ?? 0) + laterMs,
      asOfMs: input.asOfMs + laterMs,
      plannedEndMs: (input.plannedEndMs ?? 0) + laterMs,
      marks: {
        contact: null,
        pressureOn: exactly(input.marks.pressureOn.earliestMs + laterMs),
        releaseStart: later(input.marks.releaseStart),
        open: null,
      },
    },
  };
}

/** Coat 4 on coats 1, 2 and 3, of which the second was never baked and the first cures by another law. */
function fourthCoat(): ReleasedCase {
  const primer = law({ form: 'n-th-order', aPerS: 8e6, activationEnergyJPerMol: 68_000, n: 2 });
  const window = { step: { least: 0.2, most: 0.99 }, total: { least: 0.2, most: 0.98 } };
  const earlier = [coatBake(1, 0, { law: primer, window }), coatBake(3, 30)].map(
    ({ input, readings }) => ({ input, readingsCsv: canonicalReadings(readings) }),
  );
  const fourth = coatBake(4, 44);
  const coats = carriedTo(fourth.input, scoreCoats(earlier));
  return { ...fourth, name: 'fourth-coat', input: { ...fourth.input, coats } };
}

export const releasedCases: ReleasedCase[] = [
  press('good', 24),
  press('opened-early', 18),
  { ...press('running', 15), input: openLoad(pressLoad(15, { sensors: instruments }), 905_400) },
  press('link-lost', 24, {}, ({ tMs }) => tMs < 840_000 || tMs > 1_080_000),
  press('upper-lost', 24, {}, ({ point, tMs }) => point !== 'ul' || tMs < 960_000),
  press('never-read', 24, {}, ({ point }) => point !== 'll'),
  press('wet', 30, { recipe: wet }),
  press('marks', 24, {
    marks: {
      contact: { earliestMs: 0, latestMs: 4000 },
      pressureOn: { earliestMs: 40_000, latestMs: 55_500 },
      releaseStart: { earliestMs: 1_320_000, latestMs: 1_335_000 },
      open: exactly(1_440_000),
    },
    recipe: recipeWith({
      window: { least: 6, most: 40, noReturn: 2 },
      requirements: [
        { kind: 'precure', most: 0.5, contactToPressureMaxS: 120, coveredBy: 'measured' },
      ],
    }),
  }),
  press('requirements', 16, {
    marks: {
      contact: exactly(0),
      pressureOn: exactly(30_000),
      releaseStart: exactly(900_000),
      open: exactly(960_000),
    },
    recipe: recipeWith({
      limits: [
        { phase: 'before-load', minC: 136, maxC: 140 },
        { phase: 'recovery', withinMin: 5 },
        { phase: 'hold', minC: 136, maxC: 137.9 },
      ],
      requirements: [
        {
          kind: 'moisture',
          minPct: 8,
          maxPct: 11,
          coveredBy: 'sampled',
          severity: { short: 'deviation' },
        },
        { kind: 'assembly-time', openMaxMin: 10, closedMaxMin: 20, coveredBy: 'entered' },
        { kind: 'piece-temperature', minC: 15, coveredBy: { notMonitored: 'WI-11' } },
        { kind: 'face-difference', maxK: 3, coveredBy: 'measured' },
        {
          kind: 'mix-age',
          maxMin: 30,
          referenceC: 20,
          activationEnergyJPerMol: 50_000,
          coveredBy: 'entered',
        },
      ],
    }),
    events: [
      {
        event: 'mix',
        earliestMs: -1_500_000,
        latestMs: -1_500_000,
        numbers: { tempC: 22.5 },
        names: { mix: 'M-1' },
      },
      {
        event: 'spread',
        earliestMs: -900_000,
        latestMs: -900_000,
        numbers: {},
        names: { mix: 'M-1' },
      },
      {
        event: 'moisture',
        earliestMs: -880_000,
        latestMs: -880_000,
        numbers: { pct: 7.6, expandedPct: 0.2 },
        names: {},
      },
      { event: 'assembled', earliestMs: -500_000, latestMs: -420_000, numbers: {}, names: {} },
    ],
  }),
  press('kinetic', 20, {
    recipe: recipeWith({
      law: law({
        form: 'autocatalytic',
        k1: { aPerS: 3.5e4, activationEnergyJPerMol: 62_000 },
        k2: { aPerS: 9.1e4, activationEnergyJPerMol: 58_000 },
        m: 0.85,
        n: 1.2,
      }),
      window: { least: 0.6, mostNone: 'nothing harms it' },
    }),
  }),
  press('z-value', 24, {
    recipe: recipeWith({ law: law({ form: 'z-value', referenceC: 130, zK: 22 }) }),
  }),
  press('radio-frequency', 10, {
    station: { ...pressLoad(10).station, heating: 'radio-frequency' },
  }),
  inAir(
    'rack',
    'rack',
    130,
    {
      law: law({
        form: 'equivalent-time',
        referenceC: 20,
        activationEnergyJPerMol: 45_000,
        floorC: 10,
      }),
      window: { least: 90, mostNone: 'nothing harms it' },
      part: { timeConstantMin: 15, initialC: { least: 12, most: 18 }, tolerance: { placeK: 0.5 } },
    },
    (s) => 20.5 + jagged(s),
  ),
  inAir(
    'oven',
    'oven',
    40,
    {
      law: lacquer,
      window: { step: { least: 10, most: 50 }, total: { least: 10, most: 420 } },
      part: {
        layers: [
          {
            thicknessMm: 18,
            count: 1,
            conductivityWPerMK: 0.17,
            densityKgPerM3: 700,
            heatCapacityJPerKgK: 1600,
          },
        ],
        convectionWPerM2K: 25,
        face: 'both',
        initialC: 22,
        tolerance: { diffusivityPct: 10, contactPct: 20, placeK: 1 },
      },
    },
    (s) => 62 - 37 * (s < 120 ? 1 - s / 120 : 0) + jagged(s),
    { coats: [{ coat: 1, low: 21, nominal: 25, high: 31 }] },
  ),
  inAir(
    'store',
    'store',
    14 * 1440,
    {
      law: law({
        form: 'equivalent-time',
        referenceC: 20,
        activationEnergyJPerMol: 60_000,
        validC: [15, 28],
      }),
      window: { rest: { calendarLeastD: 14, equivalentLeastD: 13 } },
      part: { follows: 'air' },
    },
    (s) => (s % 604_800 > 432_000 ? 14.5 : 20.2) + jagged(s),
  ),
  fourthCoat(),
];
