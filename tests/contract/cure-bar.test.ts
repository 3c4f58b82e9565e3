import { expect, test } from 'vitest';
import { cureBar } from '@setwell/shared-models/api/cure-bar';
import { cureBarText } from '@setwell/shared-models/api/cure-bar-text';

const window = (least: number, most: number | null) => ({ least, most });
const cure = (low: number, nominal: number, high: number) => ({ low, nominal, high });

test('the text bar is what terminals were promised, 42 columns each', () => {
  const drawn = [
    cureBarText(cure(5.1, 5.9, 6.6), window(8, 60)),
    cureBarText(cure(14.2, 16, 18.1), window(8, 60)),
    cureBarText(cure(4.9, 5.6, 6.3), window(8, 60)),
    cureBarText(cure(6.9, 8.4, 9.8), window(8, 30)),
    cureBarText(cure(52, 58, 66), window(8, 60)),
    cureBarText(cure(82, 84, 86), window(120, null)),
  ];
  expect(drawn).toEqual([
    '============~~|~~...[              ] .....',
    '====================[=~|           ] .....',
    '============~~|~....[              ] .....',
    '=================~~~[|~            ] .....',
    '====================[===========~~|]~.....',
    '=============~|.....[                    >',
  ]);
});

test('solid reaches the first post exactly when low reaches the least', () => {
  expect(cureBar(cure(8, 9, 10), window(8, 60)).low).toBe(0.5);
  expect(cureBar(cure(7.999, 9, 10), window(8, 60)).low).toBeLessThan(0.5);
  expect(cureBar(cure(59, 60, 60), window(8, 60)).high).toBe(0.86);
  expect(cureBar(cure(59, 60, 60.001), window(8, 60)).high).toBeGreaterThan(0.86);
});

test('whatever the numbers, everything stays on the bar and in its order', () => {
  for (const most of [null, 9, 60]) {
    for (const value of [0, 0.001, 7.9, 8, 8.1, 60, 61, 1e6]) {
      const bar = cureBar(cure(value, value * 1.1, value * 1.2), window(8, most));
      expect(bar.low).toBeGreaterThanOrEqual(0);
      expect(bar.low).toBeLessThanOrEqual(bar.nominal);
      expect(bar.nominal).toBeLessThanOrEqual(bar.high);
      expect(bar.high).toBeLessThan(1);
      expect(cureBarText(cure(value, value * 1.1, value * 1.2), window(8, most))).toHaveLength(42);
    }
  }
});
