import { mkdirSync, mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir, userInfo } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { Companion } from '@setwell/collector/cli/companion';
import { firstPersonLine } from '@setwell/collector/cli/greeting';
import { setupFileIn } from '@setwell/collector/cli/reach';
import { createCollector } from '@setwell/collector/collector';
import { SystemClock } from '@setwell/collector/system-clock';
import { wallClock } from '@setwell/shared-models/api/clock';
import { answerOf, refusalOf } from '../fixtures/command.ts';
import { CollectorProcess } from '../fixtures/collector-process.ts';
import { plantFile } from '../fixtures/press-plant/works.ts';

let folder: string;
let data: string;
let companion: Companion | null = null;

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'setwell-administrator-'));
  data = join(folder, 'data');
});
afterEach(async () => {
  await companion?.stop();
  rmSync(folder, { recursive: true });
});

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

test('the folder of the data is its owner’s alone, one of an earlier version too', async () => {
  mkdirSync(data, { mode: 0o755 });
  const program = new URL('../fixtures/serving.ts', import.meta.url);
  const running = await CollectorProcess.startProgram(program, [data]);
  await running.end();
  expect(statSync(data).mode & 0o077).toBe(0);
});

test('pages that wait for a first administrator say so whenever they are ready, and a log never holds the code', async () => {
  const script = join(folder, 'pages.cjs');
  writeFileSync(
    script,
    `process.send({ setupFile: '/d/setup-code' }); setInterval(() => {}, 1000);`,
  );
  const heard = await new Promise<unknown>((hear) => {
    companion = new Companion('pages', [script], () => undefined, hear);
  });
  const file = setupFileIn(heard);
  expect(file).toBe('/d/setup-code');
  const url = 'http://127.0.0.1:8410';
  expect(firstPersonLine(url, file!, '123456789')).toContain(`${url}/settings   code 123 456 789,`);
  expect(firstPersonLine(url, file!, null)).toContain('code in /d/setup-code,');
  for (const other of [null, 'setupFile', {}, { setupFile: 1 }]) {
    expect(setupFileIn(other)).toBeNull();
  }
});

test('without a collector that records it there is no code', async () => {
  expect(await refusalOf(['administrator', '--data', data])).toMatchObject({
    ...{ exit: 3, code: 'not-running', file: data },
  });
});
