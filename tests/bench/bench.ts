import { writeFileSync } from 'node:fs';
import { arch, cpus, platform } from 'node:os';
import { parseArgs } from 'node:util';
import type { BenchRow } from './bench-row.ts';
import { conditionBench } from './condition.ts';
import { cureBench } from './cure.ts';
import { growthBench } from './growth.ts';
import { heatBench } from './heat.ts';
import { intakeBench } from './intake.ts';
import { memoryBench } from './memory.ts';
import { plantBench } from './plant.ts';
import { recordsBench } from './records.ts';
import { screensBench } from './screens.ts';
import { sensorsBench } from './sensors.ts';
import { watchersBench } from './watchers.ts';

/** Every bench is a file of its own beside this one. */
const benches: Record<string, () => BenchRow[] | Promise<BenchRow[]>> = {
  condition: conditionBench,
  cure: cureBench,
  growth: growthBench,
  heat: heatBench,
  intake: intakeBench,
  memory: memoryBench,
  plant: plantBench,
  records: recordsBench,
  screens: screensBench,
  sensors: sensorsBench,
  watchers: watchersBench,
};

/** `npm run bench -- [--only name] [--save]`: one JSON document on standard output, progress beside it. */
const { values } = parseArgs({
  options: { only: { type: 'string' }, save: { type: 'boolean', default: false } },
});
const names = Object.keys(benches);
if (values.only !== undefined && benches[values.only] === undefined) {
  process.stderr.write(`found --only ${values.only}; expected one of ${names.join(', ')}\n`);
  process.exit(2);
}

const rows: Record<string, BenchRow[]> = {};
for (const [name, bench] of Object.entries(benches)) {
  if (values.only !== undefined && values.only !== name) continue;
  process.stderr.write(`${name} …\n`);
  rows[name] = await bench();
}
const document = {
  node: process.version,
  machine: `${platform()} ${arch()}, ${cpus().length} × ${cpus()[0]?.model ?? 'processor'}`,
  missed: Object.values(rows)
    .flat()
    .filter(({ ratio, aim }) => ratio !== null && ratio < aim)
    .map(({ name }) => name),
  rows,
};
const text = `${JSON.stringify(document, null, 2)}\n`;
process.stdout.write(text);
if (values.save) writeFileSync(new URL('last.json', import.meta.url), text);
