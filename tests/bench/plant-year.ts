import { fork } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import type { BenchRow } from './bench-row.ts';

const plantYear = 100_000;
const mostMin = 20;
const cores = 2;
/** Of each core; the whole would take the twenty minutes that are the limit. */
const sample = 200;
const told = sample / 10;

/**
 * A plant-year scored again on two cores, from records' own inputs and readings: a sample of it is
 * timed by the processor's own clock, so that neighbours on the machine cost nothing, and the year is
 * what as many samples would take.
 */
export async function plantYearBench(): Promise<BenchRow> {
  let done = 0;
  const took = await Promise.all(
    Array.from({ length: cores }, () =>
      partMs(() => {
        done += told;
        process.stderr.write(`plant-year: ${done} of ${cores * sample} loads\n`);
      }),
    ),
  );
  const yearMin = ((Math.max(...took) / sample) * (plantYear / cores)) / 60_000;
  return {
    name: `a plant-year of 100,000 one-zone loads on two cores, from ${cores * sample} of them`,
    baseline: `limit: ${mostMin} min`,
    ratio: mostMin / yearMin,
    aim: 1,
    value: yearMin,
    unit: 'min',
    runs: took.map((ms) => ((ms / sample) * (plantYear / cores)) / 60_000),
  };
}

/** Processor time of one process for its share [ms]. */
function partMs(step: () => void): Promise<number> {
  const part = fileURLToPath(new URL('plant-year-part.ts', import.meta.url));
  const child = fork(part, [String(sample), String(told)], { execArgv: process.execArgv });
  return new Promise((resolve, reject) => {
    child.on('message', (message: { done?: number; tookMs?: number }) => {
      if (message.tookMs === undefined) step();
      else resolve(message.tookMs);
    });
    child.on('error', reject);
    child.on('exit', (code) => reject(new Error(`a part of the year ended with ${String(code)}`)));
  });
}
