import { copyFileSync, existsSync, mkdirSync, readFileSync, readdirSync } from 'node:fs';
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import { installPackages, lastLine, missingPackages } from './debian.mjs';
import { SetupFailure } from './failure.mjs';
import { npm, runProgram } from './program.mjs';

/**
 * @typedef {{ version?: string, integrity?: string, optional?: boolean, link?: boolean }} LockedPackage
 */

const databasePackage = 'node_modules/better-sqlite3';
const databaseModule = `${databasePackage}/build/Release/better_sqlite3.node`;

/**
 * Packages the lock names and `node_modules` lacks or holds in another version.
 *
 * npm keeps beside what it installed a lock of its own; two equal locks mean that nothing is to do.
 *
 * @param {string} folder
 */
export function stalePackages(folder) {
  const wanted = lockedPackages(join(folder, 'package-lock.json'));
  const installed = lockedPackages(join(folder, 'node_modules/.package-lock.json'));
  return Object.entries(wanted)
    .filter(([path, { optional, link }]) => path.startsWith('node_modules/') && !optional && !link)
    .filter(([path, { version }]) => installed[path]?.version !== version)
    .map(([path]) => path);
}

/** @type {(file: string) => Record<string, LockedPackage>} */
function lockedPackages(file) {
  if (!existsSync(file)) return {};
  return JSON.parse(readFileSync(file, 'utf8')).packages;
}

/**
 * Installs what the lock names, without running any package's own script.
 *
 * @param {string} folder
 * @param {(detail: string, done?: number, total?: number) => void} say
 * @throws {SetupFailure} naming what is cached and what is missing where there is no network
 */
export async function installLocked(folder, say) {
  const locked = lockedPackages(join(folder, 'package-lock.json'));
  const total = Object.entries(locked).filter(
    ([path, { optional }]) => path.startsWith('node_modules/') && !optional,
  ).length;
  const counting = setInterval(() => say('', Math.min(countInstalled(folder), total), total), 500);
  const args = ['ci', '--ignore-scripts', '--prefer-offline', '--no-audit', '--no-fund'];
  const [command, rest] = npm(args);
  const { code, said } = await runProgram(command, rest, { cwd: folder }).finally(() =>
    clearInterval(counting),
  );
  if (code !== 0) throw await installFailure(folder, locked, said);
  say(`${total} packages`);
}

/** Folders that hold a package; counted while npm works, because npm itself does not say how far it is. */
function countInstalled(/** @type {string} */ folder) {
  const root = join(folder, 'node_modules');
  if (!existsSync(root)) return 0;
  return readdirSync(root)
    .filter((name) => !name.startsWith('.'))
    .reduce((n, name) => n + (name.startsWith('@') ? readdirSync(join(root, name)).length : 1), 0);
}

/** @type {(folder: string, locked: Record<string, LockedPackage>, said: string) => Promise<SetupFailure>} */
async function installFailure(folder, locked, said) {
  const noNetwork =
    /ENOTFOUND|EAI_AGAIN|ECONNREFUSED|ETIMEDOUT|ENETUNREACH|ECONNRESET|ENOTCACHED/.test(said);
  if (!noNetwork)
    return new SetupFailure(
      `npm could not install the packages: ${npmErrorLine(said)}`,
      'data and records; nothing of them is touched by an install.',
      'run  npm ci --ignore-scripts  to see all that it says.',
    );
  const [command, rest] = npm(['config', 'get', 'cache']);
  const cache = (await runProgram(command, rest, { cwd: folder })).said.trim();
  const missing = uncached(locked, cache);
  return new SetupFailure(
    `no network: ${missing.length} of ${Object.keys(locked).length} packages are not on this machine` +
      ` (${missing.slice(0, 3).join(', ')}${missing.length > 3 ? ' …' : ''}).`,
    'the packages fetched so far stay in the npm cache; data and records are untouched.',
    'connect this machine once (about 60 MB), or copy node_modules from a machine that has it, then start again.',
  );
}

