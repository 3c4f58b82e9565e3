import { canonicalReadings, parseReadings } from '@setwell/shared-models/score/readings';
import { scoreReadings } from '@setwell/shared-models/score/score';
import { trace } from '@setwell/shared-models/score/trace';
import { expect, it } from 'vitest';
import { platenC, pressLoad, readingsOf } from '../fixtures/press-load.ts';

const minuteMs = 60_000;
const input = pressLoad(24);
const readings = readingsOf({ ul: platenC, ll: platenC }, 24 * 60);
const csv = canonicalReadings(readings);

it('another line: its growth ends where its own interval stands', () => {
  const { places } = scoreReadings(input, parseReadings(csv));
  const outer = places.find(({ glueLine }) => glueLine === 1)!;
  const { cure, timesMs } = trace(input, csv, { zone: outer.zone, glueLine: 1 });
  expect(cure).toMatchObject({ zone: outer.zone, glueLine: 1 });
  expect(cure.low).toHaveLength(timesMs.length);
  expect(cure.low.at(-1)).toBeCloseTo(outer.low, 9);
  expect(cure.high.at(-1)).toBeCloseTo(outer.high, 9);
});

it('a part of the load: second by second, and the same values as the whole has', () => {
  const whole = trace(input, csv, { points: 4000 });
  const part = trace(input, csv, { fromMs: 5 * minuteMs, toMs: 9 * minuteMs });
  expect(part.timesMs[0]).toBe(5 * minuteMs);
  expect(part.timesMs.length).toBeGreaterThan(4 * 60);
  part.timesMs.forEach((t, i) => {
    const at = whole.timesMs.indexOf(t);
    expect(part.cure.low[i]).toBe(whole.cure.low[at]);
    expect(part.lines[5]?.nominalC[i]).toBe(whole.lines[5]?.nominalC[at]);
  });
});

it('what the load has not is answered with the place that decides and the whole load', () => {
  const usual = trace(input, csv);
  expect(trace(input, csv, { zone: 'attic', glueLine: 99 })).toEqual(usual);
  expect(trace(input, csv, { fromMs: 9 * minuteMs, toMs: 5 * minuteMs })).toEqual(usual);
});

it('a face’s bounds stand close to its readings, and open where it is silent', () => {
  const silent = readings.filter(({ tMs }) => tMs < 12 * minuteMs || tMs > 14 * minuteMs);
  const { timesMs, measuredC } = trace(input, canonicalReadings(silent), { points: 400 });
  for (const { valuesC, lowC = [], highC = [] } of measuredC) {
    const apart = (minute: number) => {
      const at = timesMs.findIndex((t) => t >= minute * minuteMs);
      return (highC[at] ?? NaN) - (lowC[at] ?? NaN);
    };
    expect(apart(10)).toBeLessThan(1);
    // A minute at 12 K up and 6 K down.
    expect(apart(13)).toBeGreaterThan(7);
    valuesC.forEach((value, i) => {
      if (value === null) return;
      expect(value).toBeGreaterThanOrEqual((lowC[i] ?? NaN) - 1);
      expect(value).toBeLessThanOrEqual((highC[i] ?? NaN) + 1);
    });
  }
});
