import { fork } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { pressedLot } from '../fixtures/pressed-lot.ts';
import type { Works } from '../fixtures/press-plant/works.ts';
import type { BenchRow } from './bench-row.ts';

const few = 32;
const many = 256;

/** Resident memory of the process that exports a period, held against one of an eighth of its lots. */
export async function periodMemoryBench(): Promise<BenchRow> {
  const [fewMb, manyMb] = [await mostMb(few), await mostMb(many)];
  return {
    name: `resident memory at most while a period of ${many} lots goes out as one bundle`,
    baseline: `a period of ${few} lots, ${fewMb.toFixed(0)} MB`,
    ratio: fewMb / manyMb,
    // What is in use is the same; the collector of garbage lets a longer run have a little more.
    aim: 0.75,
    value: manyMb,
    unit: 'MB',
    runs: [fewMb, manyMb],
  };
}

async function mostMb(lots: number): Promise<number> {
  const { works, end } = await pressedLot(2, (pressed) => toldAsLots(pressed, lots));
  const part = fileURLToPath(new URL('period-memory-part.ts', import.meta.url));
  try {
    return await new Promise((resolve, reject) => {
      const child = fork(part, [works.dataDir], { execArgv: process.execArgv });
      child.on('message', ({ mostKb }: { mostKb: number }) => resolve(mostKb / 1000));
      child.on('error', reject);
      child.on('exit', (code) => reject(new Error(`the export has ended with ${String(code)}`)));
    });
  } finally {
    await end();
  }
}

/** Each told load as a lot of its own: what a period's bundle takes one after the other. */
function toldAsLots(works: Works, lots: number): void {
  const { ledger } = works.collector;
  const told = works
    .entries()
    .filter(({ kind }) => ['load-opened', 'load-ended', 'load-sealed'].includes(kind));
  for (let n = 1; n < lots; n++) {
    const [load, lot] = [`P1-${String(231 + n).padStart(5, '0')}`, `K-${200 + n}`];
    ledger.append(
      told.map(({ kind, by, about, body }) => ({
        ...{ kind, by, about: { ...about, load, lots: [lot] } },
        body: { ...(body as object), load, ...(kind === 'load-opened' ? { lot } : {}) },
      })),
    );
  }
}
