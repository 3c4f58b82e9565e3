import { describe, expect, it } from 'vitest';
import { score } from '@setwell/shared-models/score/score';
import { canonicalReadings } from '@setwell/shared-models/score/readings';
import type { ScoreInput } from '@setwell/shared-models/score/shape';

// Invented load, and a law that is spent long before a long plan ends: nothing moves any more there,
// so a weighing at the plan's end alone would find no doubt at all.
const minutes = 9;
const faceC = 112;
const endMs = minutes * 60_000;
const at = (ms: number) => ({ earliestMs: ms, latestMs: ms });

function intervalWithPlan(plannedMin: number) {
  const readings = Array.from({ length: minutes * 60 + 1 }, (_, s) => [
    { point: 'u', tMs: s * 1000, value: faceC },
    { point: 'l', tMs: s * 1000, value: faceC },
  ]).flat();
  const sensor = {
    signal: 'celsius',
    corrections: [],
    expandedK: 6,
    resolutionK: 0.1,
    plausible: { minC: -20, maxC: 300, maxRateKPerMin: 120 },
    calibratedC: null,
  };
  const input: ScoreInput = {
    format: 1,
    load: 'x',
    station: {
      id: 'press',
      kind: 'press',
      heating: 'conduction',
      maxHeatingKPerMin: 12,
      maxCoolingKPerMin: 6,
      loadingDropKPerMin: null,
      supplyMaxC: 150,
      surroundingsMinC: 10,
    },
    zones: [{ id: 'only', upper: 'u', lower: 'l', air: null }],
    startMs: 0,
    endMs,
    asOfMs: endMs,
    marks: { contact: null, pressureOn: at(0), releaseStart: at(endMs), open: null },
    plannedEndMs: plannedMin * 60_000,
    recipe: {
      kind: 'press',
      id: 'quick',
      title: 'Quick',
      law: {
        form: 'n-th-order',
        aPerS: 2.2e8,
        activationEnergyJPerMol: 80_000,
        n: 0.5,
        source: 'invented',
      },
      window: { least: 0.6, mostNone: 'invented' },
      plannedMin,
      requirements: [],
      layup: {
        layers: [
          {
            thicknessMm: 1.5,
            count: 3,
            conductivityWPerMK: 0.17,
            densityKgPerM3: 720,
            heatCapacityJPerKgK: 1700,
          },
        ],
        contactWPerM2K: 500,
        tolerance: { placeK: 3 },
        dryGlue: true,
        initialC: 20,
      },
    },
    sensors: { u: sensor, l: sensor },
    readingsSha256: '',
    coats: [],
    weights: null,
  };
  return score(input, canonicalReadings(readings)).places[0];
}

describe('weights of a law that is spent', () => {
  it('a longer plan never narrows what a load may have been through', () => {
    const short = intervalWithPlan(8);
    const long = intervalWithPlan(240);
    expect(short.high - short.low).toBeGreaterThan(0.1);
    expect(long.high - long.low).toBeGreaterThan(0.9 * (short.high - short.low));
  });
});
