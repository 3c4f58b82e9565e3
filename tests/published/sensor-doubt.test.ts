import { resolutionDoubt, uncertaintyBudget } from '@setwell/shared-models/metrology/budget';
import { dayOfDate, dayOfMs } from '@setwell/shared-models/metrology/calendar-day';
import {
  calibrationInForce,
  corrected,
  correctionK,
} from '@setwell/shared-models/metrology/calibration';
import {
  asFoundChanges,
  driftHalfWidthK,
  dueState,
  ownDriftKPerYear,
} from '@setwell/shared-models/metrology/drift';
import { doubtedReading } from '@setwell/shared-models/metrology/reading-doubts';
import type { ReadingFacts } from '@setwell/shared-models/metrology/reading-doubts';
import { leadErrorOhm } from '@setwell/shared-models/metrology/resistance';
import { indicated, temperatureSignalOf } from '@setwell/shared-models/metrology/signal';
import { streamNoise } from '@setwell/shared-models/metrology/stream-noise';
import {
  toleranceK,
  toleranceOf,
  toleranceOfElement,
} from '@setwell/shared-models/metrology/tolerance';
import type { Calibration } from '@setwell/shared-models/plant/plant-schema';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { seededNormal } from '../fixtures/seeded-normal.ts';

const first: Calibration = {
  certificate: 'C-1',
  date: '2024-01-12',
  due: '2025-01-12',
  k: 2,
  points: [
    { atC: 100, correctionK: -0.2, expandedK: 0.3 },
    { atC: 140, correctionK: -0.4, expandedK: 0.5 },
  ],
};

const second: Calibration = {
  certificate: 'C-2',
  date: '2025-01-12',
  due: '2026-01-12',
  k: 3,
  asFound: [
    { atC: 100, correctionK: -0.5, expandedK: 0.3 },
    { atC: 140, correctionK: -1.4, expandedK: 0.3 },
    { atC: 180, correctionK: -9, expandedK: 0.3 },
  ],
  points: [
    { atC: 100, correctionK: 0, expandedK: 0.3 },
    { atC: 120, correctionK: 0.1, expandedK: 0.3 },
    { atC: 140, correctionK: 0, expandedK: 0.6 },
  ],
};

const at = (indicatedC: number) => ({ kind: 'indicated', indicatedC }) as const;

describe('signals', () => {
  test('each signal of one hot junction or element is the same temperature', () => {
    // Sources: IEC 60751 table (138.51 Ω); NIST Monograph 175, type T 180 °C over terminals at 25 °C.
    const shown = (answer: ReturnType<typeof indicated>) =>
      answer.kind === 'indicated' ? answer.indicatedC : NaN;
    expect(shown(indicated(212, { signal: 'fahrenheit' }))).toBeCloseTo(100, 9);
    expect(shown(indicated(373.15, { signal: 'kelvin' }))).toBeCloseTo(100, 9);
    expect(
      shown(
        indicated(138.51, { signal: 'ohm', type: 'Pt100', leadOhm: leadErrorOhm({ wires: 4 }) }),
      ),
    ).toBeCloseTo(100, 1);
    expect(
      shown(
        indicated(1395.1, {
          signal: 'ohm',
          type: 'Pt1000',
          leadOhm: leadErrorOhm({ wires: 2, leadOhm: 10 }),
        }),
      ),
    ).toBeCloseTo(100, 1);
    expect(
      shown(indicated(7.2446, { signal: 'millivolt', type: 'T', terminalsC: 25 })),
    ).toBeCloseTo(180, 2);
  });

  test('an element of the plant file says how its raw values become temperatures', () => {
    expect(temperatureSignalOf({ signal: 'celsius' })).toEqual({ signal: 'celsius' });
    expect(
      temperatureSignalOf({ signal: 'ohm', element: { type: 'Pt100', leadOhm: 0.4 } }),
    ).toEqual({ signal: 'ohm', type: 'Pt100', leadOhm: 0.4 });
    expect(
      temperatureSignalOf({ signal: 'millivolt', element: { type: 'K', terminalsC: 25 } }),
    ).toEqual({ signal: 'millivolt', type: 'K', terminalsC: 25 });
    // Without it there is no temperature, and no guess at one.
    for (const unsaid of [
      { signal: 'ohm' },
      { signal: 'ohm', element: { type: 'K' } },
      { signal: 'millivolt', element: { type: 'K' } },
      { signal: 'millivolt', element: { type: 'Pt100', terminalsC: 25 } },
      { signal: 'bar' },
    ]) {
      expect(temperatureSignalOf(unsaid)).toBeNull();
    }
  });

  test('a broken wire is no temperature, and neither is what is no number', () => {
    const pt = { signal: 'ohm', type: 'Pt100', leadOhm: 0 } as const;
    const tc = { signal: 'millivolt', type: 'K', terminalsC: 25 } as const;
    expect(indicated(1e6, pt)).toEqual({ kind: 'no-temperature', raw: 1e6 });
    expect(indicated(80, tc).kind).toBe('no-temperature');
    expect(indicated(NaN, { signal: 'celsius' }).kind).toBe('no-temperature');
    expect(indicated(Infinity, { signal: 'kelvin' }).kind).toBe('no-temperature');
  });
});

