import { execFileSync } from 'node:child_process';
import { X509Certificate } from 'node:crypto';
import { once } from 'node:events';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { connect } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import mqtt, { type IClientOptions } from 'mqtt';
import { afterAll, beforeAll, expect, onTestFinished, test } from 'vitest';
import { readPasswords } from '@setwell/collector/intake/broker-entry';
import { Intake } from '@setwell/collector/intake/intake';
import { plantBus } from '@setwell/collector/intake/plant-bus';
import { openJournal, openJournalReader } from '@setwell/collector/journal/journal';
import { Metrics } from '@setwell/collector/metrics';
import { SystemClock } from '@setwell/collector/system-clock';
import { wallClock } from '@setwell/shared-models/api/clock';
import type { HealthNow } from '@setwell/shared-models/api/health';
import { readPlant } from '@setwell/shared-models/plant/read-plant';
import { answerOf } from '../fixtures/command.ts';
import { freePort } from '../fixtures/free-port.ts';
import { openWorks, plantFile } from '../fixtures/press-plant/works.ts';
import { until } from '../fixtures/until.ts';

let folder: string;
const file = (name: string) => join(folder, name);
const plantText = readFileSync(plantFile, 'utf8');
const withBroker = (broker: string) =>
  plantText.replace('broker: { url: mqtt://127.0.0.1:1883 }', `broker: ${broker}`);

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'built-in-network-'));
  const certificates = ['certificate', '--name', '127.0.0.1', '--out', folder];
  expect((await answerOf(certificates)).exit).toBe(0);
  const users = ['broker-users', '--plant', plantFile, '--out', folder];
  expect((await answerOf(users)).exit).toBe(0);
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** The broker of a plant whose file says that a network reaches it. */
async function broker(
  clients: 'passwordsFile: setwell.passwords' | 'clientsCaFile: authority.pem',
) {
  const own = mkdtempSync(join(folder, 'works-'));
  const port = await freePort();
  const setting = `address: 127.0.0.1, certificateFile: server.pem, keyFile: server-key.pem, ${clients}`;
  const read = readPlant(withBroker(`{ builtIn: true, port: ${port}, ${setting} }`), 'plant.yaml');
  if (!read.ok) throw new Error(JSON.stringify(read.findings));
  const clock = new SystemClock(wallClock);
  const journal = openJournal(join(own, 'journal.db'));
  const reader = openJournalReader(join(own, 'journal.db'));
  const metrics = new Metrics();
  const intake = new Intake({ plant: read.value, journal, clock, metrics });
  const parts = { plant: read.value, collector: 'c1', intake, clock, metrics };
  const unused = { expectsSession: false, onSessionLost: () => {} };
  const bus = await plantBus(file('plant.yaml'), null)({ ...parts, ...unused });
  onTestFinished(async () => {
    await bus.close();
    reader.close();
    journal.close();
  });
  const as = async (options: IClientOptions) => {
    const ca = readFileSync(file('authority.pem'));
    const trust = { ca, reconnectPeriod: 0, connectTimeout: 10_000 };
    const client = await mqtt.connectAsync(`mqtts://127.0.0.1:${port}`, { ...trust, ...options });
    client.on('error', () => {});
    onTestFinished(async () => void (await client.endAsync(true)));
    return client;
  };
  return { port, bus, reader, as };
}

const press = () => ({
  username: 'press-1',
  password: readFileSync(join(folder, 'secrets', 'press-1'), 'utf8').trim(),
  clientId: 'press-1',
});
const reading = () => `{"t":${Date.now()},"v":135.2}`;

test('equipment comes in by TLS with the password of its station, writes below it, hears its advice', async () => {
  const { as, bus, reader, port } = await broker('passwordsFile: setwell.passwords');
  expect(bus.status().url).toBe(`mqtts://127.0.0.1:${port}`);
  const equipment = await as(press());
  await equipment.publishAsync('plant/press-1/p1-ul', reading(), { qos: 1 });
  expect(reader.lastReading('p1-ul')?.v).toBe(135.2);

  const heard: string[] = [];
  equipment.on('message', (topic) => heard.push(topic));
  await equipment.subscribeAsync('setwell/press-1/advice');
  for (const filter of ['setwell/#', 'plant/#', '#', 'setwell/+/advice']) {
    await expect(equipment.subscribeAsync(filter)).rejects.toThrow(/Subscribe error/);
  }
  bus.publish('setwell/rack-a/advice', '{}', { retain: false, qos: 0 });
  bus.publish('setwell/press-1/advice', '{}', { retain: false, qos: 0 });
  await expect.poll(() => heard).toEqual(['setwell/press-1/advice']);
});

