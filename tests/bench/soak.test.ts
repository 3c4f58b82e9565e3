import { expect, onTestFinished, test } from 'vitest';
import { soaks } from './soaks.ts';

test.each(soaks)(
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