describe('calibrations', () => {
  test('a correction is read between calibrated points, and the raw value stays', () => {
    expect(corrected(at(110), first)).toEqual({
      kind: 'corrected',
      indicatedC: 110,
      correctionK: -0.25,
      correctedC: 109.75,
      expandedK: 0.5,
      certificate: 'C-1',
    });
    // At k = 3 an expanded uncertainty of 0.3 K is 0.2 K at k = 2.
    expect(corrected(at(110), second)).toMatchObject({
      correctionK: 0.05,
      expandedK: expect.closeTo(0.2, 12) as number,
    });
    expect(correctionK(first.points, 100)).toBe(-0.2);
    expect(correctionK(first.points, 140)).toBe(-0.4);
  });

  test('outside the calibrated range nothing is corrected, and the reading says so', () => {
    for (const indicatedC of [99.99, 140.01, NaN]) {
      expect(correctionK(first.points, indicatedC)).toBeNull();
      expect(corrected(at(indicatedC), first).kind).toBe('outside-calibration');
    }
    expect(corrected(at(120), null)).toEqual({ kind: 'uncalibrated', indicatedC: 120 });
    const onePoint = { ...first, points: first.points.slice(0, 1) };
    expect(corrected(at(101), onePoint).kind).toBe('outside-calibration');
    expect(corrected(at(100), onePoint)).toMatchObject({ correctedC: 99.8 });
  });

  test('what is corrected cannot be corrected again', () => {
    const once = corrected(at(110), first);
    // @ts-expect-error a corrected reading is no indication
    corrected(once, first);
    // Reached past the compiler all the same, it starts from the raw value, which is still there.
    expect(corrected(once as never, first)).toEqual(once);
  });

  test('corrections lie between their neighbours everywhere inside', () => {
    fc.assert(
      fc.property(fc.double({ min: 100, max: 140, noNaN: true }), (indicatedC) => {
        const addedK = correctionK(second.points, indicatedC)!;
        expect(addedK).toBeGreaterThanOrEqual(-1e-12);
        expect(addedK).toBeLessThanOrEqual(0.1 + 1e-12);
      }),
      { seed: 20260302 },
    );
  });

  test('the newest calibration made by the day counts, in date or not', () => {
    const on = (date: string) => calibrationInForce([second, first], dayOfDate(date))?.certificate;
    expect(on('2024-01-11')).toBeUndefined();
    expect(on('2024-01-12')).toBe('C-1');
    expect(on('2025-01-11')).toBe('C-1');
    expect(on('2025-01-12')).toBe('C-2');
    expect(on('2030-01-01')).toBe('C-2');
  });

  test('a day is a UTC day, leap years included', () => {
    for (const date of ['1970-01-01', '1999-12-31', '2000-02-29', '2026-03-02', '2100-03-01']) {
      expect(dayOfDate(date)).toBe(dayOfMs(Date.parse(`${date}T23:59:59.999Z`)));
    }
    expect(() => dayOfDate('12.01.2026')).toThrow(RangeError);
  });
});

