import { existsSync } from 'node:fs';
import { expect, onTestFinished, test } from 'vitest';
import { soaks } from './soaks.ts';

test.each(soaks.filter(({ playedBy }) => playedBy === undefined))(
  '$name, with the first of the seeds',
  async ({ seeds, ciParts, run, end }) => {
    onTestFinished(() => end?.());
    const failed: { seed: number; error: unknown }[] = [];
    for (let seed = 1; seed <= Math.ceil(seeds / ciParts); seed += 1) {
      try {
        await run(seed);
      } catch (error) {
        failed.push({ seed, error });
      }
    }
    expect(failed).toEqual([]);
  },
  300_000,
);

test('a soak that another test plays names one that is there', () => {
  const named = soaks.flatMap(({ playedBy }) => playedBy ?? []);
  const gone = named.filter((file) => !existsSync(new URL(`../${file}`, import.meta.url)));
  expect(gone).toEqual([]);
});
