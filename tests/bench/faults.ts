import { staged, faultTable, silencesOf } from '../simulation/fault-table.ts';
import { demoPlant } from '../simulation/faulty-works.ts';

/** `node deploy/run-ts.mjs tests/bench/faults.ts`: when each staged fault of the demo plant is found. */
const plant = demoPlant();
for (const row of faultTable(plant, silencesOf(plant), staged)) {
  const { rule, point, foundAfterMin, doubtedFromMin, elsewhere } = row;
  const cells = [
    rule.padEnd(16),
    point.padEnd(10),
    foundAfterMin === null ? 'not found' : `after ${foundAfterMin.toFixed(1)} min`,
    doubtedFromMin === null ? '' : `doubted from ${doubtedFromMin.toFixed(1)} min`,
    elsewhere.length === 0 ? 'nowhere else' : `and at ${elsewhere.join(', ')}`,
  ];
  process.stdout.write(`${cells.join('  ')}\n`);
}
