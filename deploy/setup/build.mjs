import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, readFileSync, readdirSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { SetupFailure } from './failure.mjs';
import { runProgram } from './program.mjs';

/**
 * @typedef {object} Target
 * @property {string} name
 * @property {string[]} folders whose files it is built from
 * @property {string} output one file that is there once it is built
 * @property {string[]} command
 */

/** @type {Target[]} */
const targets = [
  {
    name: 'programs',
    folders: ['shared-models', 'collector', 'dashboard/server', 'deploy'],
    output: 'collector/dist/cli/main.js',
    command: [
      'node_modules/typescript/bin/tsc',
      '-b',
      'shared-models',
      'collector',
      'dashboard/server',
      'deploy',
    ],
  },
  {
    name: 'pages',
    folders: ['shared-models', 'dashboard/web'],
    output: 'dashboard/dist/web/index.html',
    command: ['node_modules/vite/bin/vite.js', 'build', 'dashboard/web', '--logLevel', 'warn'],
  },
];

/** Outputs lie beside sources, and neither they nor installed packages are sources. */
const notSource = new Set(['dist', 'node_modules', 'data', 'released']);

/**
 * Targets whose sources have changed since they were last built, by content: a fresh clone's file
 * times mean nothing.
 *
 * @param {string} folder
 */
export function staleTargets(folder) {
  return targets.filter(
    (target) =>
      !existsSync(join(folder, target.output)) ||
      !existsSync(stampFile(folder, target)) ||
      readFileSync(stampFile(folder, target), 'utf8') !== digestOf(folder, target),
  );
}

/**
 * @param {string} folder
 * @param {Target[]} stale
 * @param {(detail: string, done?: number, total?: number) => void} say
 * @throws {SetupFailure} with the builder's own first error
 */
export async function build(folder, stale, say) {
  for (const [index, target] of stale.entries()) {
    say(target.name, index, stale.length);
    const digest = digestOf(folder, target);
    const { code, said } = await runProgram(process.execPath, target.command, { cwd: folder });
    if (code !== 0)
      throw new SetupFailure(
        `the ${target.name} did not build: ${said.trim().split('\n')[0]}`,
        'data and records are untouched; the last build stays in place.',
        `node ${target.command.join(' ')}   shows all that it says; git status shows what was changed here.`,
      );
    mkdirSync(dirname(stampFile(folder, target)), { recursive: true });
    writeFileSync(stampFile(folder, target), digest);
  }
  say(stale.map(({ name }) => name).join(', '));
}

/** @type {(folder: string, target: Target) => string} */
function stampFile(folder, target) {
  return join(folder, 'node_modules/.setwell', `${target.name}.sha256`);
}

/** @type {(folder: string, target: Target) => string} */
function digestOf(folder, target) {
  const hash = createHash('sha256');
  const shared = ['package.json', 'package-lock.json', 'tsconfig.json'];
  for (const file of [...shared, ...target.folders.flatMap((sub) => sourcesIn(folder, sub))])
    hash
      .update(file)
      .update('\0')
      .update(readFileSync(join(folder, file)))
      .update('\0');
  return hash.digest('hex');
}

/** @type {(folder: string, sub: string) => string[]} */
function sourcesIn(folder, sub) {
  if (!existsSync(join(folder, sub))) return [];
  return readdirSync(join(folder, sub), { withFileTypes: true })
    .filter(({ name }) => !notSource.has(name) && !name.endsWith('.tsbuildinfo'))
    .sort((a, b) => (a.name < b.name ? -1 : 1))
    .flatMap((entry) =>
      entry.isDirectory() ? sourcesIn(folder, join(sub, entry.name)) : [join(sub, entry.name)],
    );
}
