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
  const now = new Map(live.points(emptyJournal, 2000).map(({ point, last }) => [point, last?.c]));
  expect(now.get('p1-ul')).toBeCloseTo(135, 9);
  expect(now.get('p1-ll')).toBeCloseTo(100, 2);
  expect(now.get('p1-bar')).toBeNull();
  expect(now.get('b1-plate')).toBeUndefined();
});
