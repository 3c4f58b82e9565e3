import { LiveReadings } from '@setwell/collector/serve/live-readings';
import type { JournalReader } from '@setwell/collector/journal/shape';
import type { Sensor } from '@setwell/shared-models/plant/plant-schema';
import { expect, test } from 'vitest';
import { smallPlant } from '../fixtures/small-plant.ts';

const emptyJournal = { lastReading: () => null, minutes: () => [] } as unknown as JournalReader;
const reading = { quality: 'good', deviceSeq: null, stamped: false, ahead: false } as const;

test('what a point says is told in °C, too, whatever its sensor speaks', () => {
  const plant = smallPlant();
  const change = (id: string, more: object) =>
    plant.sensors.set(id, { ...plant.sensors.get(id), ...more } as Sensor);
  change('p1-ul', { signal: 'fahrenheit' });
  change('p1-ll', { signal: 'ohm', element: { type: 'Pt100', class: 'A', standard: 'IEC 60751' } });
  const live = new LiveReadings(plant, emptyJournal);
  live.take({
    ...{ seq: 1, receivedMs: 1000, events: [] },
    readings: [
      { ...reading, point: 'p1-ul', t: 1000, v: 275 },
      // IEC 60751: 138.505 Ω at 100 °C.
      { ...reading, point: 'p1-ll', t: 1000, v: 138.505 },
      { ...reading, point: 'p1-bar', t: 1000, v: 160 },
    ],
  });
  const now = new Map(live.points(2000).map(({ point, last }) => [point, last?.c]));
  expect(now.get('p1-ul')).toBeCloseTo(135, 9);
  expect(now.get('p1-ll')).toBeCloseTo(100, 2);
  expect(now.get('p1-bar')).toBeNull();
  expect(now.get('b1-plate')).toBeUndefined();
});

test('readings of the last whole minute are counted, those of before a start among them', () => {
  const [first, second] = [600_000, 660_000];
  const journal = {
    lastReading: (point: string) =>
      point === 'p1-ul' ? { ...reading, point, t: second + 1000, v: 20, receivedMs: second } : null,
    minutes: (_point: string, fromMs: number, toMs: number) =>
      [
        { t: first, count: 60 },
        { t: second, count: 2 },
      ].filter(({ t }) => t >= fromMs && t <= toMs),
  } as unknown as JournalReader;
  const live = new LiveReadings(smallPlant(), journal);
  const say = (...ts: number[]) =>
    live.take({
      ...{ seq: 1, receivedMs: 0, events: [] },
      readings: ts.map((t) => ({ ...reading, point: 'p1-ul', t, v: 20 })),
    });
  const perMin = (nowMs: number) =>
    live.points(nowMs).find(({ point }) => point === 'p1-ul')?.perMin;
  expect(perMin(second + 30_000)).toBe(60);
  say(second + 2000, first + 500);
  expect(perMin(second + 30_000)).toBe(61);
  expect(perMin(second + 60_000)).toBe(3);
  say(second + 61_000);
  expect(perMin(second + 61_000)).toBe(3);
  expect(perMin(second + 180_000)).toBe(0);
  expect(live.silentSinceMs('p1-ul', second + 62_000)).toBeNull();
  expect(live.silentSinceMs('p1-ul', second + 3_600_000)).toBe(second + 61_000);
  expect(live.silentSinceMs('p1-ll', second)).toBeNull();
});

test('whoever follows hears of each point once, then of what changes, in lines of a bounded length', () => {
  const plant = smallPlant(12_000);
  const live = new LiveReadings(plant, emptyJournal);
  const say = (points: string[], t: number) =>
    live.take({
      ...{ seq: 1, receivedMs: t, events: [] },
      readings: points.map((point) => ({ ...reading, point, t, v: t })),
    });
  const all = [...plant.sensors.keys()];
  say(all, 1000);
  const first = live.frames(0, 1000);
  expect(first.frames.flatMap(({ points }) => Object.keys(points))).toEqual(all);
  for (const frame of first.frames) expect(JSON.stringify(frame).length).toBeLessThan(1e6);
  expect(live.frames(first.change, 1000)).toEqual({ frames: [], change: first.change });
  const [one, other] = all as [string, string];
  say([one], 2000);
  say([one, other], 3000);
  const { frames } = live.frames(first.change, 3000);
  const value = { t: 3000, v: 3000, quality: 'good', station: null };
  expect(frames).toEqual([{ asOfMs: 3000, points: { [one]: value, [other]: value } }]);
});

test('beside a point are it and the others of its station, or those of none', () => {
  const plant = smallPlant();
  const of = (id: string, station: string | null) =>
    plant.sensors.set(id, { ...plant.sensors.get(id)!, station });
  for (const id of plant.sensors.keys()) of(id, id.startsWith('p1-') ? 'press-1' : null);
  const live = new LiveReadings(plant, emptyJournal);
  const beside = (point?: string) => live.points(0, point).map((one) => one.point);
  expect(beside('p1-ll')).toEqual(['p1-ul', 'p1-ll', 'p1-bar', 'p1-closed']);
  expect(beside('b1-plate')).toEqual(['b1-plate']);
  expect(beside()).toHaveLength(5);
});
