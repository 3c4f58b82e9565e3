import { once } from 'node:events';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { createServer, type Server } from 'node:http';
import type { AddressInfo } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import type { Collected } from '@setwell/collector/part';
import { SteppedClock } from '@setwell/collector/stepped-clock';
import { Heartbeat } from '@setwell/collector/uplink/heartbeat';
import { until } from '../fixtures/until.ts';

let folder: string;
let server: Server;
let asked: string[];
let status: number;
let connected: boolean;
let behindMs: number;
let said: string[];
let clock: SteppedClock;
let heartbeat: Heartbeat;

beforeEach(async () => {
  folder = mkdtempSync(join(tmpdir(), 'heartbeat-'));
  [asked, said, status, connected, behindMs] = [[], [], 200, true, 0];
  server = createServer((request, response) => {
    asked.push(`${request.method} ${request.url}`);
    response.writeHead(status, { location: '/elsewhere' }).end();
  });
  server.listen(0, '127.0.0.1');
  await once(server, 'listening');
  const { port } = server.address() as AddressInfo;
  writeFileSync(join(folder, 'url'), `http://127.0.0.1:${port}/beat/secret\n`);
  clock = new SteppedClock(0);
  heartbeat = new Heartbeat({
    plant: { heartbeat: { urlFile: 'url', everyS: 60 } },
    plantFile: join(folder, 'plant.yaml'),
    clock,
    clockSetting: { rate: 1 },
    bus: () => ({ connected }),
    behindMs: () => behindMs,
    log: (line: string) => said.push(line),
  } as unknown as Collected);
  heartbeat.start();
  await until(() => asked.length === 1);
});

afterEach(async () => {
  heartbeat.stop();
  await new Promise((done) => server.close(done));
  rmSync(folder, { recursive: true });
});

/** A beat is due; one that is not asked for would never come, so the next good one shows its absence. */
async function beat(): Promise<void> {
  const before = asked.length;
  clock.advance(60_000);
  await until(() => asked.length === before + 1);
}

test('the outside hears that all is well, at the start and once a minute', async () => {
  await beat();
  expect(asked).toEqual(['POST /beat/secret', 'POST /beat/secret']);
});

test('it hears nothing while the broker is away or the judge hangs', async () => {
  connected = false;
  clock.advance(600_000);
  connected = true;
  behindMs = 61_000;
  clock.advance(600_000);
  behindMs = 0;
  await beat();
  expect(asked).toHaveLength(2);
});

test('whoever does not hear is told of once, without the address, and followed nowhere else', async () => {
  status = 302;
  await beat();
  await until(() => said.length === 1);
  await beat();
  status = 200;
  await beat();
  expect(asked).toEqual(Array(4).fill('POST /beat/secret'));
  expect(said).toEqual(['heartbeat: not heard (status 302); trying again']);
});
