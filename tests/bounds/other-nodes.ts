/**
 * Compares the bits of our arithmetic on other Node releases: `node deploy/run-ts.mjs tests/bounds/other-nodes.ts [22 24]`.
 *
 * By hand, not in every test run: each release is a package of nearly 200 MB, installed into a
 * folder that is removed afterwards.
 */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

const releases = process.argv.length > 2 ? process.argv.slice(2) : ['22', '24'];
const expected = JSON.parse(
  readFileSync(new URL('../fixtures/arithmetic/bits.json', import.meta.url), 'utf8'),
) as unknown;
const print = `import { arithmeticDigests } from './tests/bounds/arithmetic-digests.ts'; console.log(JSON.stringify(arithmeticDigests()))`;

const folder = mkdtempSync(join(tmpdir(), 'setwell-nodes-'));
try {
  for (const release of releases) {
    const where = ['--prefix', folder, '--no-audit', '--no-fund', '--no-save'];
    const what = `node${release}@npm:node-${process.platform}-${process.arch}@${release}`;
    spawnSync('npm', ['install', ...where, what], { stdio: 'inherit' });
    const node = join(folder, 'node_modules', `node${release}`, 'bin', 'node');
    const flags = ['--conditions=source', '--import', 'tsx', '--input-type=module', '-e', print];
    const { stdout, error } = spawnSync(node, flags, { encoding: 'utf8' });
    const version = spawnSync(node, ['-v'], { encoding: 'utf8' }).stdout.trim();
    const same = JSON.stringify(expected) === stdout.trim();
    process.stdout.write(
      `${version} ${same ? 'same bits' : `OTHER BITS ${error ? String(error) : stdout}`}\n`,
    );
    if (!same) process.exitCode = 1;
  }
} finally {
  rmSync(folder, { recursive: true, force: true });
}
