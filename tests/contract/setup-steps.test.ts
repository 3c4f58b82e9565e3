import { afterEach, beforeEach, expect, it, vi } from 'vitest';
import { Steps } from '../../deploy/setup/steps.mjs';

beforeEach(() => {
  vi.useFakeTimers();
});
afterEach(() => {
  vi.useRealTimers();
});

/** One step of a minute, run for so long; what was written to a log or a terminal. */
async function written(ranS: number, isTTY: boolean): Promise<string[]> {
  const lines: string[] = [];
  const steps = new Steps({ write: (text: string) => lines.push(text), isTTY });
  steps.announce([{ title: 'database module', usually: 'about a minute', usuallyS: 60 }]);
  let end = (): void => undefined;
  const step = steps.run('database module', () => new Promise<void>((done) => (end = done)));
  await vi.advanceTimersByTimeAsync(ranS * 1000);
  end();
  await step;
  return lines;
}

it('says once in a log that a step takes longer than usual and goes on, and nothing of it in time', async () => {
  const late = (await written(150, false)).filter((line) => line.includes('longer than usual'));
  expect(late).toHaveLength(1);
  expect(late[0]).toMatch(/database module .* 2:00 {2}longer than usual; it goes on/);
  expect((await written(100, false)).join('')).not.toContain('longer than usual');
});

it('says it on the terminal for as long as it lasts, and ends with ok all the same', async () => {
  const lines = await written(150, true);
  const last = lines.filter((line) => line.includes('it goes on')).at(-1) ?? '';
  expect(last).toMatch(/2:[23]\d {2}longer than usual; it goes on$/);
  expect(lines.at(-1)).toMatch(/2:30 {2}ok\n$/);
});
