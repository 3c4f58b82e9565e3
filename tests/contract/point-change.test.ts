import { dueCalendar, walkingList } from '@setwell/shared-models/metrology/due-calendar';
import { findIt, movedSince } from '@setwell/shared-models/metrology/find-it';
import { describe, expect, test } from 'vitest';

describe('warming one by hand', () => {
  const before = new Map([
    ['p-1', 21],
    ['p-2', 22],
    ['p-3', 21.5],
  ]);
  const after = (changes: Record<string, number>) =>
    movedSince(
      before,
      new Map([...before].map(([point, c]) => [point, c + (changes[point] ?? 0.1)])),
    );

  test('the one that is held moves, up', () => {
    expect(findIt('p-1', after({ 'p-1': 4 }))).toEqual({ kind: 'itself', changeK: 4 });
  });

  test('another one moves: its wire ends there', () => {
    expect(findIt('p-1', after({ 'p-3': 4 }))).toEqual({ kind: 'other', point: 'p-3', changeK: 4 });
  });

  test('it falls: its two wires are the wrong way round', () => {
    expect(findIt('p-2', after({ 'p-2': -3 }))).toEqual({ kind: 'reversed', changeK: -3 });
  });

  test('two move alike, and none moves', () => {
    expect(findIt('p-1', after({ 'p-1': 4, 'p-2': 3.5 }))).toEqual({
      kind: 'several',
      points: ['p-1', 'p-2'],
    });
    expect(findIt('p-1', after({}))).toEqual({ kind: 'nothing' });
    expect(findIt('p-1', movedSince(new Map(), before))).toEqual({ kind: 'nothing' });
  });
});

const due = (point: string, station: string | null, date: string, daysLeft: number) => ({
  ...{ point, station, due: date, daysLeft },
  instrument: `i-${point}`,
  certificate: `C-${point}`,
});

test('what is due, in the order somebody walks: by station, then by day', () => {
  const all = [
    due('p-2', 'press-1', '2026-03-20', 18),
    due('o-1', 'oven-1', '2026-04-01', 30),
    due('p-1', 'press-1', '2026-02-24', -6),
    due('s-1', null, '2026-03-05', 3),
    due('p-3', 'press-1', '2027-01-01', 305),
  ];
  expect(walkingList(all, 60).map(({ point }) => point)).toEqual(['s-1', 'o-1', 'p-1', 'p-2']);
});

test('no station gives away more than two instruments in one week, and none is done late for it', () => {
  const soon = ['a', 'b', 'c', 'd', 'e'].map((point) => due(point, 'press-1', '2026-03-20', 18));
  const all = [
    ...soon,
    due('o', 'oven-1', '2026-03-20', 18),
    due('z', 'press-1', '2026-02-24', -6),
  ];
  const by = (point: string) => walkingList(all, 60).find((each) => each.point === point)?.by;
  expect(['a', 'b', 'c', 'd', 'e'].map(by)).toEqual([
    ...['2026-03-20', '2026-03-20', '2026-03-13', '2026-03-13', '2026-03-06'],
  ]);
  // Over already: today, a Monday.
  expect([by('o'), by('z')]).toEqual(['2026-03-20', '2026-03-02']);
  // Nothing comes before today, however many are due.
  const atOnce = ['a', 'b', 'c', 'd'].map((point) => due(point, 'press-1', '2026-03-04', 2));
  expect(walkingList(atOnce, 60).map((each) => each.by)).toEqual(Array(4).fill('2026-03-04'));
  // What is done earlier is on the list earlier.
  expect(walkingList(soon, 10).map(({ point }) => point)).toEqual(['e']);
});

// Sources: RFC 5545, 3.1 (lines of 75 octets at most, folded by CRLF and a space), 3.3.11 (escaping),
// 3.6.1 and 3.6.6 (an event's and an alarm's required members).
test('a calendar that any calendar program takes: folded, escaped, one day each', () => {
  const text = dueCalendar(
    'works',
    [
      {
        ...due('p-1', 'Hall 2; press, left', '2026-03-21', 19),
        ...{ certificate: 'C-ü'.repeat(40), by: '2026-03-14' },
      },
    ],
    '20260302T084000Z',
  );
  expect(text.startsWith('BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:')).toBe(true);
  expect(text.endsWith('END:VEVENT\r\nEND:VCALENDAR\r\n')).toBe(true);
  for (const line of text.split('\r\n')) {
    expect(Buffer.byteLength(line)).toBeLessThanOrEqual(75);
  }
  const unfolded = text.replaceAll('\r\n ', '');
  expect(unfolded).toContain('DTSTART;VALUE=DATE:20260314\r\n');
  expect(unfolded).toContain('LOCATION:Hall 2\\; press\\, left\r\n');
  expect(unfolded).toContain(`C-ü`.repeat(40));
  for (const needed of ['UID:', 'DTSTAMP:20260302T084000Z', 'TRIGGER:-P7D']) {
    expect(unfolded).toContain(needed);
  }
});

// Source: RFC 5545, 3.6: a calendar holds at least one component.
test('a calendar in which nothing is due is one all the same', () => {
  expect(dueCalendar('works', [], '20260302T084000Z')).toContain('\r\nBEGIN:VTIMEZONE\r\n');
});
