import { writeFileSync } from 'node:fs';
import { parseArgs } from 'node:util';
import { soaks } from './soaks.ts';

/**
 * `npm run soak -- [--only words of a name] [--from seed] [--to seed] [--save]`: every seed of every soak, or
 * those of a range, so that several processes can share them; one JSON document, and 1 if a seed failed.
 * What is one run in parts is judged in its last.
 */
const { values } = parseArgs({
  options: {
    only: { type: 'string', default: '' },
    from: { type: 'string', default: '1' },
    to: { type: 'string', default: 'Infinity' },
    save: { type: 'boolean', default: false },
  },
});
const [from, to] = [Number(values.from), Number(values.to)];
if (!(Number.isInteger(from) && from >= 1 && to >= from)) {
  const found = `--from ${values.from} --to ${values.to}`;
  process.stderr.write(
    `found ${found}; expected a first seed from 1 on and a last one from it on\n`,
  );
  process.exit(2);
}
const chosen = soaks.filter(({ name }) => name.includes(values.only));
if (chosen.length === 0) {
  const names = soaks.map(({ name }) => `  ${name}`).join('\n');
  process.stderr.write(`found --only ${values.only}; expected words of one of\n${names}\n`);
  process.exit(2);
}

const results = [];
for (const { name, seeds, run, end } of chosen) {
  const failed: { seed: number; because: string }[] = [];
  const last = Math.min(seeds, to);
  for (let seed = from; seed <= last; seed += 1) {
    if (seed % Math.ceil(seeds / 20) === 0) process.stderr.write(`${name}: ${seed} of ${seeds}\n`);
    try {
      await run(seed);
    } catch (error) {
      failed.push({ seed, because: error instanceof Error ? error.message : String(error) });
    }
  }
  await end?.();
  results.push({ name, seeds, from, to: last, failed });
}
const text = `${JSON.stringify({ node: process.version, results }, null, 2)}\n`;
process.stdout.write(text);
if (values.save) writeFileSync(new URL('last-soak.json', import.meta.url), text);
process.exitCode = results.some(({ failed }) => failed.length > 0) ? 1 : 0;
