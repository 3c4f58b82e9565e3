import { openLive } from '@setwell/shared-models/score/live';
import { canonicalReadings, type RawReading } from '@setwell/shared-models/score/readings';
import { score } from '@setwell/shared-models/score/score';
import type { FittedSensor, ScoreInput } from '@setwell/shared-models/score/shape';
import { expect, test } from 'vitest';
import { faceSensor, openLoad, platenC, pressLoad, readingsOf } from '../fixtures/press-load.ts';

const minute = 60_000;
const [removedMs, fittedMs] = [10 * minute, 13 * minute];

const scored = (input: ScoreInput, readings: readonly RawReading[]) =>
  score(input, canonicalReadings(readings));

/** Reads 1.5 K low; its certificate says so. */
const old: FittedSensor = {
  ...faceSensor,
  corrections: [{ atC: 100, correctionK: 1.5 }],
  instrument: 'pt-0411',
  certificate: 'C-0411',
};

/** Reads 0.8 K high; its certificate says so, and is worth less. */
const fresh: FittedSensor = {
  ...faceSensor,
  corrections: [{ atC: 100, correctionK: -0.8 }],
  expandedK: 0.9,
  instrument: 'pt-0412',
  certificate: 'C-0412',
};

const changed = pressLoad(24, {
  sensors: {
    ul: {
      ...old,
      changes: [
        { fromMs: removedMs, sensor: null },
        { fromMs: fittedMs, sensor: fresh },
      ],
    },
    ll: faceSensor,
  },
});

const truth = (seconds: number) => platenC(seconds);
const whole = readingsOf({ ul: truth, ll: truth }, 24 * 60, 5);

/** As the two instruments show it; a wire in the open reads nonsense while nothing is fitted. */
const shown = whole.map((reading) => {
  if (reading.point !== 'ul') return reading;
  if (reading.tMs < removedMs) return { ...reading, value: reading.value - 1.5 };
  if (reading.tMs < fittedMs) return { ...reading, value: 21.4 };
  return { ...reading, value: reading.value + 0.8 };
});
const outside = ({ point, tMs }: RawReading) =>
  point !== 'ul' || tMs < removedMs || tMs >= fittedMs;

test('a probe changed in mid-load: each side by its own certificate, the minutes between as a gap', () => {
  const result = scored(changed, shown);
  const [seamOut, seamIn] = result.quality.seams ?? [];
  expect(seamOut).toEqual({
    point: 'ul',
    atMs: removedMs,
    before: { instrument: 'pt-0411', certificate: 'C-0411' },
    after: null,
  });
  expect(seamIn).toEqual({
    point: 'ul',
    atMs: fittedMs,
    before: null,
    after: { instrument: 'pt-0412', certificate: 'C-0412' },
  });
  expect(result.quality.gaps).toEqual([{ point: 'ul', fromMs: removedMs - 5000, toMs: fittedMs }]);
  const gap = result.budget.find(({ term }) => term === 'gap');
  expect(gap?.down).toBeGreaterThan(0);

  // Nothing of the nonsense counts: the same as if it had never come.
  expect(scored(changed, shown.filter(outside)).places).toEqual(result.places);
  // Corrected, both sides tell the true course: the nominal run is that of a perfect instrument's.
  const perfect = pressLoad(24, {
    sensors: { ul: { ...faceSensor, expandedK: 0.9 }, ll: faceSensor },
  });
  const reference = scored(perfect, whole.filter(outside));
  result.places.forEach((place, i) => {
    expect(place.nominal).toBeCloseTo(reference.places[i].nominal, 9);
    expect(place.low).toBeCloseTo(reference.places[i].low, 9);
    expect(place.high).toBeCloseTo(reference.places[i].high, 9);
  });
});

test('the seam is told in a running load too, and a look between equals the whole', () => {
  const asOfMs = 18 * minute;
  const open = openLoad(changed, asOfMs);
  const before = shown.filter(({ tMs }) => tMs <= asOfMs);
  const live = openLive(open);
  for (const { point, tMs, value } of before) {
    live.add(point, tMs, value);
    if (tMs === 12 * minute) live.judge(tMs);
  }
  const result = live.judge(asOfMs);
  expect(result).toEqual(scored({ ...open, weights: null }, before));
  expect(result.quality.seams).toHaveLength(2);
});

test('an approved fallback stands in from its minute on, with its offset and both doubts', () => {
  const standIn: FittedSensor = {
    ...faceSensor,
    corrections: [{ atC: 100, correctionK: -6 }],
    expandedK: 1.5,
    readsFrom: 'sup',
  };
  const input = pressLoad(24, {
    sensors: {
      ul: { ...faceSensor, changes: [{ fromMs: removedMs, sensor: standIn }] },
      ll: faceSensor,
    },
  });
  const supply = readingsOf({ sup: (s) => platenC(s) + 6 }, 24 * 60, 5);
  const readings = [
    ...whole.filter(({ point, tMs }) => point !== 'ul' || tMs < removedMs),
    ...supply,
  ];
  const result = scored(input, readings);
  const reference = scored(
    pressLoad(24, { sensors: { ul: { ...faceSensor, expandedK: 1.5 }, ll: faceSensor } }),
    whole,
  );
  result.places.forEach((place, i) => {
    expect(place.nominal).toBeCloseTo(reference.places[i].nominal, 9);
    expect(place.low).toBeCloseTo(reference.places[i].low, 9);
  });
  expect(result.quality.gaps).toEqual([]);
  // What the point itself goes on to read while another stands in for it is not mixed in.
  const both = [
    ...whole.map((r) => (r.tMs >= removedMs && r.point === 'ul' ? { ...r, value: 90 } : r)),
    ...supply,
  ];
  expect(scored(input, both).places).toEqual(result.places);

  const live = openLive(openLoad(input, 20 * minute));
  const sofar = both.filter(({ tMs }) => tMs <= 20 * minute).sort((a, b) => a.tMs - b.tMs);
  for (const { point, tMs, value } of sofar) live.add(point, tMs, value);
  expect(live.judge(20 * minute)).toEqual(scored(openLoad(input, 20 * minute), sofar));
});

test('readings in which a fault was found are a gap, with the rule that found it as a reason', () => {
  const doubted = [{ fromMs: 8 * minute, toMs: 14 * minute, rule: 'stuck' }];
  const plain = pressLoad(24);
  const faulty = pressLoad(24, { sensors: { ul: { ...faceSensor, doubted }, ll: faceSensor } });
  const [all, less] = [scored(plain, whole), scored(faulty, whole)];
  less.places.forEach((place, i) => {
    expect(place.low).toBeLessThan(all.places[i].low);
    expect(place.high).toBeGreaterThan(all.places[i].high);
  });
  expect(less.reasons).toContainEqual({ code: 'fault', point: 'ul', ...doubted[0] });
  expect(less.quality.doubtful).toBe(73);
});

test('an instrument longer overdue than allowed proves nothing, however well it reads', () => {
  const overdue = { ...faceSensor, unproven: 'grace-over' as const };
  const result = scored(pressLoad(24, { sensors: { ul: overdue, ll: faceSensor } }), whole);
  expect(result.verdict).toBe('unproven');
  expect(result.reasons).toContainEqual({
    code: 'unproven-instrument',
    point: 'ul',
    because: 'grace-over',
  });
});
