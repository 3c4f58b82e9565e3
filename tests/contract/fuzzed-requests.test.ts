import { afterAll, expect, test } from 'vitest';
import { soaks } from '../bench/soaks.ts';
import { closeFuzzed, askWildly, requestsASeed } from './fuzzed-requests.ts';

afterAll(closeFuzzed);

test('no request of any shape is answered with a fault of ours', async () => {
  const soak = soaks.find(({ run }) => run === askWildly);
  const seeds = (soak?.seeds ?? 0) / (soak?.ciParts ?? 1);
  expect(seeds).toBeGreaterThanOrEqual(20);
  for (let seed = 1; seed <= seeds; seed += 1) await askWildly(seed);
  process.stdout.write(`${String(seeds * requestsASeed)} wild requests, no fault\n`);
}, 300_000);
