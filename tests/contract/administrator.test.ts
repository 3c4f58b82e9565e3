import { mkdtempSync, readFileSync, rmSync, statSync } from 'node:fs';
import { tmpdir, userInfo } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { createCollector } from '@setwell/collector/collector';
import { SystemClock } from '@setwell/collector/system-clock';
import { wallClock } from '@setwell/shared-models/api/clock';
import { answerOf, refusalOf } from '../fixtures/command.ts';
import { CollectorProcess } from '../fixtures/collector-process.ts';
import { plantFile } from '../fixtures/press-plant/works.ts';

let folder: string;
let data: string;

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'setwell-administrator-'));
  data = join(folder, 'data');
});
afterEach(() => rmSync(folder, { recursive: true }));

test('a code is given for the running collector alone, for its owner’s eyes, and the record says so', async () => {
  const program = new URL('../fixtures/serving.ts', import.meta.url);
  const running = await CollectorProcess.startProgram(program, [data]);
  const { document } = await answerOf(['administrator', '--data', data]);
  await running.end();
  const file = join(data, 'setup-code');
  expect(document['code']).toMatch(/^\d{9}$/);
  expect(readFileSync(file, 'utf8').trim()).toBe(document['code']);
  expect(statSync(file).mode & 0o077).toBe(0);
  const collector = createCollector({
    ...{ plantFile, dataDir: data, clock: new SystemClock(wallClock), clockSetting: wallClock },
    ...{ judge: 'inline', version: 'test' },
  });
  const { username } = userInfo();
  expect(collector.ledger.entry(Number(document['n']))).toMatchObject({
    ...{ kind: 'setup-offered', by: 'box', body: { user: username } },
  });
  await collector.stop();
});

test('without a collector that records it there is no code', async () => {
  expect(await refusalOf(['administrator', '--data', data])).toMatchObject({
    ...{ exit: 3, code: 'not-running', file: data },
  });
});
