import { execFileSync } from 'node:child_process';
import { mkdirSync, readFileSync, rmSync, statfsSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import mqtt from 'mqtt';
import { afterAll, beforeEach, expect, onTestFinished, test } from 'vitest';
import { connectBroker, type BrokerAddress } from '@setwell/collector/intake/broker-client';
import { Intake } from '@setwell/collector/intake/intake';
import { usedShare } from '@setwell/collector/journal/free-space';
import { smallPlant } from '../fixtures/small-plant.ts';
import { until } from '../fixtures/until.ts';
import {
  broker,
  clock,
  collecting,
  FaultCounts,
  ownFolder,
  publish,
  publisher,
  stored,
} from './way-in.ts';

const counts = new FaultCounts();
afterAll(() => console.table(counts.table));

let folder: string;
let journal: string;
beforeEach(() => {
  folder = ownFolder();
  journal = join(folder, 'journal.db');
});

test('a disk that is full: nothing is acknowledged, nothing is lost, and it goes on when there is room', async () => {
  const small = join(folder, 'small');
  mkdirSync(small);
  // A file system of its own where that is allowed, else the share of the disk is what the test says.
  let isMounted = true;
  try {
    execFileSync('mount', ['-t', 'tmpfs', '-o', 'size=32m', 'tmpfs', small], { stdio: 'ignore' });
    onTestFinished(() => void execFileSync('umount', ['-l', small]));
  } catch {
    isMounted = false;
  }
  const filler = join(small, 'filler');
  let isFull = false;
  const mosquitto = await broker();
  const path = join(small, 'journal.db');
  const used = isMounted ? usedShare : () => (isFull ? 0.98 : 0.5);
  const all = await collecting({ url: mosquitto.url }, path, used);
  const client = await publisher(mosquitto.url);
  let acknowledged = await publish(client, 1, 100);
  await until(() => stored(all) === 100);
  isFull = true;
  if (isMounted) {
    const { bavail, bsize } = statfsSync(small);
    writeFileSync(filler, Buffer.alloc(Math.floor(bavail * bsize * 0.985)));
  }
  // Asked as a collector's own health asks every few seconds.
  expect(all.journal.used()).toBeGreaterThanOrEqual(0.97);
  acknowledged += await publish(client, 101, 300);
  await until(() => all.bus.status().faults.some((fault) => fault.includes('full')));
  expect(stored(all)).toBe(100);
  isFull = false;
  rmSync(filler, { force: true });
  await until(() => stored(all) === acknowledged);
  counts.note(
    `disk full (${isMounted ? '32 MiB file system' : 'as told'})`,
    acknowledged,
    stored(all),
  );
});

test('a storm of duplicates is stored once and counted', async () => {
  const mosquitto = await broker();
  const all = await collecting({ url: mosquitto.url }, journal);
  const client = await publisher(mosquitto.url);
  for (let again = 0; again < 40; again += 1) await publish(client, 1, 100);
  await publish(client, 101, 1);
  await until(() => stored(all) === 101);
  expect(all.reader.head()).toBeLessThan(102);
  counts.note('40 times the same 100 messages', 101, stored(all));
});

test('another client with our name takes what is ours for a moment: what it took is a hole that is told', async () => {
  const mosquitto = await broker();
  const all = await collecting({ url: mosquitto.url }, journal);
  const client = await publisher(mosquitto.url);
  await publish(client, 1, 100);
  await until(() => stored(all) === 100);
  const taken = new Set<number>();
  const rogue = mqtt.connect(mosquitto.url, {
    ...{ clientId: 'setwell-c1', clean: false, protocolVersion: 4, reconnectPeriod: 0 },
  });
  rogue.on('message', (_topic, payload) => {
    taken.add((JSON.parse(payload.toString()) as { seq: number }).seq);
  });
  rogue.on('error', () => {});
  await until(() => rogue.connected);
  await publish(client, 101, 100);
  await rogue.endAsync(true);
  await until(() => all.bus.status().connected);
  await publish(client, 201, 100);
  const isWhole = () => all.reader.readings('p1-ul', 0, 5e12).readings.at(-1)?.v === 300;
  await until(isWhole);
  const missing = all.intake.traffic.points.get('p1-ul')?.sequence.missing ?? 0;
  expect(stored(all) + missing).toBe(300);
  expect([...taken].length).toBeGreaterThanOrEqual(missing);
  counts.note(
    `two clients with one name, ${missing} taken by the other`,
    300 - missing,
    stored(all),
  );
});

test.each([4, 5] as const)(
  'certificates of the plant’s own authority, both ways (MQTT %d)',
  async (protocolVersion) => {
    const openssl = (...args: string[]) =>
      execFileSync('openssl', args, { cwd: folder, stdio: 'pipe' });
    const key = ['-newkey', 'ec', '-pkeyopt', 'ec_paramgen_curve:prime256v1', '-nodes'];
    const authority = (name: string) =>
      openssl(
        ...['req', '-x509', ...key, '-days', '2', '-subj', `/CN=${name}`],
        ...['-keyout', `${name}-key.pem`, '-out', `${name}.pem`],
      );
    authority('plant-ca');
    authority('other-ca');
    writeFileSync(join(folder, 'names'), 'subjectAltName=IP:127.0.0.1\n');
    for (const name of ['broker', 'collector']) {
      const subject = ['-subj', `/CN=${name}`, '-keyout', `${name}-key.pem`, '-out', `${name}.csr`];
      openssl('req', ...key, ...subject);
      openssl(
        ...[
          'x509',
          '-req',
          '-in',
          `${name}.csr`,
          '-CA',
          'plant-ca.pem',
          '-CAkey',
          'plant-ca-key.pem',
        ],
        ...['-CAcreateserial', '-days', '2', '-extfile', 'names', '-out', `${name}.pem`],
      );
    }
    const file = (name: string) => join(folder, name);
    const mosquitto = await broker([
      `cafile ${file('plant-ca.pem')}`,
      `certfile ${file('broker.pem')}`,
      `keyfile ${file('broker-key.pem')}`,
      'require_certificate true',
    ]);
    const url = mosquitto.url.replace('mqtt:', 'mqtts:');
    const read = (name: string) => readFileSync(file(name));
    const own = { certificate: read('collector.pem'), key: read('collector-key.pem') };
    const ca = read('plant-ca.pem');
    const all = await collecting({ url, ca, ...own, protocolVersion }, journal);
    const client = await publisher(url, { ca, cert: own.certificate, key: own.key });
    const acknowledged = await publish(client, 1, 200);
    await until(() => stored(all) === acknowledged);
    counts.note(`TLS with client certificates, MQTT ${protocolVersion}`, acknowledged, stored(all));

    const intake = new Intake({ plant: smallPlant(), journal: all.journal, clock });
    const faultOf = async (address: Partial<BrokerAddress>) => {
      const parts = { collector: 'c2', intake, clock };
      const stranger = connectBroker({ url, protocolVersion, ...address }, parts);
      onTestFinished(() => stranger.close());
      await until(() => stranger.status().faults.length > 0);
      expect(stranger.status().connected).toBe(false);
      return stranger.status().faults.join();
    };
    // A broker that is not the plant's is not believed, and one without a certificate not let in.
    expect(await faultOf({ ca: read('other-ca.pem'), ...own })).toMatch(/certificate/);
    const refusedAsStranger = await faultOf({ ca });
    expect(refusedAsStranger).toMatch(/certificate|closed|reset|alert/i);
  },
);
