import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { score } from '@setwell/shared-models/score/score';
import { afterAll, expect, it } from 'vitest';
import { buildModel } from '../../deploy/build-model.mjs';
import { failedChecks, type Score } from '../fixtures/score-checks.ts';
import { wrongs } from './wrongs.ts';

const sources = fileURLToPath(new URL('../../shared-models/', import.meta.url));
const dir = mkdtempSync(join(tmpdir(), 'setwell-wrong-'));
afterAll(() => rmSync(dir, { recursive: true }));

it('nothing is wrong with the score as it is', () => {
  expect([...failedChecks(score)]).toEqual([]);
});

// A wrong that nothing notices is a hole in the checks, not in the score.
it.each(wrongs)('$file: $right → $wrong is noticed', async ({ file, right, wrong }) => {
  const text = readFileSync(join(sources, file), 'utf8');
  expect(text.split(right), 'stands there once').toHaveLength(2);
  const { bytes } = await buildModel(undefined, { file, text: text.replace(right, wrong) });
  const own = join(
    dir,
    `${wrongs.findIndex((each) => each.file === file && each.wrong === wrong)}.mjs`,
  );
  writeFileSync(own, bytes);
  const model = (await import(/* @vite-ignore */ pathToFileURL(own).href)) as { score: Score };
  expect(failedChecks(model.score).next().done).toBe(false);
});