/**
 * Locked packages whose content is not in npm's cache; it files by the lock's own hash.
 *
 * @param {Record<string, LockedPackage>} locked
 * @param {string} cache
 */
export function uncached(locked, cache) {
  return Object.entries(locked)
    .filter(([, { integrity }]) => integrity !== undefined)
    .filter(([, { integrity = '' }]) => {
      const [algorithm = '', base64 = ''] = integrity.split('-');
      const hex = Buffer.from(base64, 'base64').toString('hex');
      return !existsSync(
        join(
          cache,
          '_cacache/content-v2',
          algorithm,
          hex.slice(0, 2),
          hex.slice(2, 4),
          hex.slice(4),
        ),
      );
    })
    .map(([path]) => path.replace(/^.*node_modules\//, ''));
}

/** @param {string} said */
function npmErrorLine(said) {
  const lines = said.split('\n').filter((line) => /^npm (error|ERR!)/.test(line));
  return lines.find((line) => !/ code | A complete log/.test(line)) ?? lastLine(said);
}

/** Whether it is there and this very Node can load it: one built for another Node cannot. @param {string} folder */
export function hasDatabaseModule(folder) {
  try {
    const Database = createRequire(join(folder, 'package.json'))('better-sqlite3');
    new Database(':memory:').close();
    return true;
  } catch {
    return false;
  }
}

/**
 * Brings the one package that is compiled: as it was built here before, ready-made where its maker offers
 * that, else compiled now.
 *
 * @param {string} folder
 * @param {(detail: string) => void} say
 * @throws {SetupFailure} naming the Debian packages where the compiler is missing and may not be installed
 */
export async function buildDatabaseModule(folder, say) {
  if (takeBuiltBefore(folder)) return say('built before');
  let built = await rebuild(folder);
  if (built.code !== 0 || !hasDatabaseModule(folder)) {
    const missing = await missingPackages('compiler');
    if (missing.length > 0) {
      say(`compiler: ${missing.join(', ')}`);
      await installPackages(missing, say);
      say('compiles once, about two minutes');
    }
    built = await rebuild(folder);
  }
  if (built.code !== 0 || !hasDatabaseModule(folder))
    throw new SetupFailure(
      `the database module did not compile: ${npmErrorLine(built.said)}`,
      'data and records are untouched; the other packages stay installed.',
      'run  npm rebuild better-sqlite3 --foreground-scripts  to see all that the compiler says.',
    );
  mkdirSync(dirname(builtBefore(folder)), { recursive: true });
  copyFileSync(join(folder, databaseModule), builtBefore(folder));
}

/** npm empties node_modules when any package changes; a minute of compiling need not go with it. */
function takeBuiltBefore(/** @type {string} */ folder) {
  if (!existsSync(builtBefore(folder))) return false;
  mkdirSync(dirname(join(folder, databaseModule)), { recursive: true });
  copyFileSync(builtBefore(folder), join(folder, databaseModule));
  return hasDatabaseModule(folder);
}

/** By version, Node and machine: anything else is another module. @param {string} folder */
function builtBefore(folder) {
  const { version } = JSON.parse(
    readFileSync(join(folder, databasePackage, 'package.json'), 'utf8'),
  );
  const name = [version, process.versions.modules, process.platform, process.arch].join('-');
  return join(folder, 'deploy/dist/built', `better-sqlite3-${name}.node`);
}

/** @param {string} folder */
function rebuild(folder) {
  const [command, rest] = npm(['rebuild', 'better-sqlite3', '--no-audit', '--no-fund']);
  const prefix = dirname(dirname(process.execPath));
  const headers = existsSync(join(prefix, 'include/node/node.h'));
  // Node's own headers, where they lie beside it: then compiling needs no network.
  return runProgram(command, rest, {
    cwd: folder,
    // The database and what ties it to Node are two files: one a core.
    env: { npm_config_jobs: 'max', ...(headers && { npm_config_nodedir: prefix }) },
  });
}
