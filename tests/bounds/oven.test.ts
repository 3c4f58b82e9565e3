import type { Recipe } from '@setwell/shared-models/plant/recipe-schema';
import { openLive } from '@setwell/shared-models/score/live';
import { canonicalReadings, type RawReading } from '@setwell/shared-models/score/readings';
import { score } from '@setwell/shared-models/score/score';
import type { ScoredSensor, ScoreInput } from '@setwell/shared-models/score/shape';
import { trace } from '@setwell/shared-models/score/trace';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { exactly, openLoad } from '../fixtures/press-load.ts';

const minute = 60_000;

const airSensor: ScoredSensor = {
  signal: 'celsius',
  corrections: [],
  expandedK: 0.4,
  resolutionK: 0.1,
  plausible: { minC: 0, maxC: 120, maxRateKPerMin: 60 },
  calibratedC: null,
};

const fibreboard = (thicknessMm: number) => ({
  layers: [{ material: 'fibreboard', thicknessMm, count: 1, densityKgPerM3: 750 }],
  convectionWPerM2K: 25,
  face: 'both' as const,
  initialC: 22,
});

const bake: Extract<Recipe, { kind: 'oven' }> = {
  id: 'top-coat',
  kind: 'oven',
  title: 'Top coat',
  law: {
    form: 'equivalent-time',
    referenceC: 60,
    activationEnergyJPerMol: 70_000,
    validC: [40, 75],
    source: 'invented for the tests',
  },
  window: { step: { least: 10, most: 50, source: 'invented for the tests' } },
  plannedMin: 40,
  places: [
    { id: 'lip', part: fibreboard(6) },
    { id: 'centre', part: fibreboard(22) },
  ],
  requirements: [],
};

/** Three zones of 18 m: flash, bake, cool. */
const beltZones = [
  { air: 'z0', fromM: 0, toM: 3 },
  { air: 'z1', fromM: 3, toM: 14 },
  { air: 'z2', fromM: 14, toM: 18 },
];
const zonesC = [27, 62, 24];

/** A part that comes on at a time, on a belt whose speed at a time is given. */
function beltLoad(startMs: number, endMs: number): ScoreInput {
  const belt = { speed: 'speed', everyS: 5, zones: beltZones };
  const zone = (place: string) => ({
    id: `belt/${place}`,
    upper: null,
    lower: null,
    air: null,
    belt,
    place,
  });
  return {
    format: 1,
    load: 'T-1',
    station: {
      id: 'oven-1',
      kind: 'oven',
      heating: 'conduction',
      maxHeatingKPerMin: 2,
      maxCoolingKPerMin: 2,
      loadingDropKPerMin: null,
      supplyMaxC: 70,
      surroundingsMinC: 10,
    },
    zones: [zone('lip'), zone('centre')],
    startMs,
    endMs,
    asOfMs: endMs,
    marks: {
      contact: null,
      pressureOn: exactly(startMs),
      releaseStart: exactly(endMs),
      open: null,
    },
    plannedEndMs: null,
    recipe: bake,
    sensors: { z0: airSensor, z1: airSensor, z2: airSensor },
    signals: {
      speed: {
        signal: 'metre-per-minute',
        plausible: { min: 0, max: 1 },
        expanded: 0.002,
        ramAreaCm2: null,
      },
    },
    readingsSha256: '',
    coats: [],
    weights: null,
  };
}

type Speed = (ms: number) => number;

const steady: Speed = () => 0.275;
/** Stands still for twelve minutes. */
const stopped: Speed = (ms) => (ms >= 60 * minute && ms < 72 * minute ? 0 : 0.275);

function readings(speed: Speed, fromMs: number, toMs: number): RawReading[] {
  const rows: RawReading[] = [];
  for (let tMs = fromMs; tMs <= toMs; tMs += 5000) {
    zonesC.forEach((value, i) => rows.push({ point: `z${i}`, tMs, value }));
    rows.push({ point: 'speed', tMs, value: speed(tMs) });
  }
  return rows;
}

