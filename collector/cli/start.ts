import { existsSync, mkdirSync, readFileSync } from 'node:fs';
import { dirname, join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { execFileSync, spawnSync, type StdioOptions } from 'node:child_process';
import { wallClock, type ClockSetting } from '@setwell/shared-models/api/clock';
import type { Plant } from '@setwell/shared-models/plant/plant';
import type { Command } from 'commander';
import { createCollector, type Collector } from '../collector.ts';
import { plantBus } from '../intake/plant-bus.ts';
import { JournalError } from '../journal/journal.ts';
import { LedgerError } from '../ledger/ledger.ts';
import { FolderHeld } from '../lock.ts';
import { CommandProblem, problemOfFile } from '../problem.ts';
import { promised } from '../promised.ts';
import { BadPlant } from '../setting.ts';
import { SystemClock } from '../system-clock.ts';
import { Companion } from './companion.ts';
import { demoClock, saveClock } from './demo-clock.ts';
import { firstPersonLine, greeting } from './greeting.ts';
import { reachOf, setupFileIn } from './reach.ts';

interface StartOptions {
  plant?: string;
  demo?: boolean;
  speed?: string;
  data?: string;
  port: string;
  brokerPort?: string;
  host?: string;
  name: string[];
  tlsCert?: string;
  tlsKey?: string;
  plainHttp?: boolean;
}

/** Enough for a newcomer to see a whole cycle in a minute. */
const demoRate = 30;
/** The judge looks four times a second; the first look after a start may read a backlog. */
const greetWithinMs = 10_000;

/** The folder that holds collector/, dashboard/ and deploy/, whether built or not. */
const project = fileURLToPath(
  new URL(import.meta.url.includes('/dist/') ? '../../../' : '../../', import.meta.url),
);

export function registerStart(program: Command): void {
  program
    .command('start')
    .description('record, judge and show until stopped')
    .option('--plant <file>', 'plant.yaml; its recipes lie in recipes/ beside it')
    .option('--demo', 'the demo plant: invented, with its own clock')
    .option('--speed <n>', `demo only: plant time per wall time (${String(demoRate)})`)
    .option('--data <folder>', 'journal, ledger and token (data, or data/demo)')
    .option('--port <n>', 'of the pages', '8410')
    .option('--broker-port <n>', 'of the built-in broker, in place of the plant file’s')
    .option(
      '--host <address>',
      'where other machines reach the pages; this machine alone otherwise',
    )
    .option('--name <name...>', 'other names that browsers use for it', [])
    .option('--tls-cert <file>', 'certificate of the pages (setwell certificate)')
    .option('--tls-key <file>', 'its key')
    .option('--plain-http', 'pages without TLS, readable on the wire; each page says so')
    .action(async function start(this: Command, options: StartOptions) {
      const write = this.configureOutput().writeOut ?? ((words) => process.stdout.write(words));
      await run(options, (line) => write(`${line}\n`));
    });
}

async function run(options: StartOptions, out: (line: string) => void): Promise<void> {
  const demo = options.demo === true || options.plant === undefined;
  const plantFile = resolve(options.plant ?? join(project, 'deploy/demo/plant.yaml'));
  const dataDir = resolve(options.data ?? (demo ? 'data/demo' : 'data'));
  const rate = speedOf(options.speed, demo);
  const pagePort = portOf('--port', options.port);
  const brokerPort =
    options.brokerPort === undefined ? null : portOf('--broker-port', options.brokerPort);
  const reach = reachOf(options, demo);
  mkdirSync(dataDir, { recursive: true, mode: 0o700 });
  if (demo && !existsSync(join(dataDir, 'ledger.db'))) makeHistory(plantFile, dataDir, out);
  const clockSetting = demo ? demoClock(dataDir, rate, Date.now()) : wallClock;
  const collector = created(plantFile, dataDir, clockSetting, brokerPort, options.tlsCert);
  const companions: Companion[] = [];
  const stopping = untilStopped();
  try {
    const { url, tokenFile } = await started(collector);
    const brokerUrl = collector.bus().url;
    const pageUrl = `${reach.scheme}://${reach.host}:${String(pagePort)}`;
    const signOn = signOnArgs(collector.plant, plantFile);
    const greeted = promised();
    const hear = (said: unknown): void => {
      // The demo asks for nobody's password.
      const file = demo ? null : setupFileIn(said);
      if (file !== null) void greeted.promise.then(() => out(firstPerson(pageUrl, file)));
    };
    const args = [...reach.args, ...signOn];
    companions.push(dashboard({ url, tokenFile, port: pagePort, dataDir, args }, hear));
    if (demo) companions.push(simulator(brokerUrl, clockSetting));
    const ready = Promise.all([collector.connected(), collector.firstJudged()]);
    let isJudged = false;
    void collector.firstJudged().then(() => (isJudged = true));
    await Promise.race([ready, stopping, afterMs(greetWithinMs)]);
    const { plant } = collector;
    const judgements = collector.judgements();
    const nowMs = collector.nowMs();
    const version = versionOf();
    const broker = collector.bus();
    const reached = reach.args.length > 0;
    const now = { judgements, isJudged, nowMs };
    out(greeting({ version, plant, rate, pageUrl, reached, broker, ...now }));
    greeted.resolve();
    await stopping;
  } finally {
    await Promise.all(companions.map((companion) => companion.stop()));
    const entries = collector.ledger.size();
    const batches = collector.journal.head();
    await collector.stop();
    if (demo) saveClock(dataDir, clockSetting, Date.now());
    const kept = `${String(batches)} batches of readings and ${String(entries)} entries`;
    out(`\nSetwell has stopped. ${kept} stay in ${dataDir}; a start goes on from there.`);
  }
}

function created(
  plantFile: string,
  dataDir: string,
  clockSetting: ClockSetting,
  brokerPort: number | null,
  pagesCertificate: string | undefined,
): Collector {
  if (!existsSync(plantFile)) {
    throw problemOfFile(plantFile, { code: 'ENOENT' }, 'plant.yaml; see the README');
  }
  try {
    return createCollector({
      plantFile,
      dataDir,
      clock: new SystemClock(clockSetting),
      clockSetting,
      judge: 'worker',
      bus: plantBus(plantFile, brokerPort),
      serve: {},
      version: versionOf(),
      commit: commitOf(),
      ...(pagesCertificate === undefined ? {} : { pagesCertificate: resolve(pagesCertificate) }),
      log: (line) => process.stderr.write(`${line}\n`),
      onFatal: (error) => {
        process.stderr.write(`${error instanceof Error ? (error.stack ?? '') : String(error)}\n`);
        process.exit(3);
      },
    });
  } catch (error) {
    throw problemOf(error, dataDir);
  }
}

async function started(collector: Collector): Promise<{ url: string; tokenFile: string }> {
  try {
    const { url, tokenFile } = await collector.start();
    if (url === null || tokenFile === null) throw new Error('the collector answers nowhere');
    return { url, tokenFile };
  } catch (error) {
    const { code, port } = error as NodeJS.ErrnoException & { port?: number };
    if (code !== 'EADDRINUSE') throw error;
    throw new CommandProblem({
      code: 'port-taken',
      field: 'broker.port',
      found: `port ${String(port)} taken by another program`,
      expected: 'a free port: --broker-port N, or broker: { url: … } in the plant file',
      exit: 3,
    });
  }
}

function problemOf(error: unknown, dataDir: string): unknown {
  if (error instanceof BadPlant) {
    const finding = error.findings.find(({ severity }) => severity === 'error');
    if (!finding) return error;
    const { code, file, line, field, found, expected } = finding;
    return new CommandProblem({ code, file, line, field, found, expected });
  }
  if (error instanceof FolderHeld) {
    const expected = `a data folder of its own, or the running one: ${error.holder.url ?? 'starting'}`;
    const found = `process ${String(error.holder.pid)} that runs on it`;
    return new CommandProblem({ code: 'running', file: dataDir, found, expected, exit: 3 });
  }
  if (error instanceof LedgerError || error instanceof JournalError) {
    const expected =
      error.code === 'wrong-version'
        ? 'files that this version can read: start the version that wrote them; nothing was changed'
        : 'files of this version of Setwell, whole';
    return new CommandProblem({
      code: error.code,
      file: dataDir,
      found: error.message,
      expected,
      exit: 3,
    });
  }
  return error;
}

function makeHistory(plantFile: string, dataDir: string, out: (line: string) => void): void {
  out('The demo plant gets six weeks of history first; about 20 s.');
  const script = join(project, 'deploy/dist/demo/history.js');
  const args = [script, '--data', dataDir, '--plant', plantFile];
  const { status, stderr } = spawnSync(process.execPath, args, { encoding: 'utf8' });
  if (status === 0) return;
  const found = stderr.trim().split('\n').at(-1) ?? 'no word';
  const expected = 'a history; the folder is empty, so that nothing of yours is at risk';
  throw new CommandProblem({ code: 'no-history', file: script, found, expected, exit: 3 });
}

function firstPerson(pageUrl: string, file: string): string {
  const isShown = process.stdout.isTTY && existsSync(file);
  return firstPersonLine(pageUrl, file, isShown ? readFileSync(file, 'utf8').trim() : null);
}

interface Pages {
  url: string;
  tokenFile: string;
  port: number;
  dataDir: string;
  args: string[];
}

/**
 * Room for what has just been made [MB]: V8 takes 16 twice and fills them whatever is thrown away; a frame
 * and an answer are kilobytes.
 */
const pagesYoungHeap = '--max-semi-space-size=4';

function dashboard(
  { url, tokenFile, port, dataDir, args }: Pages,
  hear: (said: unknown) => void,
): Companion {
  const script = join(project, 'dashboard/dist/server/main.js');
  const asked = ['--collector', url, '--token-file', tokenFile, '--port', String(port)];
  return new Companion(
    'dashboard',
    [pagesYoungHeap, script, ...asked, '--data', dataDir, ...args],
    toStandardError,
    hear,
  );
}

/** What the dashboard is told of the plant's own sign-in service; nothing where there is none. */
function signOnArgs({ signOn }: Plant, plantFile: string): string[] {
  if (signOn === undefined) return [];
  const { name, issuer, clientId, secretFile } = signOn;
  const asked = ['--sign-on', issuer, '--sign-on-client', clientId, '--sign-on-name', name];
  if (secretFile === undefined) return asked;
  return [...asked, '--sign-on-secret', resolve(dirname(plantFile), secretFile)];
}

function simulator(brokerUrl: string, clockSetting: ClockSetting): Companion {
  const script = join(project, 'deploy/dist/demo/simulator.js');
  const asked = ['--broker', brokerUrl, '--clock', JSON.stringify(clockSetting)];
  return new Companion('simulator', [script, ...asked], toStandardError);
}

function toStandardError(line: string): void {
  process.stderr.write(`${line}\n`);
}

function untilStopped(): Promise<void> {
  return new Promise((stop) => {
    for (const signal of ['SIGINT', 'SIGTERM'] as const) process.once(signal, () => stop());
  });
}

function afterMs(ms: number): Promise<void> {
  return new Promise((done) => {
    setTimeout(done, ms).unref();
  });
}

function speedOf(text: string | undefined, demo: boolean): number {
  if (text === undefined) return demo ? demoRate : 1;
  const speed = Number(text);
  if (demo && Number.isInteger(speed) && speed >= 1 && speed <= 600) return speed;
  throw new CommandProblem({
    code: 'bad-option',
    field: '--speed',
    found: text,
    expected: demo
      ? 'a whole number from 1 to 600'
      : 'no speed: a plant of your own runs on its own time',
  });
}

function portOf(field: string, text: string): number {
  const port = Number(text);
  if (Number.isInteger(port) && port >= 1 && port <= 65_535) return port;
  const expected = 'a number from 1 to 65535';
  throw new CommandProblem({ code: 'bad-option', field, found: text, expected });
}

function versionOf(): string {
  const { version } = JSON.parse(readFileSync(join(project, 'package.json'), 'utf8')) as {
    version: string;
  };
  return version;
}

/** Of the clone this runs from: what an update can be taken back to. */
function commitOf(): string | null {
  try {
    const stdio: StdioOptions = ['ignore', 'pipe', 'ignore'];
    const said = execFileSync('git', ['rev-parse', 'HEAD'], { cwd: project, stdio });
    return said.toString('utf8').trim();
  } catch {
    return null;
  }
}
