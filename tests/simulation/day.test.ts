import { expect, test } from 'vitest';
import { liveThroughQuietDay } from './day/bad-day.ts';

test('a quiet day ends with each load sealed by all its readings', async () => {
  const sealed = await liveThroughQuietDay();
  expect([...sealed].map(([load, { body }]) => [load, body.verdict, body.sealedBy])).toEqual([
    ['L-3', 'under', 'complete'],
    ['L-1', 'in-window', 'complete'],
    ['L-2', 'in-window', 'complete'],
    ['L-4', 'over', 'complete'],
  ]);
});
