import { accessSync, constants } from 'node:fs';
import { delimiter, join } from 'node:path';
import { SetupFailure } from './failure.mjs';
import { runProgram } from './program.mjs';

/** Debian packages by what they bring. The one list; `npm start` needs only the compiler, and that seldom. */
const packagesOf = /** @type {const} */ ({
  compiler: ['build-essential', 'python3'],
  tests: [
    'mosquitto',
    'mosquitto-clients',
    'chromium',
    'influxdb',
    'victoria-metrics',
    'python3-scipy',
    'openssl',
    'strace',
    'faketime',
    'poppler-utils',
    'qpdf',
    'procps',
  ],
});

/** What tells that a package is there, where it is not a program of the same name. */
/** @type {Record<string, () => boolean | Promise<boolean>>} */
const present = {
  'build-essential': () => isProgram('g++') && isProgram('make'),
  'mosquitto-clients': () => isProgram('mosquitto_pub'),
  'python3-scipy': async () =>
    (await runProgram('python3', ['-c', 'import scipy'], { cwd: '/' })).code === 0,
  influxdb: () => isProgram('influxd'),
  'poppler-utils': () => isProgram('pdftotext'),
  qpdf: () => isProgram('qpdf'),
  procps: () => isProgram('ps'),
};

/**
 * Debian packages of a purpose that are not there.
 *
 * @param {keyof typeof packagesOf} purpose
 */
export async function missingPackages(purpose) {
  const found = await Promise.all(
    packagesOf[purpose].map((name) => present[name]?.() ?? isProgram(name)),
  );
  return packagesOf[purpose].filter((_, index) => !found[index]);
}

/** The line a person types where we may not. @param {readonly string[]} names */
export function installLine(names) {
  return `sudo apt-get install -y --no-install-recommends ${names.join(' ')}`;
}

/**
 * Installs Debian packages, as root or with a sudo that asks nothing.
 *
 * @param {readonly string[]} names
 * @param {(detail: string) => void} say
 * @throws {SetupFailure} without apt, without the right, without network
 */
export async function installPackages(names, say) {
  const toDo = `${installLine(names)}   then start again.`;
  if (!isProgram('apt-get'))
    throw new SetupFailure(
      `${names.join(', ')} missing, and this is no Debian machine: there is no apt-get.`,
      'nothing was changed.',
      'install them as this system does, then start again.',
    );
  const prefix = process.getuid?.() === 0 ? [] : ['sudo', '-n'];
  const mayInstall =
    prefix.length === 0 || (await runProgram('sudo', ['-n', 'true'], { cwd: '/' })).code === 0;
  if (!mayInstall)
    throw new SetupFailure(
      `${names.join(', ')} missing, and this user may not install packages.`,
      'nothing was changed.',
      toDo,
    );
  const apt = async (/** @type {string[]} */ args) => {
    const [command = '', ...rest] = [
      ...prefix,
      'env',
      'DEBIAN_FRONTEND=noninteractive',
      'apt-get',
      '-q',
      ...args,
    ];
    return runProgram(command, rest, { cwd: '/', onLine: (line) => say(line.slice(0, 44)) });
  };
  const args = ['install', '-y', '--no-install-recommends', ...names];
  let installed = await apt(args);
  if (installed.code !== 0) {
    await apt(['update']);
    installed = await apt(args);
  }
  if (installed.code !== 0)
    throw new SetupFailure(
      `apt-get could not install ${names.join(', ')}: ${lastLine(installed.said)}`,
      'what was there before still works.',
      toDo,
    );
  for (const name of names) if (services.has(name)) await stopService(name, prefix);
}

/** Debian starts a server when it installs it; the tests start their own, on their own ports. */
const services = new Set(['mosquitto', 'influxdb', 'victoria-metrics']);

/** @param {string} name @param {string[]} prefix */
async function stopService(name, prefix) {
  for (const line of [
    ['systemctl', 'disable', '--now', name],
    ['service', name, 'stop'],
  ]) {
    const [command = '', ...rest] = [...prefix, ...line];
    await runProgram(command, rest, { cwd: '/' });
  }
}

/** @param {string} name */
function isProgram(name) {
  const folders = [...(process.env['PATH'] ?? '').split(delimiter), '/usr/sbin', '/sbin'];
  return folders.some((folder) => {
    try {
      accessSync(join(folder, name), constants.X_OK);
      return true;
    } catch {
      return false;
    }
  });
}

/** @param {string} said */
export function lastLine(said) {
  return said.trim().split('\n').at(-1)?.trim() ?? '';
}
