import { existsSync, mkdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { parseArgs } from 'node:util';
import { buildModel } from '../../deploy/build-model.mjs';
import { canonicalReadings } from '@setwell/shared-models/score/readings';
import { canonicalJson } from '@setwell/shared-models/record/canonical';
import { releasedCases } from './cases.ts';
import type { ReleasedModel } from './released-model.ts';

/**
 * `npm run model`: tells whether the sources are the newest released model. `-- --release` freezes them
 * under the next number: its file, its line in the register, and its goldens. Nothing released is ever
 * written over.
 */
const { values } = parseArgs({ options: { release: { type: 'boolean', default: false } } });
const folder = new URL('../../shared-models/released/', import.meta.url);
const registerFile = new URL('register.json', folder);

interface Released {
  number: number;
  file: string;
  sha256: string;
}

const register = existsSync(registerFile)
  ? (JSON.parse(readFileSync(registerFile, 'utf8')) as Released[])
  : [];
const { bytes, sha256 } = await buildModel();
const newest = register.at(-1);
if (newest?.sha256 === sha256) {
  process.stdout.write(`the sources are model ${newest.number}, ${sha256}\n`);
} else if (!values.release) {
  process.stdout.write(`the sources are no released model, ${sha256}\n`);
  process.exitCode = 1;
} else {
  await release((newest?.number ?? 0) + 1);
}

async function release(number: number): Promise<void> {
  const file = `${number}.mjs`;
  mkdirSync(folder, { recursive: true });
  writeFileSync(new URL(file, folder), bytes, { flag: 'wx' });
  const model = (await import(new URL(file, folder).href)) as ReleasedModel;
  const goldens = new URL(`./${number}/`, import.meta.url);
  rmSync(goldens, { recursive: true, force: true });
  for (const { name, input, readings } of releasedCases) {
    const own = new URL(`${name}/`, goldens);
    mkdirSync(own, { recursive: true });
    const csv = canonicalReadings(readings);
    writeFileSync(new URL('input.json', own), canonicalJson(input));
    writeFileSync(new URL('readings.csv', own), csv);
    writeFileSync(new URL('result.json', own), canonicalJson(model.score(input, csv)));
  }
  const lines = [...register, { number, file, sha256 }].map((each) => `  ${JSON.stringify(each)}`);
  writeFileSync(registerFile, `[\n${lines.join(',\n')}\n]\n`);
  process.stdout.write(`released as model ${number}, ${sha256}\n`);
}
