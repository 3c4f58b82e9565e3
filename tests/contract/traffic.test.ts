import fc from 'fast-check';
import { expect, test } from 'vitest';
import { PointTraffic } from '@setwell/collector/intake/traffic';
import { sequenceHoles, SequenceWatch } from '@setwell/collector/journal/sequence';
import type { Reading } from '@setwell/collector/journal/shape';
import { smallPlant } from '../fixtures/small-plant.ts';

const startMs = 1_772_431_200_000;

function reading(s: number, more: Partial<Reading> = {}): Reading {
  const common = { quality: 'good', deviceSeq: null, stamped: false, ahead: false } as const;
  return { point: 'p1-ul', t: startMs + s * 1000, v: 138, ...common, ...more };
}

function point(newestS: number | null = null): PointTraffic {
  const sensor = smallPlant().sensors.get('p1-ul');
  if (!sensor) throw new Error('no such point');
  return new PointTraffic(
    { ...sensor, everyS: 1 },
    newestS === null ? null : startMs + newestS * 1000,
  );
}

test('a hole in the numbers is open until what is missing has come, in whatever order', () => {
  const numbers = fc.uniqueArray(fc.nat(40), { minLength: 2, maxLength: 30 });
  const orders = numbers.chain((all) =>
    fc.shuffledSubarray(all, { minLength: all.length, maxLength: all.length }),
  );
  fc.assert(
    fc.property(orders, (order) => {
      const watch = new SequenceWatch();
      const [first = 0] = order;
      // From the first on: what a device has sent before, nobody has promised.
      const heard = order.filter((n) => n >= first);
      for (const n of heard) watch.take({ t: startMs + n * 1000, deviceSeq: n });
      const sorted = [...heard].sort((a, b) => a - b);
      const rows = sorted.map((n) => ({ t: startMs + n * 1000, deviceSeq: n }));
      expect([...watch.open].sort((a, b) => a.fromSeq - b.fromSeq)).toEqual(sequenceHoles(rows));
      expect(watch.missing).toBe((sorted.at(-1) ?? 0) - first + 1 - heard.length);
    }),
    { seed: 3 },
  );
});

test('a device that begins to count anew has lost nobody knows what, and no hole is made of it', () => {
  const watch = new SequenceWatch();
  for (const [s, deviceSeq] of [
    [0, 900],
    [1, 901],
    [9, 1],
    [10, 2],
  ] as const) {
    watch.take({ t: startMs + s * 1000, deviceSeq });
  }
  expect([watch.open, watch.restarts, watch.missing]).toEqual([[], 1, 0]);
});

test('a time without a reading is a gap, until a late one comes into it', () => {
  const traffic = point(0);
  for (const s of [1, 2, 62, 63]) traffic.reading(reading(s), null);
  const nowMs = startMs + 63_000;
  expect(traffic.gaps(nowMs)).toEqual([{ fromMs: startMs + 2000, toMs: startMs + 62_000 }]);
  for (let s = 3; s < 42; s += 1) traffic.reading(reading(s), null);
  expect(traffic.gaps(nowMs)).toEqual([{ fromMs: startMs + 41_000, toMs: startMs + 62_000 }]);
});

test('what was missed while nothing ran is a gap as well', () => {
  const traffic = point(0);
  traffic.reading(reading(3600), null);
  expect(traffic.gaps(startMs + 3_600_000)).toHaveLength(1);
});

test('a topic is fast after a minute above twenty a second, and not any more a minute later', () => {
  const traffic = point();
  for (let i = 0; i <= 1200; i += 1) traffic.message(i * 49, false);
  expect(traffic.isFast(59_999)).toBe(false);
  expect(traffic.isFast(60_000)).toBe(true);
  for (let s = 60; s < 120; s += 1) traffic.message(s * 1000, false);
  expect(traffic.isFast(120_000)).toBe(false);
});

test('a device’s clock is told by the message that was least on its way', () => {
  const traffic = point();
  const sent = (s: number, offMs: number, delayMs: number) => {
    traffic.message(s * 1000, false);
    traffic.reading(reading(s, { t: startMs + s * 1000 + offMs }), startMs + s * 1000 + delayMs);
  };
  for (const delayMs of [900, 20, 400]) sent(1, 7000, delayMs);
  expect(traffic.offsetMs).toBe(6980);
  traffic.reading(reading(2, { stamped: true }), startMs);
  expect(traffic.offsetMs).toBe(6980);
});
