import { expect, test } from 'vitest';
import {
  isWithin,
  plantTimeIn,
  shiftAfterMs,
  shiftRuns,
} from '@setwell/collector/notify/plant-time';

/** A Monday, 09:40 in Copenhagen. */
const mondayMs = Date.parse('2026-03-02T08:40:00Z');

test('shifts go by the plant’s clock, the small hours belong to the day before', () => {
  const at = plantTimeIn('Europe/Copenhagen');
  const night = { id: 'night', days: ['mon' as const], from: '22:00', to: '06:00' };
  expect(at(mondayMs)).toEqual({ day: 'mon', minute: 9 * 60 + 40 });
  expect(shiftRuns(night, at(Date.parse('2026-03-02T21:00:00Z')))).toBe(true);
  expect(shiftRuns(night, at(Date.parse('2026-03-03T04:59:00Z')))).toBe(true);
  expect(shiftRuns(night, at(Date.parse('2026-03-03T05:00:00Z')))).toBe(false);
  expect(shiftRuns(night, at(Date.parse('2026-03-02T04:00:00Z')))).toBe(false);
  expect(isWithin(0, { from: '22:00', to: '06:00' })).toBe(true);
});

test('the first shift after a moment is found over a weekend and a change of clocks; where one runs there is none', () => {
  const early = { id: 'early', from: '06:00', to: '14:00' };
  const days = ['mon', 'tue', 'wed', 'thu', 'fri'] as const;
  const late = { id: 'late', days: [...days], from: '14:00', to: '22:00' };
  const plant = {
    site: { timeZone: 'Europe/Copenhagen' },
    shifts: [{ ...early, days: [...days] }, late],
  } as unknown as Parameters<typeof shiftAfterMs>[0];
  const after = (at: string) => {
    const ms = shiftAfterMs(plant, Date.parse(at));
    return ms === null ? null : new Date(ms).toISOString();
  };
  expect(after('2026-03-02T04:10:30Z')).toBe('2026-03-02T05:00:00.000Z');
  expect(after('2026-03-02T05:00:00Z')).toBeNull();
  expect(after('2026-03-02T20:59:00Z')).toBeNull();
  expect(after('2026-03-02T21:00:00Z')).toBe('2026-03-03T05:00:00.000Z');
  // Friday evening; the clocks go forward on the Sunday [Directive 2000/84/EC: last Sunday of March, 01:00 UTC].
  expect(after('2026-03-27T22:00:00Z')).toBe('2026-03-30T04:00:00.000Z');
  expect(shiftAfterMs({ ...plant, shifts: [] }, 0)).toBeNull();
});
