import { cpSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { newestReleased } from '@setwell/collector/judge/released-model';
import type { LoadSealed } from '@setwell/shared-models/record/bodies';
import type { ScoreInput } from '@setwell/shared-models/score/shape';
import { expect, it } from 'vitest';
import { openWorks, usualFaceC } from '../fixtures/press-plant/works.ts';
import type { ReleasedModel } from './released-model.ts';

const folder = new URL('../../shared-models/released/', import.meta.url);

it('a sealed record names the released file that gave its verdict, and the file gives it again', async () => {
  const works = openWorks();
  works.event('load-start', { load: 'P1-1', lot: 'K-118', recipe: 'shell-13ply' });
  works.press(24, usualFaceC);
  works.event('load-end', { load: 'P1-1' });
  works.clock.advance(121_000);
  works.collector.step();
  const sealed = works.entries('load-sealed')[0]?.body as LoadSealed;
  const { number, sha256 } = sealed.model;
  expect(number).not.toBeNull();
  expect((await newestReleased())?.sha256).toBe(sha256);
  const file = new URL(`${String(number)}.mjs`, folder);
  const model = (await import(/* @vite-ignore */ file.href)) as ReleasedModel;
  const input = JSON.parse(works.document(sealed.input)) as ScoreInput;
  const again = model.canonicalJson(model.score(input, works.document(sealed.readings)));
  expect(again).toBe(works.document(sealed.result));
  await works.end();
});

it('a released file that has been touched seals nothing', async () => {
  const touched = mkdtempSync(join(tmpdir(), 'setwell-released-'));
  cpSync(fileURLToPath(folder), touched, { recursive: true });
  writeFileSync(join(touched, `${String((await newestReleased())?.number)}.mjs`), '// nothing\n', {
    flag: 'a',
  });
  const from = pathToFileURL(`${touched}/`);
  await expect(newestReleased(from)).rejects.toThrow(/expected [0-9a-f]{64} of model/);
  writeFileSync(join(touched, 'register.json'), '[]\n');
  expect(await newestReleased(from)).toBeNull();
  rmSync(touched, { recursive: true });
});