test('nobody comes in without a password, with another’s, under another’s id, or without TLS', async () => {
  const { as, port } = await broker('passwordsFile: setwell.passwords');
  const refused = /Not authorized|Connection refused/;
  await expect(as({})).rejects.toThrow(refused);
  await expect(as({ ...press(), password: 'guess' })).rejects.toThrow(refused);
  await expect(as({ ...press(), username: 'rack-a' })).rejects.toThrow(refused);
  for (const clientId of ['rack-a', 'press-10', 'press-1-gateway']) {
    await expect(as({ ...press(), clientId })).rejects.toThrow(refused);
  }
  const plain = connect(port, '127.0.0.1');
  const answers: Buffer[] = [];
  plain.on('data', (bytes) => answers.push(bytes));
  plain.on('error', () => {});
  // CONNECT of MQTT 3.1.1 as client "a"; 0x20 would begin a CONNACK.
  plain.write(Buffer.from('100d00044d51545404020000000161', 'hex'));
  await once(plain, 'close');
  expect(Buffer.concat(answers)[0]).not.toBe(0x20);
});

test('a reading of another station, and a last will for one, are turned away and told', async () => {
  const { as, reader } = await broker('passwordsFile: setwell.passwords');
  const will = {
    topic: 'plant/rack-a/ra-1',
    payload: Buffer.from(reading()),
    qos: 1 as const,
    retain: false,
  };
  const equipment = await as({ ...press(), will });
  equipment.publish('plant/rack-a/ra-1', reading(), { qos: 1 });
  await until(() => !equipment.connected);
  await expect.poll(() => reader.rejects(9).length).toBe(2);
  expect(reader.rejects(9)).toMatchObject([
    { code: 'not-allowed', found: 'plant/rack-a/ra-1 from press-1' },
    { code: 'not-allowed', found: 'plant/rack-a/ra-1 from press-1' },
  ]);
  expect(reader.lastReading('ra-1')).toBeNull();
});

test('equipment comes in by a certificate that bears its station’s name', async () => {
  const { as, reader } = await broker('clientsCaFile: authority.pem');
  const openssl = (...args: string[]) =>
    execFileSync('openssl', args, { cwd: folder, stdio: 'pipe' });
  const certified = (name: string) => {
    const key = ['-newkey', 'ec', '-pkeyopt', 'ec_paramgen_curve:prime256v1', '-nodes'];
    const out = ['-keyout', `${name}-key.pem`, '-out', `${name}.csr`];
    openssl('req', ...key, '-subj', `/CN=${name}`, ...out);
    const authority = ['-CA', 'authority.pem', '-CAkey', 'authority-key.pem', '-CAcreateserial'];
    openssl(
      'x509',
      '-req',
      '-in',
      `${name}.csr`,
      ...authority,
      '-days',
      '2',
      '-out',
      `${name}.pem`,
    );
    return { cert: readFileSync(file(`${name}.pem`)), key: readFileSync(file(`${name}-key.pem`)) };
  };
  const equipment = await as({ ...certified('press-1'), clientId: 'press-1/gateway' });
  await equipment.publishAsync('plant/press-1/p1-ul', reading(), { qos: 1 });
  expect(reader.lastReading('p1-ul')?.v).toBe(135.2);
  await expect(as({ ...certified('press-9'), clientId: 'press-9' })).rejects.toThrow();
  await expect(as({ clientId: 'press-1' })).rejects.toThrow();
});

test.each([
  ['{ builtIn: true, address: 0.0.0.0 }'],
  ['{ builtIn: true, certificateFile: a.pem, keyFile: k.pem }'],
  ['{ builtIn: true, certificateFile: a.pem, keyFile: k.pem, passwordsFile: p, clientsCaFile: c }'],
])('%s is refused: what a network reaches knows who speaks', (setting) => {
  const read = readPlant(withBroker(setting), 'plant.yaml');
  expect(read.findings).toMatchObject([{ code: 'half-open', field: 'broker', line: 3 }]);
});

test('a damaged password file is refused by its line, without its content', () => {
  const good = readFileSync(file('setwell.passwords'), 'utf8');
  expect(readPasswords(good).size).toBe(4);
  const read = () => readPasswords(`${good}press-1:secret-in-clear\n`);
  expect(read).toThrow('line 5: expected name:$7$iterations$salt$key');
});

test('its own certificate and the authority of the equipment’s are both watched until they end', async () => {
  const setting =
    'certificateFile: server.pem, keyFile: server-key.pem, clientsCaFile: authority.pem';
  const own = file('watched.yaml');
  writeFileSync(own, withBroker(`{ builtIn: true, address: 127.0.0.1, ${setting} }`));
  const works = openWorks(own, { port: 0 });
  onTestFinished(() => works.end());
  const { url, tokenFile } = await works.collector.start();
  const headers = { authorization: `Bearer ${readFileSync(tokenFile!, 'utf8').trim()}` };
  const answer = await fetch(`${url}/health/now`, { headers });
  const { upkeep } = (await answer.json()) as HealthNow;
  const endOf = (name: string) => Date.parse(new X509Certificate(readFileSync(file(name))).validTo);
  expect(upkeep.certificates).toEqual([
    { what: 'broker', endsMs: endOf('server.pem') },
    { what: 'equipment-authority', endsMs: endOf('authority.pem') },
  ]);
});
