import { writeFileSync } from 'node:fs';
import { parseArgs } from 'node:util';
import { soaks } from './soaks.ts';

/**
 * `npm run soak -- [--only words of a name] [--save]`: every seed of every soak; one JSON document,
 * and 1 if a seed failed.
 */
const { values } = parseArgs({
  options: { only: { type: 'string', default: '' }, save: { type: 'boolean', default: false } },
});
const chosen = soaks.filter(({ name }) => name.includes(values.only));
if (chosen.length === 0) {
  const names = soaks.map(({ name }) => `  ${name}`).join('\n');
  process.stderr.write(`found --only ${values.only}; expected words of one of\n${names}\n`);
  process.exit(2);
}

const results = [];
for (const { name, seeds, run, end } of chosen) {
  const failed: { seed: number; because: string }[] = [];
  for (let seed = 1; seed <= seeds; seed += 1) {
    if (seed % Math.ceil(seeds / 20) === 0) process.stderr.write(`${name}: ${seed} of ${seeds}\n`);
    try {
      await run(seed);
    } catch (error) {
      failed.push({ seed, because: error instanceof Error ? error.message : String(error) });
    }
  }
  await end?.();
  results.push({ name, seeds, failed });
}
const text = `${JSON.stringify({ node: process.version, results }, null, 2)}\n`;
process.stdout.write(text);
if (values.save) writeFileSync(new URL('last-soak.json', import.meta.url), text);
process.exitCode = results.some(({ failed }) => failed.length > 0) ? 1 : 0;