/** When a part that came on then has gone so many metres, by steps of a second. */
function reaches(speed: Speed, startMs: number, metres: number): number {
  let gone = 0;
  let tMs = startMs;
  while (gone < metres) {
    gone += speed(tMs) / 60;
    tMs += 1000;
  }
  return tMs;
}

function scored(speed: Speed, startMs: number, rows?: RawReading[]) {
  const endMs = reaches(speed, startMs, 18);
  const input = beltLoad(startMs, endMs);
  return score(input, canonicalReadings(rows ?? readings(speed, startMs - 10_000, endMs + 10_000)));
}

/** Equivalent minutes of the surface by explicit differences, the air met by position, 50 cells. */
function surfaceMin(speed: Speed, startMs: number, thicknessMm: number): number {
  const cells = 50;
  const dx = thicknessMm / 1000 / cells;
  // Fibreboard of 750 kg/m³ by DIN EN 12524: 0.17 W/(m·K), 1700 J/(kg·K).
  const k = 0.17;
  const store = 750 * 1700 * dx;
  const tempC = new Array<number>(cells).fill(22);
  let gone = 0;
  let sum = 0;
  let surfaceC = 22;
  const dt = 0.02;
  const endMs = reaches(speed, startMs, 18);
  const g = k / dx;
  const face = 1 / (1 / 25 + dx / 2 / k);
  const at = (i: number) => tempC[i] ?? NaN;
  for (let tMs = startMs; tMs < endMs; tMs += dt * 1000) {
    gone += (speed(tMs) * dt) / 60;
    const airC = zonesC[beltZones.findIndex(({ toM }) => gone < toM)] ?? 24;
    const flux = new Array<number>(cells + 1);
    flux[0] = face * (airC - at(0));
    flux[cells] = face * (at(cells - 1) - airC);
    for (let i = 1; i < cells; i += 1) flux[i] = g * (at(i - 1) - at(i));
    for (let i = 0; i < cells; i += 1) {
      tempC[i] = at(i) + (((flux[i] ?? NaN) - (flux[i + 1] ?? NaN)) * dt) / store;
    }
    surfaceC = airC - face * (airC - at(0)) * (1 / 25);
    const rate = Math.exp((-70_000 / 8.314462618) * (1 / (surfaceC + 273.15) - 1 / 333.15));
    sum += (rate * dt) / 60;
  }
  return sum;
}

