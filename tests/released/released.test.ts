import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { cpSync, existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { canonicalJson } from '@setwell/shared-models/record/canonical';
import { score } from '@setwell/shared-models/score/score';
import type { ScoreInput } from '@setwell/shared-models/score/shape';
import { describe, expect, it } from 'vitest';
import { buildModel } from '../../deploy/build-model.mjs';
import { goldensOf, type ReleasedModel } from './released-model.ts';

const root = fileURLToPath(new URL('../..', import.meta.url));
const folder = new URL('../../shared-models/released/', import.meta.url);
const register = JSON.parse(readFileSync(new URL('register.json', folder), 'utf8')) as {
  number: number;
  file: string;
  sha256: string;
}[];

const sha256Of = (bytes: Uint8Array) => createHash('sha256').update(bytes).digest('hex');

describe.each(register)('model $number', ({ number, file, sha256 }) => {
  it('is the file that its line in the register names', () => {
    expect(file).toBe(`${number}.mjs`);
    expect(sha256Of(readFileSync(new URL(file, folder)))).toBe(sha256);
  });

  it('gives its recorded verdicts, to the byte', async () => {
    const model = (await import(new URL(file, folder).href)) as ReleasedModel;
    const goldens = goldensOf(number);
    expect(goldens.length).toBeGreaterThan(10);
    for (const { name, inputText, readingsCsv, resultText } of goldens) {
      const input = JSON.parse(inputText) as ScoreInput;
      expect(model.canonicalJson(model.score(input, readingsCsv)), name).toBe(resultText);
    }
  });

  it('is run by hand on a record’s own two files, and prints the record’s third', () => {
    const [golden] = goldensOf(number);
    const dir = mkdtempSync(join(tmpdir(), 'setwell-model-'));
    writeFileSync(join(dir, 'input.json'), golden?.inputText ?? '');
    writeFileSync(join(dir, 'readings.csv'), golden?.readingsCsv ?? '');
    const own = join(dir, `model-${number}.mjs`);
    cpSync(new URL(file, folder), own);
    const run = spawnSync(process.execPath, [own, 'input.json', 'readings.csv'], {
      cwd: dir,
      encoding: 'utf8',
    });
    expect(run.stderr).toBe('');
    expect(run.stdout).toBe(golden?.resultText);
    rmSync(dir, { recursive: true });
  });
});

it('numbers count up from 1, and no file lies there without one', () => {
  expect(register.map(({ number }) => number)).toEqual(register.map((_, i) => i + 1));
  expect(existsSync(new URL(`${register.length + 1}.mjs`, folder))).toBe(false);
});

it('the sources give the newest model’s verdicts, to the byte: else a new number is due', () => {
  for (const { name, inputText, readingsCsv, resultText } of goldensOf(register.length)) {
    const input = JSON.parse(inputText) as ScoreInput;
    expect(canonicalJson(score(input, readingsCsv)), name).toBe(resultText);
  }
});

it('two builds in two folders give the same bytes', async () => {
  const elsewhere = mkdtempSync(join(tmpdir(), 'setwell-sources-'));
  for (const part of ['units', 'plant', 'metrology', 'heat', 'cure', 'score', 'record']) {
    cpSync(join(root, 'shared-models', part), join(elsewhere, 'shared-models', part), {
      recursive: true,
    });
  }
  const here = await buildModel();
  const there = await buildModel(elsewhere);
  expect(there.sha256).toBe(here.sha256);
  expect(here.modules.every((name) => name.startsWith('shared-models/'))).toBe(true);
  rmSync(elsewhere, { recursive: true });
});
