import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { Intake, type Arrival } from '@setwell/collector/intake/intake';
import { openJournal, openJournalReader, type Journal } from '@setwell/collector/journal/journal';
import type { Batch, JournalReader } from '@setwell/collector/journal/shape';
import { Metrics } from '@setwell/collector/metrics';
import { SteppedClock } from '@setwell/collector/stepped-clock';
import { smallPlant } from '../fixtures/small-plant.ts';

const now = 1_772_431_200_000;
let folder: string;
let journal: Journal;
let reader: JournalReader;
let clock: SteppedClock;
let metrics: Metrics;
let intake: Intake;

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'intake-'));
  journal = openJournal(join(folder, 'journal.db'));
  reader = openJournalReader(join(folder, 'journal.db'));
  clock = new SteppedClock(now);
  metrics = new Metrics();
  intake = new Intake({ plant: smallPlant(), journal, clock, metrics });
});

afterEach(() => {
  reader.close();
  journal.close();
  rmSync(folder, { recursive: true });
});

function arrival(topic: string, payload: unknown, more: Partial<Arrival> = {}): Arrival {
  const text = typeof payload === 'string' ? payload : JSON.stringify(payload);
  const bytes = Buffer.isBuffer(payload) ? payload : Buffer.from(text);
  return { topic, payload: bytes, retained: false, queued: false, act: null, ...more };
}

const upper = (payload: unknown, more: Partial<Arrival> = {}) =>
  arrival('plant/press-1/p1-ul', payload, more);

const upperReadings = () => reader.readings('p1-ul', 0, 5e12).readings;

