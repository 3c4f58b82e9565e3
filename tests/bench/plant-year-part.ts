import { canonicalReadings } from '@setwell/shared-models/score/readings';
import { score } from '@setwell/shared-models/score/score';
import { planWeights } from '@setwell/shared-models/score/weigh';
import { processorSince } from './processor-time.ts';
import { platenC, pressLoad, readingsOf } from '../fixtures/press-load.ts';

/** One core's share of a plant-year: so many one-zone loads of 24 to 26 min, each with faces of its own. */
const [count = 0, every = 1] = process.argv.slice(2).map(Number);

const loads = Array.from({ length: 16 }, (_, i) => {
  const minutes = 24 + (i % 3);
  const heldBy = (s: number) => Math.round(100 * (platenC(s) - (i % 5))) / 100;
  const input = pressLoad(minutes);
  input.weights = planWeights(input);
  return { input, csv: canonicalReadings(readingsOf({ ul: heldBy, ll: heldBy }, minutes * 60)) };
});
// What is compiled is compiled before the clock runs.
for (const { input, csv } of loads) score(input, csv);

const before = process.cpuUsage();
for (let done = 1; done <= count; done += 1) {
  const load = loads[done % loads.length];
  if (load !== undefined) score(load.input, load.csv);
  if (done % every === 0) process.send?.({ done });
}
process.send?.({ tookMs: 1000 * processorSince(before) });