describe('drift between calibrations', () => {
  test('as found against what had counted until then, where that certificate covers it', () => {
    const changes = asFoundChanges([second, first]);
    expect(changes.map(({ atC }) => atC)).toEqual([100, 140]);
    expect(changes[0]!.changeK).toBeCloseTo(-0.3, 12);
    expect(changes[1]!.changeK).toBeCloseTo(-1, 12);
    expect(ownDriftKPerYear([first, second])).toBeCloseTo(1 / (366 / 365.25), 9);
    expect(ownDriftKPerYear([first])).toBeNull();
    expect(ownDriftKPerYear([])).toBeNull();
  });

  test('overdue from the day after, until the grace is over', () => {
    const due = (date: string) => dueState(second, dayOfDate(date), 30);
    expect(due('2026-01-12')).toEqual({ state: 'in-date', daysLeft: 0 });
    expect(due('2026-01-13')).toEqual({ state: 'overdue', daysOver: 1 });
    expect(due('2026-02-11')).toEqual({ state: 'overdue', daysOver: 30 });
    expect(due('2026-02-12')).toEqual({ state: 'grace-over', daysOver: 31 });
  });

  test('the doubt grows by the instrument’s own drift, else by its class a year once overdue', () => {
    const day = dayOfDate('2026-01-12') + 73;
    expect(driftHalfWidthK(second, day, 0.5, 0.39)).toBeCloseTo((0.5 * 438) / 365.25, 9);
    expect(driftHalfWidthK(second, day, null, 0.39)).toBeCloseTo((0.39 * 73) / 365.25, 9);
    expect(driftHalfWidthK(second, day, null, null)).toBeNull();
    expect(driftHalfWidthK(second, dayOfDate(second.due), null, null)).toBe(0);
  });
});

describe('uncertainty budget', () => {
  // Source: computed from JCGM 100:2008, 4.3.7 and 5.1.2, with IEC 60751 class B at 120 °C.
  test('Pt100 class B at 120 °C: u 0.870 K, U 1.740 K, each row as a table has it', () => {
    const budget = uncertaintyBudget([
      {
        source: 'tolerance',
        distribution: 'rectangular',
        halfWidthK: toleranceK(toleranceOf('Pt100', 'B')!, 120)!,
      },
      { source: 'calibration', distribution: 'normal', expandedK: 0.5, k: 2 },
      resolutionDoubt(0.1),
      { source: 'place', distribution: 'rectangular', halfWidthK: 1 },
      { source: 'noise', distribution: 'observed', standardK: 0.3, degreesOfFreedom: 9 },
    ]);
    const standards = budget.rows.map(({ standardK }) => Math.round(standardK * 1e4) / 1e4);
    expect(standards).toEqual([0.5196, 0.25, 0.0289, 0.5774, 0.3]);
    expect(budget.combinedK).toBeCloseTo(0.8699, 4);
    expect(budget.expandedK).toBeCloseTo(1.74, 3);
    expect(budget.rows.map(({ evaluation }) => evaluation).join('')).toBe('BBBBA');
    expect(budget.rows.reduce((sum, { share }) => sum + share, 0)).toBeCloseTo(1, 12);
  });

  // Source: JCGM 100:2008, H.1.6, calibration of an end gauge: uc = 32 nm, ν = 16 (values from memory; the
  // arithmetic does not know a nanometre from a kelvin).
  test('degrees of freedom combine as in the guide’s example of an end gauge', () => {
    const budget = uncertaintyBudget(
      [
        [25, 18],
        [9.7, 25.6],
        [2.9, 50],
        [16.6, 2],
      ].map(([standardK, degreesOfFreedom]) => ({
        source: 'noise',
        distribution: 'observed',
        standardK: standardK!,
        degreesOfFreedom: degreesOfFreedom!,
      })),
    );
    expect(Math.round(budget.combinedK)).toBe(32);
    expect(Math.floor(budget.effectiveDegreesOfFreedom!)).toBe(16);
  });

  test('no doubt is no uncertainty, and no division by nothing', () => {
    expect(uncertaintyBudget([])).toMatchObject({ rows: [], expandedK: 0 });
    const still = uncertaintyBudget([resolutionDoubt(0)]);
    expect(still.rows[0]!.share).toBe(0);
    expect(still.effectiveDegreesOfFreedom).toBeNull();
  });
});