describe('intake', () => {
  it('stores what has arrived as one batch, and says where', () => {
    const heard: Batch[] = [];
    intake.onCommit((batch) => heard.push(batch));
    const outcomes = intake.accept([
      upper([
        { t: now, v: 1 },
        { t: now - 1000, v: 2 },
      ]),
      arrival('plant/press-1/event', { t: now, event: 'load-start', load: 'P1-1' }),
      upper({ t: now, v: 1 }),
    ]);
    expect(outcomes).toEqual([
      { place: { seq: 1, index: 0 }, faults: [] },
      { place: { seq: 1, index: 2 }, faults: [] },
      { place: null, faults: [] },
    ]);
    expect(heard).toEqual(reader.batchesAfter(0, 10));
    expect(heard[0]?.events).toMatchObject([
      { index: 2, event: { station: 'press-1', act: null } },
    ]);
  });

  it.each([
    [-61_000, 'late', false],
    [-60_000, 'good', false],
    [10_000, 'good', false],
    [10_001, 'good', true],
    [365 * 86_400_000, 'good', true],
    [-14 * 86_400_000, 'late', false],
  ])('takes a reading %d ms from its receipt: %s, ahead %s', (offsetMs, quality, ahead) => {
    intake.accept([upper({ t: now + offsetMs, v: 1 })]);
    expect(upperReadings()).toMatchObject([{ quality, ahead, t: now + offsetMs }]);
  });

  it('notes a clock that is ahead once a minute, and counts it each time', async () => {
    for (let s = 0; s < 90; s++) {
      intake.accept([upper({ t: now + 3_600_000 + s * 1000, v: 1 })]);
      clock.advance(1000);
    }
    expect(reader.rejects(100).map((reject) => reject.code)).toEqual(['ahead', 'ahead']);
    expect(await metrics.registry.metrics()).toContain('setwell_ahead_total 90');
  });

  it('knows a retained reading for an old one', () => {
    intake.accept([upper({ t: now - 3_600_000, v: 1 }, { retained: true })]);
    expect(upperReadings()).toMatchObject([{ quality: 'retained-old' }]);
  });

  it('keeps bare numbers of one receipt apart, however many come with one commit', () => {
    intake.accept([upper('135.2'), upper('135.4')]);
    intake.accept([upper('135.6')]);
    const { readings, conflicts } = reader.readings('p1-ul', 0, 5e12);
    expect(readings.map(({ t, v }) => [t, v])).toEqual([
      [now, 135.2],
      [now + 1, 135.4],
      [now + 2, 135.6],
    ]);
    expect(conflicts).toBe(0);
  });

  it('stamps a bare number on receipt, and only one that comes live', () => {
    intake.accept([
      upper('135.2'),
      upper('136', { retained: true }),
      upper('137', { queued: true }),
    ]);
    expect(upperReadings()).toMatchObject([{ t: now, v: 135.2, stamped: true }]);
    expect(reader.rejects(9).map(({ code, found }) => [code, found])).toEqual([
      ['not-live', 't: no time, and queued by the broker'],
      ['not-live', 't: no time, and retained by the broker'],
    ]);
  });

  it.each([
    ['plant/press-1/p9', '1', 'unknown-topic'],
    ['elsewhere', '1', 'unknown-topic'],
    ['plant/press-9/event', '{}', 'unknown-station'],
    ['plant/press-1/event', '{', 'not-json'],
    ['plant/press-1/event', '{"t":1,"event":"load-start","load":"x"}', 'not-a-time'],
    ['plant/press-1/p1-ul', '{"t":1772431200000,"v":NaN}', 'not-json'],
    ['plant/press-1/p1-ul', `{"t":${now - 15 * 86_400_000},"v":1}`, 'too-old'],
    ['plant/press-1/p1-bar', '[{"n":"p1-bar","u":"bar","v":1,"t":-1300000}]', 'too-old'],
    ['plant/press-1/p1-ul', 'x'.repeat(65_537), 'oversize'],
    ['setwell/press-1/advice', '{}', 'reserved-topic'],
    ['setwell-act/press-1/event', '{}', 'reserved-topic'],
  ])('sets aside what %s says', async (topic, payload, code) => {
    const [outcome] = intake.accept([arrival(topic, payload)]);
    expect(outcome?.faults.map((fault) => fault.code)).toEqual([code]);
    expect(reader.rejects(9)).toMatchObject([{ topic, code, receivedMs: now }]);
    const counted = await metrics.registry.getSingleMetricAsString('setwell_rejects_total');
    expect(counted).toContain(`setwell_rejects_total{code="${code}"} 1`);
    expect(reader.head()).toBe(0);
  });

  it('sets aside bytes that are no text', () => {
    const bytes = Buffer.from([0xff, 0xfe, 0x00]);
    intake.accept([{ ...upper(''), payload: bytes }]);
    expect(reader.rejects(1)).toMatchObject([{ code: 'not-text', found: 'bytes fffe00' }]);
  });

  it('takes an event of a person’s act, with the act', () => {
    const event = { t: now, event: 'load-end', load: 'P1-1' };
    const [outcome] = intake.accept([arrival('setwell-act/press-1/event', event, { act: '3f1c' })]);
    expect(outcome?.place).toEqual({ seq: 1, index: 0 });
    expect(reader.batchesAfter(0, 1)[0]?.events[0]?.event.act).toBe('3f1c');
    expect(() => intake.accept([arrival('plant/press-1/event', event, { act: '3f1c' })])).toThrow(
      RangeError,
    );
  });

  it('splits what is more than one batch', () => {
    const many = Array.from({ length: 2500 }, (_, i) => ({ t: now - i, v: i }));
    const [outcome] = intake.accept([upper(many.slice(0, 1250)), upper(many.slice(1250))]);
    expect(reader.batchesAfter(0, 10).map((batch) => batch.readings.length)).toEqual([
      1000, 1000, 500,
    ]);
    expect(outcome?.place).toEqual({ seq: 1, index: 0 });
    expect(upperReadings()).toHaveLength(2500);
  });

  it('keeps a switch, and a SenML pack in the point’s own signal', () => {
    intake.accept([
      arrival('plant/press-1/p1-closed', { t: now, v: true }),
      arrival('plant/press-1/p1-bar', [{ n: 'p1-bar', u: 'Pa', v: 1.6e7, t: now / 1000 }]),
    ]);
    expect(reader.lastReading('p1-closed')?.v).toBe(1);
    expect(reader.lastReading('p1-bar')?.v).toBe(160);
  });
});
