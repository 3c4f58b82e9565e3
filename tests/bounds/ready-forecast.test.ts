import { expect, test } from 'vitest';
import type { HeatUp } from '@setwell/shared-models/condition/heat-up';
import { readyForecast } from '@setwell/shared-models/condition/ready-forecast';

/* Faces that warm by so much a minute: what is expected of them is arithmetic, no model of ours. */
const minuteMs = 60_000;
const dayMs = 1440 * minuteMs;
const startC = 20;
const readyC = 135;

function warmed(kPerMin: number, startMs: number, minutes = 60): HeatUp {
  const c = (minute: number) => Math.min(140, startC + kPerMin * minute);
  return {
    ...{ point: 'upper', startMs, startC, interrupted: null, done: true },
    readyMs: startMs + ((readyC - startC) / kPerMin) * minuteMs,
    curveC: Array.from({ length: minutes }, (_, minute) => c(minute)),
  };
}

const past = Array.from({ length: 12 }, (_, day) => warmed(4, day * dayMs));
const nowMs = 20 * dayMs + 14 * minuteMs;
const today = (kPerMin: number): HeatUp => ({
  ...warmed(kPerMin, 20 * dayMs, 15),
  ...{ readyMs: null, done: false },
});
const read = (c: number) => ({ t: nowMs, c });
const leftMin = (kPerMin: number, of = past): number | null => {
  const now = today(kPerMin);
  const ms = readyForecast([{ now, newest: read(startC + 14 * kPerMin), past: of }]);
  return ms === null ? null : (ms - nowMs) / minuteMs;
};

test('as it always was: what was left then is left now', () => {
  expect(leftMin(4)).toBeCloseTo((readyC - 76) / 4, 6);
});

test('slower or faster today: what is left takes as much longer, or shorter', () => {
  expect(leftMin(3)).toBeCloseTo((readyC - 62) / 3, 6);
  expect(leftMin(5)).toBeCloseTo((readyC - 90) / 5, 6);
});

test('a crawl is not drawn out for ever, and what is past all it ever took is due now', () => {
  // At 1 K/min 34 °C were passed in 3.5 min of old: too soon for a pace.
  expect(leftMin(1)).toBeCloseTo((readyC - 34) / 4, 6);
  // 48 °C were passed in 7 min of old: half as fast today.
  expect(leftMin(2)).toBeCloseTo((readyC - 48) / 2, 6);
  expect(readyForecast([{ now: today(8), newest: read(141), past }])).toBe(nowMs);
});

test('a station is ready with its last face; fewer than ten heat-ups tell nothing, of any face', () => {
  const fast = { now: today(5), newest: read(90), past };
  const slow = { now: today(3), newest: read(62), past };
  expect(readyForecast([fast, slow])).toBe(readyForecast([slow]));
  expect(leftMin(4, past.slice(0, 9))).toBeNull();
  expect(readyForecast([fast, { ...slow, past: past.slice(0, 9) }])).toBeNull();
  expect(readyForecast([])).toBeNull();
});

test('heat-ups that were interrupted, or began from another temperature, do not count', () => {
  const warmStarts = Array.from({ length: 12 }, (_, day) => ({
    ...warmed(4, day * dayMs),
    ...{ startC: 90, readyMs: day * dayMs + 11 * minuteMs },
  }));
  const broken = past.map((each) => ({ ...each, interrupted: 'cooled' as const }));
  expect(leftMin(4, [...warmStarts, ...past])).toBeCloseTo((readyC - 76) / 4, 6);
  expect(leftMin(4, broken)).toBeNull();
});