describe('what a reading is worth', () => {
  const facts: ReadingFacts = {
    day: dayOfDate('2025-07-13'),
    calibrations: [first, second],
    graceDays: 30,
    tolerance: toleranceOf('Pt100', 'A'),
    resolutionK: 0.1,
    seatK: 0.5,
    placeK: 1.5,
    noise: null,
  };
  const sources = (reading: ReturnType<typeof doubtedReading>) =>
    reading.kind === 'bounded' ? reading.doubts.map(({ source }) => source) : reading.because;

  test('calibrated: corrected, with the certificate’s doubt and the drift since, not the class’s', () => {
    const reading = doubtedReading(at(110), facts);
    expect(sources(reading)).toEqual(['calibration', 'drift', 'resolution', 'seat', 'place']);
    if (reading.kind !== 'bounded') return;
    expect(reading.tempC).toBeCloseTo(110.05, 12);
    // Own drift 1 K in 366 days; half a year later 182 days of it.
    expect(reading.doubts[1]).toMatchObject({ distribution: 'rectangular' });
    const { rows, expandedK } = uncertaintyBudget(reading.doubts);
    expect(rows[1]!.valueK).toBeCloseTo(182 / 366, 9);
    const variance = 0.1 ** 2 + ((182 / 366) ** 2 + 0.05 ** 2 + 0.5 ** 2 + 1.5 ** 2) / 3;
    expect(expandedK).toBeCloseTo(2 * Math.sqrt(variance), 9);
  });

  test('not calibrated: as shown, with the tolerance of its class', () => {
    const reading = doubtedReading(at(110), { ...facts, calibrations: [], seatK: 0 });
    expect(reading).toMatchObject({ kind: 'bounded', tempC: 110 });
    expect(sources(reading)).toEqual(['tolerance', 'resolution', 'place']);
  });

  test('what bounds nothing proves nothing, and says why', () => {
    const because = (indicatedC: number, changed: Partial<ReadingFacts>) =>
      sources(doubtedReading(at(indicatedC), { ...facts, ...changed }));
    expect(because(150, {})).toBe('outside-calibration');
    expect(because(110, { day: dayOfDate('2026-02-11') })).toContain('drift');
    expect(because(110, { day: dayOfDate('2026-02-12') })).toBe('grace-over');
    expect(because(110, { calibrations: [], tolerance: null })).toBe('tolerance-unknown');
    expect(because(500, { calibrations: [] })).toBe('tolerance-unknown');
    const overdue = { calibrations: [first], day: dayOfDate('2025-01-20') };
    expect(because(110, { ...overdue, tolerance: null })).toBe('drift-unknown');
    expect(because(110, overdue)).toContain('drift');
  });

  test('a later certificate says nothing of an earlier day', () => {
    const before = { ...facts, day: dayOfDate('2024-12-31') };
    const known = doubtedReading(at(110), { ...before, calibrations: [first] });
    expect(doubtedReading(at(110), before)).toEqual(known);
  });

  test('an older reading never has less doubt for the same instrument', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: 395 }),
        fc.integer({ min: 0, max: 395 }),
        fc.boolean(),
        (a, b, ownKnown) => {
          const on = (days: number) => {
            const reading = doubtedReading(at(110), {
              ...facts,
              calibrations: ownKnown ? [first, second] : [second],
              day: dayOfDate(second.date) + days,
            });
            return reading.kind === 'bounded'
              ? uncertaintyBudget(reading.doubts).expandedK
              : Infinity;
          };
          expect(on(Math.max(a, b))).toBeGreaterThanOrEqual(on(Math.min(a, b)));
        },
      ),
      { seed: 20260302 },
    );
  });

  test('an element without a class has the widest tolerance of its standard', () => {
    expect(toleranceOfElement({ type: 'Pt100' })?.class).toBe('C');
    expect(toleranceOfElement({ type: 'type K' })?.class).toBe('2');
    expect(toleranceOfElement({ type: 'K', standard: 'ASTM E230' })?.class).toBe('standard');
    expect(toleranceOfElement({ type: 'Pt100', class: 'A', standard: 'IEC 60751' })?.class).toBe(
      'A',
    );
    expect(toleranceOfElement({ type: 'NTC' })).toBeNull();
    expect(toleranceOfElement({ type: 'K', class: '2', standard: 'JIS C1602' })).toBeNull();
  });
});

describe('noise of a stream', () => {
  // Source: computed from the second difference of an alternating series, (2·2a)² = 16a² over 6.
  test('is found whatever the temperature does meanwhile', () => {
    const alternating = Array.from({ length: 100 }, (_, i) => 20 + 0.5 * i + (i % 2 ? 0.3 : -0.3));
    expect(streamNoise(alternating)!.standardK).toBeCloseTo(0.3 * Math.sqrt(16 / 6), 9);
    const steady = Array.from({ length: 100 }, (_, i) => 20 + 0.5 * i);
    expect(streamNoise(steady)!.standardK).toBeLessThan(1e-12);
    expect(streamNoise(steady.slice(0, 11))).toBeNull();
  });

  test('of a seeded normal stream on a bending ramp comes out within 5 %', () => {
    const next = seededNormal(7);
    const valuesC = Array.from({ length: 4000 }, (_, i) => 20 + 1e-5 * i * i + 0.25 * next());
    const { standardK, degreesOfFreedom } = streamNoise(valuesC)!;
    expect(standardK / 0.25).toBeGreaterThan(0.95);
    expect(standardK / 0.25).toBeLessThan(1.05);
    expect(degreesOfFreedom).toBeCloseTo((3998 * 18) / 35, 9);
  });
});
