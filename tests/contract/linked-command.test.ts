import { execFile } from 'node:child_process';
import { cp, mkdir, mkdtemp, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { promisify } from 'node:util';
import { expect, onTestFinished, test } from 'vitest';

const run = promisify(execFile);
const project = fileURLToPath(new URL('../..', import.meta.url));
interface Named {
  bin: { setwell: string };
}
/** What is linked as a command at installation, before anything is built. */
const { setwell: linked } = (
  JSON.parse(await readFile(join(project, 'collector/package.json'), 'utf8')) as Named
).bin;

test('the command is linked where it is installed, and runs what is built', async () => {
  const { stdout } = await run(join(project, 'node_modules/.bin/setwell'), ['--help']);
  expect(stdout).toContain('setwell [options] [command]');
});

test('before anything is built the command is there, and says how to build', async () => {
  const folder = await mkdtemp(join(tmpdir(), 'setwell-linked-'));
  onTestFinished(() => rm(folder, { recursive: true, force: true }));
  const command = join(folder, linked);
  await mkdir(dirname(command), { recursive: true });
  await cp(join(project, 'collector', linked), command);
  const refused = run(command, ['--help']);
  await expect(refused).rejects.toMatchObject({
    code: 3,
    stderr: expect.stringMatching(/not built yet.*\n.*Safe.*\n.*npm start/) as string,
  });
});
