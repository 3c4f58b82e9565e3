import { expect, test } from 'vitest';
import { seededNormal } from '../fixtures/seeded-normal.ts';
import { trendOf } from './trend.ts';

const minutes = Array.from({ length: 21 }, (_, i) => i / 60);

test('what does not grow is inside its interval about as often as that says', () => {
  const normal = seededNormal(7);
  const inside = Array.from({ length: 1000 }, () => {
    const { low, high } = trendOf(
      minutes,
      minutes.map(() => 50 + normal()),
    );
    return low <= 0 && high >= 0;
  }).filter(Boolean).length;
  expect(inside).toBeGreaterThan(920);
  expect(inside).toBeLessThan(985);
});

test('a leak is outside of it, and the leak’s own slope inside', () => {
  const normal = seededNormal(11);
  const { slope, low, high } = trendOf(
    minutes,
    minutes.map((hours) => 50 + 20 * hours + normal() / 2),
  );
  expect(low).toBeGreaterThan(5);
  expect(slope).toBeGreaterThan(low);
  expect(high).toBeGreaterThan(20);
  expect(low).toBeLessThan(20);
});

test('a heap that fills and is swept is no leak, however its first and last samples lie', () => {
  const sawtooth = minutes.map((_, i) => 50 + 3 * ((i + 2) % 7));
  expect(trendOf(minutes, sawtooth).low).toBeLessThan(0);
  expect(trendOf(minutes, sawtooth).high).toBeGreaterThan(0);
});

test('from the line itself nothing strays', () => {
  const { slope, low, high } = trendOf([0, 1, 2, 3, 4, 5], [1, 3, 5, 7, 9, 11]);
  expect([slope, low, high]).toEqual([2, 2, 2]);
});
