import assert from 'node:assert/strict';
import { added, tallyOf, type Tally } from '../fixtures/load-tally.ts';

/** Loads of one seed of the soak; fifty seeds are two thousand. */
const loadsPerSeed = 40;
export const simulatedSeeds = 50;

const all: { complete: Tally | null; gaps: Tally | null } = { complete: null, gaps: null };

/** Forty simulated loads more, complete and with gaps; the last seed holds the shares of all. */
export function tallySimulatedLoads(seed: number): void {
  const seeds = Array.from({ length: loadsPerSeed }, (_, i) => (seed - 1) * loadsPerSeed + i + 1);
  const complete = tallyOf(seeds, false);
  const gaps = tallyOf(seeds, true);
  // What k = 2 allows of forty loads is one.
  assert.ok(complete.falsePasses <= 1);
  assert.ok(gaps.falsePasses <= 1);
  all.complete = all.complete === null ? complete : added(all.complete, complete);
  all.gaps = all.gaps === null ? gaps : added(all.gaps, gaps);
  if (seed !== simulatedSeeds) return;
  console.error('simulated loads, complete data', all.complete);
  console.error('simulated loads, with gaps', all.gaps);
  const { places, inside, aboveLow, falsePasses, wellInside, passed } = all.complete;
  assert.ok(inside / places >= 0.95);
  assert.ok(aboveLow / places >= 0.97);
  assert.ok(passed / wellInside >= 0.95);
  assert.ok(all.gaps.inside / all.gaps.places >= 0.97);
  // One side of k = 2: 2.3 % of all loads at the most.
  const loads = loadsPerSeed * simulatedSeeds;
  assert.ok(Math.max(falsePasses, all.gaps.falsePasses) / loads < 0.023);
}
