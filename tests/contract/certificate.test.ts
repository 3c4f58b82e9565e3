import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, statSync } from 'node:fs';
import { request } from 'node:https';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { startDashboard, type Dashboard } from '@setwell/dashboard/server/server';
import { answerOf, refusalOf } from '../fixtures/command.ts';
import { FakeCollector } from '../browser/fake-collector.ts';
import { stillClock } from '../browser/harness.ts';
import { sceneHello } from '../browser/floor-scene.ts';

let folder: string;
const file = (name: string) => join(folder, 'certificates', name);

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'setwell-certificate-'));
  const names = ['--name', 'localhost', '--name', '192.0.2.7'];
  const { exit } = await answerOf(['certificate', ...names, '--out', join(folder, 'certificates')]);
  expect(exit).toBe(0);
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const openssl = (...args: string[]) => execFileSync('openssl', args, { encoding: 'utf8' });

test('the box’s certificate is the authority’s, for servers, for each name, for less than 398 days', () => {
  // The outside view is OpenSSL's.
  expect(
    openssl(
      'verify',
      '-purpose',
      'sslserver',
      '-CAfile',
      file('authority.pem'),
      file('server.pem'),
    ),
  ).toContain('OK');
  const text = openssl('x509', '-in', file('server.pem'), '-noout', '-ext', 'subjectAltName');
  expect(text).toContain('DNS:localhost, IP Address:192.0.2.7');
  const dates = openssl('x509', '-in', file('server.pem'), '-noout', '-dates');
  const [from = NaN, to = NaN] = [...dates.matchAll(/=(.+)/g)].map(([, date]) =>
    Date.parse(date ?? ''),
  );
  // CA/Browser Forum, Baseline Requirements 6.3.2: 398 days at most.
  expect((to - from) / 86_400_000).toBeLessThanOrEqual(398);
  expect(to - Date.now()).toBeGreaterThan(390 * 86_400_000);
});

test('keys are readable by their owner alone, and no certificate holds one', () => {
  for (const name of ['authority-key.pem', 'server-key.pem']) {
    expect(statSync(file(name)).mode & 0o077).toBe(0);
  }
  expect(readFileSync(file('server.pem'), 'utf8')).not.toContain('PRIVATE');
});

test('a second run keeps the authority, so that phones need not be told again', async () => {
  const before = readFileSync(file('authority.pem'), 'utf8');
  const folderOf = join(folder, 'certificates');
  const again = await answerOf(['certificate', '--name', 'localhost', '--out', folderOf]);
  expect(again.document).toMatchObject({ authorityIsNew: false, names: ['localhost'] });
  expect(readFileSync(file('authority.pem'), 'utf8')).toBe(before);
});

test('pages come by TLS under that certificate: the cookie keeps to it and browsers are told to', async () => {
  const fake = new FakeCollector(
    { ...structuredClone(sceneHello), site: { ...sceneHello.site, demo: false } },
    stillClock,
  );
  await fake.start();
  const tls = { cert: readFileSync(file('server.pem')), key: readFileSync(file('server-key.pem')) };
  const dashboard: Dashboard = await startDashboard({
    ...{ collectorUrl: fake.url, token: fake.token, port: 0, dataFolder: join(folder, 'data') },
    ...{ webFolder: '/nonexistent', version: '0.0.0', log: () => undefined },
    address: { host: '127.0.0.1', names: ['localhost'], tls },
  });
  try {
    const code = readFileSync(join(folder, 'data', 'setup-code'), 'utf8').trim();
    const body = JSON.stringify({ code, name: 'Ada Berg', password: 'a long walk to the press' });
    const answer = await new Promise<{ status: number; headers: Record<string, unknown> }>(
      (done, fail) => {
        const call = request(
          {
            ...{ host: 'localhost', port: dashboard.port, path: '/api/v1/setup', method: 'POST' },
            ca: readFileSync(file('authority.pem')),
            headers: {
              'content-type': 'application/json',
              origin: `https://localhost:${String(dashboard.port)}`,
            },
          },
          (response) => {
            response.resume();
            done({ status: response.statusCode ?? 0, headers: response.headers });
          },
        );
        call.on('error', fail);
        call.end(body);
      },
    );
    expect(answer.status).toBe(200);
    expect(String(answer.headers['set-cookie'])).toMatch(/^__Host-setwell=.*; Secure/);
    expect(answer.headers['strict-transport-security']).toContain('max-age=31536000');
  } finally {
    await dashboard.stop();
    await fake.stop();
  }
});

test('pages do not leave this machine unprotected unless somebody says so', async () => {
  const open = ['start', '--plant', 'plant.yaml', '--host', '192.0.2.7'];
  expect(await refusalOf(open)).toMatchObject({ exit: 2, field: '--host' });
  const demo = ['start', '--demo', '--host', '192.0.2.7', '--plain-http'];
  expect((await refusalOf(demo)).expected).toContain('no passwords');
});

test('while nobody may administer, pages keep to loopback whatever address is asked for', async () => {
  const fake = new FakeCollector(structuredClone(sceneHello), stillClock);
  await fake.start();
  const told: string[] = [];
  const dashboard = await startDashboard({
    ...{ collectorUrl: fake.url, token: fake.token, port: 0, dataFolder: join(folder, 'none') },
    ...{ webFolder: '/nonexistent', version: '0.0.0', log: (line: string) => told.push(line) },
    // Every address of this machine: were it taken, another one could reach the page.
    address: { host: '0.0.0.0', names: [], tls: null },
  });
  try {
    expect(told.join('\n')).toContain('pages answer at 127.0.0.1 only');
    const port = dashboard.port.toString(16).toUpperCase().padStart(4, '0');
    const sockets = readFileSync('/proc/net/tcp', 'utf8').split('\n');
    // Local address and state of a socket; 0A is LISTEN, 0100007F is 127.0.0.1.
    const listening = sockets.filter((line) => line.includes(`:${port} 00000000:0000 0A`));
    expect(listening.map((line) => line.trim().split(/\s+/)[1])).toEqual([`0100007F:${port}`]);
  } finally {
    await dashboard.stop();
    await fake.stop();
  }
});
