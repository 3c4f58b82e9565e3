import { spawn } from 'node:child_process';
import { existsSync, readFileSync, rmSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { parseArgs } from 'node:util';
import { build, staleTargets } from './build.mjs';
import { SetupFailure } from './failure.mjs';
import { heapOptions } from './heap.mjs';
import { gigabytes, isHeadless, machineFault, thisMachine } from './machine.mjs';
import {
  buildDatabaseModule,
  hasDatabaseModule,
  installLocked,
  stalePackages,
} from './packages.mjs';
import { holderOf, isTaken, nextFree } from './ports.mjs';
import { runProgram, stopPrograms } from './program.mjs';
import { markRunning, runningThere } from './running.mjs';
import { Steps } from './steps.mjs';
import { serveWaitingPage } from './waiting-page.mjs';

const pagePort = 8410;
/** Where another broker answers on the usual port, the demo's own goes so much higher: 1883 → 18883. */
const brokerPortStep = 17_000;

/**
 * @typedef {object} Wanted
 * @property {boolean} demo no plant named: the invented one
 * @property {boolean} fresh
 * @property {number} port of the pages
 * @property {string} data folder of journal and ledger
 * @property {string[]} passedOn to `setwell start`
 */

/**
 * Sets up what is missing and runs Setwell until it is stopped.
 *
 * @param {string} folder the clone
 * @param {string[]} args
 * @returns {Promise<number>} exit code
 */
export async function start(folder, args) {
  const out = process.stdout;
  const { version } = JSON.parse(readFileSync(join(folder, 'package.json'), 'utf8'));
  const first = !existsSync(join(folder, 'node_modules'));
  out.write(`Setwell ${version}${first ? ' · first start on this machine' : ''}\n`);
  const steps = new Steps(out);
  /** @type {Awaited<ReturnType<typeof serveWaitingPage>> | null} */
  let waiting = null;
  const stopSettingUp = async () => {
    await stopPrograms();
    out.write(
      '\nStopped while setting up. Nothing is broken by that; npm start takes it up again.\n',
    );
    process.exit(130);
  };
  process.once('SIGINT', stopSettingUp).once('SIGTERM', stopSettingUp);
  try {
    const wanted = readArgs(folder, args);
    const fault = machineFault(thisMachine(folder));
    if (fault) throw fault;
    const markFile = join(wanted.data, 'running.json');
    const running = runningThere(markFile);
    if (running) {
      out.write(
        `Setwell runs already (pid ${running.pid}): http://127.0.0.1:${running.port}\n` +
          `Nothing was started a second time. To stop it: Ctrl+C where it runs, or  kill ${running.pid}\n`,
      );
      return 0;
    }
    await checkPagePort(wanted.port, args);
    const brokerArgs = wanted.demo ? await chooseBrokerPort(folder, out) : [];
    markRunning(markFile, wanted.port);
    if (wanted.fresh) forgetDemo(wanted, out);
    const plan = planSteps(folder, wanted);
    if (plan.length > 0) {
      waiting = await serveWaitingPage(steps, wanted.port);
      out.write(
        `Open http://127.0.0.1:${wanted.port}   the page shows these steps too, and goes on by itself.\n`,
      );
      steps.announce(plan);
      for (const { title, run } of plan) await steps.run(title, run);
      await waiting.close();
      waiting = null;
    }
    process.off('SIGINT', stopSettingUp).off('SIGTERM', stopSettingUp);
    sayHowToReach(out, wanted, folder);
    return await runSetwell(folder, wanted, [...brokerArgs, ...wanted.passedOn]);
  } catch (error) {
    if (!(error instanceof SetupFailure)) throw error;
    steps.failure = error.text();
    process.stderr.write(error.text());
    // Long enough for the waiting page to ask once more and to show what happened.
    if (waiting) await new Promise((shown) => setTimeout(shown, 1500));
    return 3;
  } finally {
    await waiting?.close();
  }
}

/**
 * @param {string} folder
 * @param {string[]} args
 * @returns {Wanted}
 */
export function readArgs(folder, args) {
  const { values, tokens } = parseArgs({
    args,
    strict: false,
    tokens: true,
    options: {
      fresh: { type: 'boolean' },
      port: { type: 'string' },
      plant: { type: 'string' },
      data: { type: 'string' },
    },
  });
  const port = Number(values['port'] ?? pagePort);
  if (!Number.isInteger(port) || port < 1 || port > 65_535)
    throw new SetupFailure(
      `--port ${values['port']}: expected a number from 1 to 65535.`,
      'nothing was changed.',
      'npm start -- --port 8411',
    );
  const demo = values['plant'] === undefined;
  if (values['fresh'] && !demo)
    throw new SetupFailure(
      '--fresh empties the demo only, and --plant names a plant of your own.',
      'nothing was changed; records of a plant are never emptied by a start.',
      'npm start -- --fresh   or   npm start -- --plant plant.yaml',
    );
  const ours = new Set(['fresh', 'port', 'data']);
  const oursAt = new Set(
    tokens.flatMap((token) =>
      token.kind === 'option' && ours.has(token.name)
        ? [
            token.index,
            ...(token.value !== undefined && !token.inlineValue ? [token.index + 1] : []),
          ]
        : [],
    ),
  );
  const data = values['data'] ? String(values['data']) : demo ? 'data/demo' : 'data';
  return {
    demo,
    fresh: values['fresh'] === true,
    port,
    data: resolve(folder, data),
    passedOn: args.filter((_, index) => !oursAt.has(index)),
  };
}

/**
 * @param {number} port
 * @param {string[]} args as given: what is to be done is to be copied
 */
async function checkPagePort(port, args) {
  if (!(await isTaken(port))) return;
  const next = await nextFree(port);
  const kept = args.filter((arg, i) => !/^--port\b/.test(arg) && args[i - 1] !== '--port');
  const again = ['npm start --', ...kept, '--port'].join(' ');
  throw new SetupFailure(
    `port ${port} is taken by ${nameHolder(port)}.`,
    'nothing was changed, and that program was left alone.',
    next === null
      ? `${again} N   with a free port.`
      : `${again} ${next}   (free now), or end that program and start again.`,
  );
}

/**
 * A broker that answers already is somebody's: the demo keeps out of its way.
 *
 * @type {(folder: string, out: { write(text: string): unknown }) => Promise<string[]>}
 */
async function chooseBrokerPort(folder, out) {
  const plant = readFileSync(join(folder, 'deploy/demo/plant.yaml'), 'utf8');
  const port = Number(/^broker:.*builtIn: true.*port: (\d+)/m.exec(plant)?.[1] ?? 1883);
  if (!(await isTaken(port))) return [];
  const other = port + brokerPortStep;
  if (await isTaken(other))
    throw new SetupFailure(
      `broker ports ${port} (${nameHolder(port)}) and ${other} (${nameHolder(other)}) are taken.`,
      'nothing was changed, and those programs were left alone.',
      'end one of them, or connect to your own broker: npm start -- --plant plant.yaml',
    );
  out.write(`Another broker answers on port ${port} (${nameHolder(port)}); demo uses ${other}.\n`);
  return ['--broker-port', String(other)];
}

/** @param {number} port */
function nameHolder(port) {
  return holderOf(port) ?? 'a program of another user';
}

/** @param {Wanted} wanted @param {{ write(text: string): unknown }} out */
function forgetDemo(wanted, out) {
  const databases = ['journal.db', 'ledger.db', 'view.db'].flatMap((name) =>
    ['', '-wal', '-shm'].map((suffix) => name + suffix),
  );
  // By name: whatever else somebody keeps in that folder is not ours to delete.
  for (const name of [...databases, 'clock.json', 'token', 'making'])
    rmSync(join(wanted.data, name), { recursive: true, force: true });
  out.write('The demo begins anew: its readings and records are gone.\n');
}

/** Only what is to do, each step with its usual length. @param {string} folder @param {Wanted} wanted */
function planSteps(folder, wanted) {
  const { freeBytes, nodeVersion } = thisMachine(folder);
  /** @type {{ title: string, usually: string, usuallyS?: number, run: (say: (detail: string, done?: number, total?: number) => void) => Promise<void> | void }[]} */
  const plan = [];
  const missing = stalePackages(folder);
  if (missing.length > 0)
    plan.push({
      title: 'packages',
      usually: `${missing.length} to fetch, about 60 MB, half a minute`,
      usuallyS: 30,
      run: (say) => installLocked(folder, say),
    });
  if (missing.length > 0 || !hasDatabaseModule(folder))
    plan.push({
      title: 'database module',
      usually: 'compiles once, about two minutes',
      usuallyS: 120,
      run: (say) => buildDatabaseModule(folder, say),
    });
  const stale = staleTargets(folder);
  if (stale.length > 0)
    plan.push({
      title: 'build',
      usually: `${stale.map(({ name }) => name).join(', ')}, about 20 s`,
      usuallyS: 20,
      run: (say) => build(folder, stale, say),
    });
  if (wanted.demo && !existsSync(join(wanted.data, 'ledger.db')))
    plan.push({
      title: 'demo plant',
      usually: 'six weeks of history, about 20 s',
      usuallyS: 20,
      run: (say) => makeHistory(folder, wanted, say),
    });
  if (plan.length > 0)
    plan.unshift({
      title: 'this machine',
      usually: '',
      run: (say) => say(`Node ${nodeVersion} found, ${gigabytes(freeBytes)} GB free`),
    });
  return plan;
}

/** @param {string} folder @param {Wanted} wanted @param {(detail: string) => void} say */
async function makeHistory(folder, wanted, say) {
  const program = 'deploy/dist/demo/history.js';
  const { code, said } = await runProgram(process.execPath, [program, '--data', wanted.data], {
    cwd: folder,
    onLine: say,
  });
  if (code !== 0)
    throw new SetupFailure(
      `the demo's history could not be written: ${said.trim().split('\n').at(-1)}`,
      'records of a real plant lie elsewhere and are untouched.',
      'npm start -- --fresh   begins the demo anew.',
    );
}

/** @type {(out: { write(text: string): unknown }, wanted: Wanted, folder: string) => void} */
function sayHowToReach(out, wanted, folder) {
  const from = `${folder}/`;
  const data = wanted.data.startsWith(from) ? `./${wanted.data.slice(from.length)}` : wanted.data;
  out.write(
    `Stop with Ctrl+C. Nothing is written outside this folder; data: ${data}\n` +
      (isHeadless()
        ? `No screen here. From another machine:  ssh -L ${wanted.port}:127.0.0.1:${wanted.port} ${process.env['USER'] ?? 'user'}@this-machine   then open http://127.0.0.1:${wanted.port} there.\n`
        : ''),
  );
}

/** @type {(folder: string, wanted: Wanted, passedOn: string[]) => Promise<number>} */
function runSetwell(folder, wanted, passedOn) {
  const child = spawn(
    process.execPath,
    [
      ...heapOptions,
      'collector/dist/cli/main.js',
      'start',
      ...(wanted.demo ? ['--demo'] : []),
      ...['--data', wanted.data, '--port', String(wanted.port)],
      ...passedOn,
    ],
    // In a group of its own: a terminal sends Ctrl+C to its whole group, and once is enough.
    { cwd: folder, stdio: 'inherit', detached: true },
  );
  let stopped = false;
  for (const signal of /** @type {const} */ (['SIGINT', 'SIGTERM']))
    process.on(signal, () => {
      if (!stopped) child.kill(signal);
      stopped = true;
    });
  return new Promise((resolve) => {
    child.once('exit', (code, signal) => {
      if (stopped && wanted.demo)
        process.stdout.write('npm start goes on from there; npm start -- --fresh begins anew.\n');
      resolve(stopped ? 0 : (code ?? (signal ? 1 : 0)));
    });
  });
}