describe('a conveyor oven', () => {
  it('bakes a part by where the belt has brought it, the thin edge more than the thick middle', () => {
    const { places, verdict } = scored(steady, 0);
    const [lip, centre] = places;
    expect(places.map(({ zone }) => zone)).toEqual(['belt/lip', 'belt/centre']);
    for (const [place, thicknessMm] of [
      [lip, 6],
      [centre, 22],
    ] as const) {
      const truth = surfaceMin(steady, 0, thicknessMm);
      expect(Math.abs((place?.nominal ?? NaN) - truth)).toBeLessThan(0.25);
      expect(place?.low).toBeLessThan(truth);
      expect(place?.high).toBeGreaterThan(truth);
    }
    expect(lip?.nominal).toBeGreaterThan((centre?.nominal ?? NaN) + 5);
    expect(verdict).toBe('in-window');
  });

  it('a belt stop bakes those inside and nobody else', () => {
    const interval = (speed: Speed, startMin: number) =>
      scored(speed, startMin * minute).places.map(({ low, nominal, high }) => [low, nominal, high]);
    // In the bake at the stop: on at 30 min, in the bake from 41 to 81.
    const inside = interval(stopped, 30);
    const untouched = interval(steady, 30);
    const gained = (inside[0]?.[1] ?? NaN) - (untouched[0]?.[1] ?? NaN);
    expect(gained).toBeGreaterThan(9);
    expect(gained).toBeLessThan(15);
    // Gone before, and come on behind it.
    expect(interval(stopped, -12)).toEqual(interval(steady, -12));
    const after = interval(stopped, 75);
    interval(steady, 75).forEach((place, i) =>
      place.forEach((value, end) => expect(after[i]?.[end]).toBeCloseTo(value, 9)),
    );
    // Still in the flash zone then: it waits in 27 °C and bakes no more for it.
    const waiting = interval(stopped, 55);
    expect(Math.abs((waiting[0]?.[1] ?? NaN) - (interval(steady, 55)[0]?.[1] ?? NaN))).toBeLessThan(
      1.5,
    );
  });

  it('a speed that is not read leaves the part wherever the belt may have brought it', () => {
    const rows = readings(steady, -10_000, 70 * minute);
    const gap = rows.filter(
      ({ point, tMs }) => point !== 'speed' || tMs < 30 * minute || tMs > 36 * minute,
    );
    const endMs = reaches(steady, 0, 18);
    const input = beltLoad(0, endMs);
    const [all, some] = [rows, gap].map((each) => score(input, canonicalReadings(each)));
    all?.places.forEach((place, i) => {
      expect(some?.places[i]?.low).toBeLessThan(place.low - 0.5);
      expect(some?.places[i]?.high).toBeGreaterThan(place.high + 0.5);
    });
    expect(some?.quality.gaps).toContainEqual({
      point: 'speed',
      fromMs: 30 * minute - 5000,
      toMs: 36 * minute + 5000,
    });
    const never = score(input, canonicalReadings(rows.filter(({ point }) => point !== 'speed')));
    expect(never.verdict).not.toBe('in-window');
    expect(never.reasons).toContainEqual({ code: 'no-reading', zone: 'belt/lip', point: 'speed' });
  });

  it('removing readings never raises low nor lowers high', () => {
    const endMs = reaches(stopped, 30 * minute, 18);
    const input = beltLoad(30 * minute, endMs);
    const rows = readings(stopped, 30 * minute - 10_000, endMs + 10_000);
    const all = score(input, canonicalReadings(rows));
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 1e6 }),
        fc.double({ min: 0.02, max: 0.9, noNaN: true }),
        (seed, share) => {
          const kept = rows.filter((_row, i) => ((i * 7919 + seed) % 1009) / 1009 > share);
          score(input, canonicalReadings(kept)).places.forEach((place, i) => {
            expect(place.low).toBeLessThanOrEqual((all.places[i]?.low ?? NaN) + 1e-9);
            expect(place.high).toBeGreaterThanOrEqual((all.places[i]?.high ?? NaN) - 1e-9);
          });
        },
      ),
      { numRuns: 12, seed: 5 },
    );
  });

  it('live equals the whole, to the byte, with readings that come late', () => {
    const startMs = 30 * minute;
    const rows = readings(stopped, startMs - 10_000, startMs + 50 * minute);
    const open = openLoad(beltLoad(startMs, startMs + 80 * minute), startMs + 50 * minute);
    const live = openLive(open);
    const late = rows.filter((_row, i) => i % 97 === 0);
    for (const each of rows.filter((_row, i) => i % 97 !== 0)) {
      live.add(each.point, each.tMs, each.value);
      if (each.tMs % (10 * minute) === 0 && each.point === 'speed') live.judge(each.tMs);
    }
    for (const each of late) live.add(each.point, each.tMs, each.value);
    expect(live.judge(open.asOfMs)).toEqual(score(open, live.readingsCsv()));
  });

  it('the picture has each zone’s air and the air met', () => {
    const endMs = reaches(steady, 0, 18);
    const drawn = trace(
      beltLoad(0, endMs),
      canonicalReadings(readings(steady, -10_000, endMs + 10_000)),
    );
    expect(drawn.measuredC.map(({ point }) => point)).toEqual(
      ['z0', 'z1', 'z2', 'speed'].slice(0, 3),
    );
    expect(Math.max(...(drawn.lines[0]?.nominalC ?? []))).toBeGreaterThan(50);
  });
});
