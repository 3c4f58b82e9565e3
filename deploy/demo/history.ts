import { on } from 'node:events';
import { resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';
import { Worker } from 'node:worker_threads';
import { makeFirstDays } from './first-days.ts';
import type { PastDay } from './past-readings.ts';

const { values } = parseArgs({
  options: {
    data: { type: 'string' },
    plant: {
      type: 'string',
      default: fileURLToPath(new URL('../../demo/plant.yaml', import.meta.url)),
    },
    seed: { type: 'string', default: '1' },
  },
});
const seed = Number(values.seed);

if (values.data === undefined || !Number.isInteger(seed)) {
  process.stderr.write('expected: history.js --data FOLDER [--plant plant.yaml] [--seed N]\n');
  process.exitCode = 2;
} else {
  let toldPercent = 0;
  await makeFirstDays({
    dataDir: resolve(values.data),
    plantFile: resolve(values.plant),
    seed,
    past: pastDays(seed),
    tell: (share, messages) => {
      const percent = Math.floor(100 * share);
      if (percent < toldPercent + 5) return;
      toldPercent = percent;
      process.stdout.write(`${percent} %, ${messages} messages\n`);
    },
  });
}

/** The six weeks, made up in a thread of their own while the collector takes in what there is. */
async function* pastDays(ofSeed: number): AsyncGenerator<PastDay> {
  const worker = new Worker(new URL('./past-worker.js', import.meta.url), { workerData: ofSeed });
  for await (const [day] of on(worker, 'message', { close: ['exit'] })) yield day as PastDay;
}
