import { createServer, type Server } from 'node:net';
import { existsSync, mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { BareClone, databaseModule } from '../fixtures/bare-clone.ts';

/**
 * Of this process alone: two runs on one machine keep out of each other's way. All lie below what the
 * system gives away by itself, and apart from `freePort`.
 */
const own = process.pid % 1000;
const pagePort = 10_000 + 2 * own;
const brokerPort = 13_000 + own;
const otherBrokerPort = brokerPort + 17_000;
const floor = `http://127.0.0.1:${pagePort}/`;

let clone: BareClone;
let listeners: Server[];

beforeEach(() => {
  clone = new BareClone(brokerPort);
  listeners = [];
});
afterEach(async () => {
  await clone.remove();
  await Promise.all(listeners.map((server) => new Promise((done) => server.close(done))));
});

async function occupy(port: number): Promise<void> {
  const server = createServer().listen(port, '127.0.0.1');
  listeners.push(server);
  await new Promise((ready) => server.once('listening', ready));
}

describe('npm start', () => {
  const args = ['--port', String(pagePort)];

  it('builds, makes the history, starts the demo, and does only the last of it the second time', async () => {
    const first = clone.start(args);
    const said = await first.until(/program start/);
    expect(said).toMatch(/^Setwell 9\.8\.7\n/);
    expect(said).toMatch(/\[2\/3\] build .* ok\n/);
    expect(said).toMatch(/\[3\/3\] demo plant .* ok\n/);
    expect(said).toContain(
      `program start --demo --data ${clone.folder}/data/demo --port ${pagePort}`,
    );
    first.child.kill('SIGINT');
    expect(await first.ended()).toBe(0);
    expect(first.said()).toContain('npm start goes on from there');

    const second = await clone.start(args).until(/program start/);
    expect(second).not.toMatch(/build|demo plant/);
  });

  it('builds again what a source has changed, and only that', async () => {
    const first = clone.start(args);
    await first.until(/program start/);
    first.child.kill('SIGTERM');
    await first.ended();
    clone.write('dashboard/web/page.tsx', '// another page');
    const said = await clone.start(args).until(/program start/);
    expect(said).toMatch(/build +pages/);
    expect(said).not.toContain('programs');
  });

  it('answers with a page that shows the steps while it sets up, and hands the address over', async () => {
    clone.write('node_modules/vite/bin/vite.js', 'setInterval(() => {}, 1000);');
    const run = clone.start(args);
    await run.until(/\[2\/3\] build/);
    const page = await fetch(floor);
    expect(page.status).toBe(200);
    expect(await page.text()).toContain('Setwell is being set up');
    const { steps } = (await (await fetch(`${floor}setup.json`)).json()) as {
      steps: { title: string; state: string }[];
    };
    expect(steps.map(({ title, state }) => `${title} ${state}`)).toEqual([
      'this machine done',
      'build running',
      'demo plant waiting',
    ]);
    run.child.kill('SIGINT');
    expect(await run.ended()).toBe(130);
    expect(run.said()).toContain('Nothing is broken by that');
  });

  it('draws nothing over where the output is no terminal', async () => {
    const said = await clone.start(args).until(/program start/);
    expect(said).not.toMatch(/[\r\x1b]/);
  });

  it('names who holds its port and offers the next free one', async () => {
    await occupy(pagePort);
    const run = clone.start(args);
    expect(await run.ended()).toBe(3);
    expect(run.said()).toMatch(
      new RegExp(`port ${pagePort} is taken by .+ \\(pid ${process.pid}\\)`),
    );
    expect(run.said()).toContain(`npm start -- --port ${pagePort + 1}`);
    expect(run.said()).toContain('nothing was changed');
    expect(existsSync(join(clone.folder, 'data'))).toBe(false);
  });

  it('gives the address of the one that runs already instead of starting a second', async () => {
    await clone.start(args).until(/program start/);
    const second = clone.start(args);
    expect(await second.ended()).toBe(0);
    expect(second.said()).toMatch(/runs already \(pid \d+\): /);
    expect(second.said()).toContain(`: http://127.0.0.1:${pagePort}`);
  });

  it('starts in spite of the mark that a power cut has left behind', async () => {
    clone.write('data/demo/running.json', JSON.stringify({ pid: process.pid, port: 1 }));
    expect(await clone.start(args).until(/program start/)).not.toContain('runs already');
  });

  it('keeps out of the way of another broker', async () => {
    await occupy(brokerPort);
    const said = await clone.start(args).until(/program start/);
    expect(said).toContain(`Another broker answers on port ${brokerPort}`);
    expect(said).toContain(`--broker-port ${otherBrokerPort}`);
  });

  it('says so where both broker ports are taken', async () => {
    await occupy(brokerPort);
    await occupy(otherBrokerPort);
    const run = clone.start(args);
    expect(await run.ended()).toBe(3);
    expect(run.said()).toContain(`${brokerPort} (`);
    expect(run.said()).toContain('npm start -- --plant plant.yaml');
  });

  it("passes a plant of one's own on, without demo and without history", async () => {
    await occupy(brokerPort);
    const said = await clone
      .start([...args, '--plant', 'plant.yaml', '--speed', '2'])
      .until(/program start/);
    expect(said).toContain(
      `program start --data ${clone.folder}/data --port ${pagePort} --plant plant.yaml --speed 2`,
    );
    expect(said).not.toMatch(/--demo|demo plant/);
  });

  it("begins the demo anew with --fresh, and refuses to do so with a real plant's data", async () => {
    mkdirSync(join(clone.folder, 'data/demo'), { recursive: true });
    writeFileSync(join(clone.folder, 'data/demo/ledger.db'), 'old');
    clone.write('data/ledger.db', 'of a plant');
    const said = await clone.start([...args, '--fresh']).until(/program start/);
    expect(said).toMatch(/demo plant .* ok/);
    expect(said).not.toContain('--fresh');
    const own = clone.start([...args, '--plant', 'plant.yaml', '--fresh']);
    expect(await own.ended()).toBe(3);
    expect(existsSync(join(clone.folder, 'data/ledger.db'))).toBe(true);
  });

  it('refuses a port that is none', async () => {
    const run = clone.start(['--port', 'eighty']);
    expect(await run.ended()).toBe(3);
    expect(run.said()).toContain('--port eighty: expected a number from 1 to 65535');
  });

  it('stops at a build that fails, with the first error and what is safe', async () => {
    clone.write(
      'node_modules/vite/bin/vite.js',
      'console.error("page.tsx:1: no such thing"); process.exit(1);',
    );
    const run = clone.start(args);
    await run.until(/To do/);
    const answer = (await (await fetch(`${floor}setup.json`)).json()) as { failure: string };
    expect(answer.failure).toContain('page.tsx:1: no such thing');
    expect(await run.ended()).toBe(3);
    expect(run.said()).toContain('the last build stays in place');
  });

  it('says what is cached and what is missing without a network', async () => {
    clone.lock({
      'node_modules/somewhere-else': {
        version: '1.0.0',
        resolved: 'http://127.0.0.1:9/somewhere-else-1.0.0.tgz',
        integrity: `sha512-${Buffer.alloc(64, 7).toString('base64')}`,
      },
    });
    clone.write(
      'package.json',
      JSON.stringify({
        name: 'clone',
        version: '9.8.7',
        dependencies: { 'somewhere-else': '1.0.0' },
      }),
    );
    const run = clone.start(args, {
      env: {
        npm_config_registry: 'http://127.0.0.1:9/',
        npm_config_cache: join(clone.folder, 'cache'),
        npm_config_fetch_retries: '0',
      },
    });
    expect(await run.ended()).toBe(3);
    expect(run.said()).toMatch(
      /no network: 1 of \d+ packages are not on this machine \(somewhere-else\)/,
    );
  });
});

describe('npm start on a machine that cannot', () => {
  const args = ['--port', String(pagePort)];

  it.each([
    [
      'a Node that is too old',
      `Object.defineProperty(process, 'versions', { value: { ...process.versions, node: '18.19.1' } });`,
      /Node 18\.19\.1 is too old: Setwell needs Node 20 or newer/,
    ],
    [
      'a clock before 2024',
      'Date.now = () => Date.UTC(1970, 0, 2);',
      /clock says 1970-01-02[^]*timedatectl/,
    ],
    [
      'less than 1 GB of disk',
      `import fs from 'node:fs'; import { syncBuiltinESMExports } from 'node:module';
       fs.statfsSync = () => ({ bavail: 700, bsize: 1e6 }); syncBuiltinESMExports();`,
      /0\.7 GB free on this disk; 1 GB is needed/,
    ],
  ])('refuses %s before it changes anything', async (_, before, expected) => {
    const run = clone.start(args, { before });
    expect(await run.ended()).toBe(3);
    expect(run.said()).toMatch(expected);
    expect(run.said()).toContain('nothing was changed');
    expect(existsSync(join(clone.folder, 'collector/dist'))).toBe(false);
  });

  it('tells how to reach the page from elsewhere where there is no screen', async () => {
    const headless = { DISPLAY: '', WAYLAND_DISPLAY: '' };
    const said = await clone.start(args, { env: headless }).until(/program start/);
    expect(said).toContain(`ssh -L ${pagePort}:127.0.0.1:${pagePort}`);
    const desk = new BareClone(brokerPort + 2);
    const there = desk.start(['--port', String(pagePort + 2)], { env: { DISPLAY: ':0' } });
    expect(await there.until(/program start/)).not.toContain('ssh');
    await desk.remove();
  });

  it('names the Debian packages of the compiler where it may not install them', async () => {
    const run = startWithoutCompiler('exit 1');
    expect(await run.ended()).toBe(3);
    expect(run.said()).toContain('build-essential, python3 missing, and this user may not install');
    expect(run.said()).toContain(
      'sudo apt-get install -y --no-install-recommends build-essential python3',
    );
  });

  it('installs the compiler where it may, and compiles', async () => {
    const run = startWithoutCompiler('shift; "$@"');
    const said = await run.until(/program start/);
    expect(said).toMatch(/database module .* ok/);
  });

  it('takes the module that it compiled before when npm has emptied node_modules', async () => {
    const run = startWithoutCompiler('shift; "$@"');
    await run.until(/program start/);
    run.child.kill('SIGTERM');
    await run.ended();
    rmDatabaseModule();
    const again = await clone.start(args).until(/program start/);
    expect(again).toMatch(/database module +built before .* ok/);
  });

  /** npm, apt-get and sudo are stand-ins; the module compiles once the "compiler" is installed. */
  function startWithoutCompiler(sudo: string): ReturnType<BareClone['start']> {
    const bin = join(clone.folder, 'bin');
    clone.writeProgram('node', `exec ${process.execPath} "$@"`);
    clone.writeProgram('env', 'shift; "$@"');
    clone.writeProgram('sudo', sudo);
    clone.writeProgram(
      'apt-get',
      `for name in g++ make python3; do printf '#!/bin/sh\\n' > ${bin}/$name; /bin/chmod +x ${bin}/$name; done`,
    );
    clone.writeProgram('npm', `[ -x ${bin}/g++ ] || exit 1; : > ${databaseModule}`);
    clone.writeProgram('true', 'exit 0');
    rmDatabaseModule();
    return clone.start(args, {
      // Whoever runs the tests, here it is somebody who is not root.
      before: 'process.getuid = () => 1000;',
      env: { PATH: bin },
    });
  }

  function rmDatabaseModule(): void {
    clone.removeFile(databaseModule);
  }
});
