import { dayOfDate } from '@setwell/shared-models/metrology/calendar-day';
import type { TemperatureSensor } from '@setwell/shared-models/plant/plant';
import { scoredSensor } from '@setwell/shared-models/score/scored-sensor';
import { expect, test } from 'vitest';

const sensor: TemperatureSensor = {
  id: 'p1-ul',
  topic: 'plant/press-1/p1-ul',
  station: 'press-1',
  role: 'watch',
  signal: 'celsius',
  element: { type: 'Pt100', class: 'A', standard: 'IEC 60751' },
  plausible: { minC: 0, maxC: 220, maxRateKPerMin: 60 },
  calibration: {
    certificate: 'C-1',
    date: '2026-01-12',
    due: '2027-01-12',
    k: 3,
    points: [
      { atC: 100, correctionK: -0.2, expandedK: 0.3 },
      { atC: 140, correctionK: -0.3, expandedK: 0.6 },
    ],
  },
};

const on = (date: string, changed: Partial<TemperatureSensor> = {}) =>
  scoredSensor({ ...sensor, ...changed }, dayOfDate(date), 150);

test('in date: the certificate’s corrections, range and greatest doubt, brought to k = 2', () => {
  expect(on('2026-03-02')).toEqual({
    signal: 'celsius',
    corrections: [
      { atC: 100, correctionK: -0.2 },
      { atC: 140, correctionK: -0.3 },
    ],
    expandedK: expect.closeTo(0.4, 12) as number,
    resolutionK: 0.1,
    plausible: { minC: 0, maxC: 220, maxRateKPerMin: 60 },
    calibratedC: [100, 140],
    certificate: 'C-1',
  });
});

// Sources: IEC 60751 class A, 0.15 + 0.002·150 = 0.45 K; JCGM 100:2008, 4.3.7, a half-width a is a/√3.
test('overdue by a year: the class tolerance is added as drift', () => {
  const { expandedK, corrections } = on('2028-01-12');
  expect(corrections).toHaveLength(2);
  const driftK = (0.45 * 365) / 365.25;
  expect(expandedK).toBeCloseTo(2 * Math.sqrt(0.2 ** 2 + driftK ** 2 / 3), 9);
});

test('before its first certificate, and without one, the element’s tolerance stands', () => {
  const before = on('2026-01-11');
  expect(before).toMatchObject({ corrections: [], calibratedC: null });
  expect(before.expandedK).toBeCloseTo((2 * 0.45) / Math.sqrt(3), 9);
  const bare = { ...sensor };
  delete bare.calibration;
  delete bare.element;
  // Source: IEC 60584-1, type K class 2: 2.5 K up to 333 °C.
  expect(scoredSensor(bare, dayOfDate('2026-03-02'), 150).expandedK).toBeCloseTo(
    5 / Math.sqrt(3),
    9,
  );
});

test('an instrument known to drift is doubted by its own drift from the day of calibration', () => {
  const older = { ...sensor.calibration!, date: '2025-01-12', due: '2026-01-12' };
  const newer = {
    ...sensor.calibration!,
    asFound: [{ atC: 100, correctionK: -1.2, expandedK: 0.3 }],
  };
  const halfAYear = dayOfDate('2026-07-13');
  const { expandedK } = scoredSensor(sensor, halfAYear, 150, [older, newer]);
  // 1 K in the 365 days before, so 182/365 K since.
  expect(expandedK).toBeCloseTo(2 * Math.sqrt(0.2 ** 2 + (182 / 365) ** 2 / 3), 9);
});

test('raw ohms and millivolts go with what turns them into °C; without it nothing does', () => {
  const lead = { ...sensor.element!, leadOhm: 0.4 };
  expect(on('2026-03-02', { signal: 'ohm', element: lead }).conversion).toEqual({
    signal: 'ohm',
    type: 'Pt100',
    leadOhm: 0.4,
  });
  expect(on('2026-03-02', { signal: 'fahrenheit' }).conversion).toEqual({ signal: 'fahrenheit' });
  expect(on('2026-03-02', { signal: 'millivolt' })).not.toHaveProperty('conversion');
  expect(on('2026-03-02')).not.toHaveProperty('conversion');
});

test('noise that the file declares goes by value; without it there is none', () => {
  expect(on('2026-03-02', { noiseK: 0.07 }).noiseK).toBe(0.07);
  expect(on('2026-03-02')).not.toHaveProperty('noiseK');
});

test('overdue beyond the grace it proves nothing; within, its doubt grows', () => {
  const scoredOn = (date: string) =>
    scoredSensor(sensor, dayOfDate(date), 150, [sensor.calibration!], 30);
  expect(scoredOn('2027-02-11')).not.toHaveProperty('unproven');
  expect(scoredOn('2027-02-11').expandedK).toBeGreaterThan(scoredOn('2027-01-12').expandedK);
  expect(scoredOn('2027-02-12').unproven).toBe('grace-over');
});
