import { createHmac } from 'node:crypto';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { createServer, type IncomingHttpHeaders, type Server } from 'node:http';
import { createServer as createNetServer, type AddressInfo, type Socket } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import mqtt from 'mqtt';
import { SMTPServer } from 'smtp-server';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { createCollector, type Collector } from '@setwell/collector/collector';
import { connectBroker } from '@setwell/collector/intake/broker-client';
import { mayAsk, postWebhook } from '@setwell/collector/notify/webhook';
import { SteppedClock } from '@setwell/collector/stepped-clock';
import type { ToldPeople } from '@setwell/shared-models/api/outbox';
import type { CallRaised } from '@setwell/shared-models/record/bodies';
import { freePort } from '../fixtures/free-port.ts';
import { Mosquitto } from '../fixtures/mosquitto.ts';
import { until } from '../fixtures/until.ts';

const secret = 's'.repeat(40);
/** A Monday, 09:40 in Copenhagen. */
const mondayMs = Date.parse('2026-03-02T08:40:00Z');
const hourMs = 3_600_000;

let folder: string;
let clock: SteppedClock;
let collector: Collector;
let mails: string[];
let posts: { headers: IncomingHttpHeaders; body: string }[];
let refuses: number;
let smtp: SMTPServer;
let hook: Server;

/** A mail server that keeps what it gets. */
function receiver(): SMTPServer {
  return new SMTPServer({
    authOptional: true,
    disabledCommands: ['STARTTLS'],
    onData(stream, _session, done) {
      let text = '';
      stream.on('data', (chunk: Buffer) => (text += chunk.toString('utf8')));
      stream.on('end', () => {
        mails.push(text);
        done();
      });
    },
  });
}

beforeEach(async () => {
  folder = mkdtempSync(join(tmpdir(), 'notify-'));
  [mails, posts, refuses] = [[], [], 0];
  smtp = receiver();
  await new Promise<void>((resolve) => smtp.listen(0, '127.0.0.1', () => resolve()));
  hook = createServer((request, response) => {
    let body = '';
    request.on('data', (chunk: Buffer) => (body += chunk.toString('utf8')));
    request.on('end', () => {
      const refused = refuses > 0;
      if (refused) refuses -= 1;
      else posts.push({ headers: request.headers, body });
      response.writeHead(refused ? 503 : 204).end();
    });
  });
  await new Promise<void>((resolve) => hook.listen(0, '127.0.0.1', () => resolve()));
  clock = new SteppedClock(mondayMs);
});

afterEach(async () => {
  await collector.stop();
  await new Promise<void>((resolve) => smtp.close(() => resolve()));
  await new Promise((resolve) => hook.close(resolve));
  rmSync(folder, { recursive: true });
});

const portOf = (server: Server) => (server.address() as AddressInfo).port;

/** Of the collector's own interface. */
let ask: (path: string, body?: object) => Promise<unknown>;

async function open(more = '', broker: Mosquitto | null = null): Promise<void> {
  const plant = readFileSync(
    new URL('../fixtures/press-plant/plant.yaml', import.meta.url),
    'utf8',
  );
  writeFileSync(join(folder, 'secret'), secret);
  const mailPort = (smtp.server.address() as AddressInfo).port;
  const tell = `
shifts:
  - { id: early, days: [mon, tue, wed, thu, fri], from: "06:00", to: "14:00" }
  - { id: night, days: [mon], from: "22:00", to: "06:00" }
tell:
  mail: { host: 127.0.0.1, port: ${String(mailPort)}, security: none, from: setwell@plant.example }
  routes:
    - { id: lead, by: mail, jobs: [shift-lead], to: [lead@plant.example], shifts: [early], language: de }
    - { id: night, by: mail, jobs: [shift-lead], to: [night@plant.example], shifts: [night] }
    - { id: quiet, by: mail, jobs: [engineer], to: [engineer@plant.example], quiet: { from: "09:00", to: "11:00" } }
    - { id: andon, by: webhook, jobs: [shift-lead, maintenance], url: "http://127.0.0.1:${String(portOf(hook))}/calls", secretFile: ${join(folder, 'secret')}, allow: [127.0.0.1] }
    - { id: day, by: mail, jobs: [administrator], to: [administrator@plant.example], digest: "15:00" }
    - { id: lamp, by: lamp, jobs: [shift-lead], topic: setwell/press-1/lamp }
${more}`;
  writeFileSync(join(folder, 'plant.yaml'), plant + tell);
  collector = createCollector({
    plantFile: join(folder, 'plant.yaml'),
    dataDir: join(folder, 'data'),
    keyDir: join(folder, 'keys'),
    ...{ clock, judge: 'inline', version: 'test' },
    clockSetting: { originMs: 0, wallOriginMs: 0, rate: 1 },
    serve: { port: 0 },
    // Nothing of the machine that runs the test calls anybody.
    ...{ isSynchronised: () => Promise.resolve(true), usedShare: () => 0.1 },
    ...(broker === null ? {} : { bus: (parts) => connectBroker({ url: broker.url }, parts) }),
  });
  const { url, tokenFile } = await collector.start();
  const token = readFileSync(tokenFile ?? '', 'utf8').trim();
  ask = async (path, body) => {
    const response = await fetch(`${String(url)}${path}`, {
      method: body === undefined ? 'GET' : 'POST',
      headers: { authorization: `Bearer ${token}`, 'content-type': 'application/json' },
      ...(body === undefined ? {} : { body: JSON.stringify(body) }),
    });
    return (await response.json()) as unknown;
  };
}

/** Looks again and again, as the collector's own clock would make it. */
async function looking(holds: () => boolean): Promise<void> {
  await until(() => {
    clock.advance(5_000);
    return holds();
  });
}

function call(kind: CallRaised['kind'], id: string, who: CallRaised['who'], cause?: string): void {
  const body: CallRaised = {
    ...{ kind, station: 'press-1', load: 'P1-1', point: null, who },
    ...{ tooLateMs: clock.nowMs() + 600_000, values: { lot: 'K-118' } },
    ...(cause === undefined ? {} : { cause }),
  };
  collector.append([{ kind: 'call-raised', by: 'collector', about: { call: id }, body }]);
}

test('a call goes by mail to the job whose shift runs, signed to the webhook, and once', async () => {
  await open();
  call('short-at-plan', 'a', 'shift-lead');
  await looking(() => mails.length === 1 && posts.length === 1);
  expect(mails[0]).toContain('To: lead@plant.example');
  expect(mails[0]).toContain('K-118');
  const [{ headers, body } = { headers: {}, body: '' }] = posts;
  const [, atS = '', hmac = ''] =
    /^t=(\d+),v1=([0-9a-f]{64})$/.exec(String(headers['setwell-signature'])) ?? [];
  expect(createHmac('sha256', secret).update(`${atS}.${body}`).digest('hex')).toBe(hmac);
  expect(body).not.toContain(secret);
  await collector.stop();
  await open();
  clock.advance(60_000);
  call('short-at-plan', 'b', 'maintenance');
  await looking(() => posts.length === 2);
  expect(mails).toHaveLength(1);
});

/** The text of a mail as its reader gets it. */
function textOf(mail: string): string {
  const [head = '', ...rest] = mail.split('\r\n\r\n');
  const body = rest.join('\r\n\r\n');
  if (/base64/.test(head)) return Buffer.from(body, 'base64').toString('utf8');
  const bytes = body
    .replaceAll(/=\r\n/g, '')
    .replaceAll(/=([0-9A-F]{2})/g, (_all, hex: string) => String.fromCharCode(parseInt(hex, 16)));
  return Buffer.from(bytes, 'latin1').toString('utf8').replaceAll('\r\n', '\n');
}

test('once a day the newest checkpoint goes outside by mail, over a restart and a server that is away', async () => {
  const outside = '  checkpoint: { to: [auditor@outside.example], at: "10:00" }';
  await open(outside);
  const signed = () => collector.ledger.sign()!;
  signed();
  clock.advance(19 * 60_000);
  expect(mails).toEqual([]);
  await looking(() => mails.length === 1);
  expect(mails[0]).toMatch(/^To: auditor@outside\.example/m);
  expect(textOf(mails[0]!)).toContain(signed().note);
  expect(textOf(mails[0]!)).toContain(signed().key);
  await collector.stop();
  await open(outside);
  clock.wallStepMs(23 * hourMs);
  clock.advance(120_000);
  expect(mails).toHaveLength(1);
  const { port } = smtp.server.address() as AddressInfo;
  await new Promise<void>((resolve) => smtp.close(() => resolve()));
  clock.wallStepMs(hourMs);
  clock.advance(120_000);
  expect(mails).toHaveLength(1);
  smtp = receiver();
  await new Promise<void>((resolve) => smtp.listen(port, '127.0.0.1', () => resolve()));
  await looking(() => mails.length === 2);
});

test('what another call stands for is told nobody', async () => {
  await open();
  call('short-at-plan', 'child', 'shift-lead', 'parent');
  call('supply-failing', 'parent', 'shift-lead');
  await looking(() => posts.length === 1);
  expect(posts[0]?.body).toContain('supply-failing');
});

test('in quiet hours nothing is sent; at their end all of it together', async () => {
  await open();
  call('ended-unproven', 'a', 'engineer');
  call('ended-over', 'b', 'engineer');
  clock.advance(80 * 60_000 - 10_000);
  expect(mails).toEqual([]);
  await looking(() => mails.length === 1);
  expect(mails[0]).toMatch(/Subject: .*2 calls/);
});

test('what is not urgent comes once a day in one mail, which says what is over meanwhile', async () => {
  await open();
  call('collector', 'a', 'administrator');
  call('collector', 'b', 'administrator');
  collector.append([
    { kind: 'call-cleared', by: 'collector', about: { call: 'a' }, body: { because: 'recovered' } },
  ]);
  clock.wallStepMs(5 * hourMs + 18 * 60_000);
  clock.advance(60_000);
  expect(mails).toEqual([]);
  await looking(() => mails.length === 1);
  expect(mails[0]).toMatch(/^To: administrator@plant\.example/m);
  expect(mails[0]).toMatch(/Subject: .*2 calls/);
  expect(textOf(mails[0]!).match(/^Over since: /gm)).toHaveLength(1);
  clock.advance(120_000);
  expect(mails).toHaveLength(1);
});

test('the outbox says what became of each message, a test among them, and no address or secret', async () => {
  await open();
  refuses = Infinity;
  call('short-at-plan', 'a', 'maintenance');
  const told = async () => (await ask('/outbox')) as ToldPeople;
  await until(async () => {
    clock.advance(5_000);
    return ((await told()).messages[0]?.tries ?? 0) > 0;
  });
  expect((await told()).messages).toMatchObject([
    { route: 'andon', sentMs: null, isTest: false, about: [{ kind: 'short-at-plan' }] },
  ]);
  expect((await told()).messages[0]?.fault).toMatch(/503/);
  refuses = 0;
  expect(await ask('/outbox/test', { route: 'quiet' })).toMatchObject({ stored: true });
  await looking(() => mails.length === 1 && posts.length === 1);
  expect(textOf(mails[0]!)).toContain('This is a test. Nobody is called.');
  await until(async () => (await told()).messages.every(({ sentMs }) => sentMs !== null));
  const { messages, routes } = await told();
  expect(messages.map(({ route, isTest }) => [route, isTest])).toEqual([
    ['quiet', true],
    ['andon', false],
  ]);
  expect(routes.map(({ id }) => id)).toEqual(['lead', 'night', 'quiet', 'andon', 'day', 'lamp']);
  expect(JSON.stringify(await told())).not.toMatch(/@plant\.example|127\.0\.0\.1|ssss/);
  expect(await ask('/outbox/test', { route: 'lamp' })).toMatchObject({
    code: 'unknown-route',
    field: 'route',
  });
});

test('a lamp burns while somebody is called, otherwise once somebody goes, and goes out; retained, over a restart', async () => {
  const broker = new Mosquitto(await freePort());
  await broker.start();
  const heard: string[] = [];
  const listener = await mqtt.connectAsync(broker.url);
  listener.on('message', (_topic, payload) => {
    heard.push((JSON.parse(payload.toString('utf8')) as { state: string }).state);
  });
  await listener.subscribeAsync('setwell/press-1/lamp', { qos: 1 });
  await open('', broker);
  await until(() => heard.join() === 'off');
  call('short-at-plan', 'a', 'shift-lead');
  await until(() => heard.join() === 'off,called');
  await collector.stop();
  await open('', broker);
  await until(() => heard.at(-1) === 'called' && heard.length > 2);
  const about = { call: 'a' };
  collector.append([{ kind: 'call-acknowledged', by: 'p-1', about, body: { note: null } }]);
  await until(() => heard.at(-1) === 'taken');
  const late = await mqtt.connectAsync(broker.url);
  const kept: string[] = [];
  late.on('message', (_topic, payload) => kept.push(payload.toString('utf8')));
  await late.subscribeAsync('setwell/press-1/lamp');
  await until(() => kept.length === 1);
  expect(JSON.parse(kept[0]!)).toEqual({ advisory: true, state: 'taken', calls: 1, waiting: 0 });
  collector.append([{ kind: 'call-cleared', by: 'collector', about, body: { because: 'over' } }]);
  await until(() => heard.at(-1) === 'off');
  await Promise.all([listener.endAsync(true), late.endAsync(true)]);
  await broker.end();
});

test('a receiver that is down is asked again until it takes it', async () => {
  await open();
  refuses = 2;
  call('short-at-plan', 'a', 'shift-lead');
  await looking(() => posts.length === 1);
  clock.advance(hourMs);
  expect(posts).toHaveLength(1);
});

test('what was put off by a clock that was ahead goes out once it is set back', async () => {
  await open();
  clock.wallStepMs(365 * 24 * hourMs);
  refuses = 1;
  call('short-at-plan', 'a', 'maintenance');
  await looking(() => refuses === 0);
  // In quiet hours of that day: made by the clock that was ahead.
  call('load-faulted', 'b', 'engineer');
  clock.wallStepMs(-365 * 24 * hourMs);
  // Nobody takes the first one: how often more are told of it meanwhile is not asked here.
  await looking(() => posts.some(({ body }) => body.includes('"id":"a"')));
  await looking(() => mails.some((mail) => mail.includes('engineer@plant.example')));
});

test('a receiver that hangs delays no other route', async () => {
  const hanging: Socket[] = [];
  const hangs = createNetServer((socket) => hanging.push(socket.on('error', () => undefined)));
  await new Promise<void>((resolve) => hangs.listen(0, '127.0.0.1', () => resolve()));
  const url = `http://127.0.0.1:${String((hangs.address() as AddressInfo).port)}/`;
  await open(
    `    - { id: hangs, by: webhook, jobs: [shift-lead], url: "${url}", secretFile: ${join(folder, 'secret')}, allow: [127.0.0.1] }`,
  );
  call('short-at-plan', 'a', 'shift-lead');
  await looking(() => hanging.length === 1 && mails.length === 1);
  call('short-at-plan', 'b', 'shift-lead');
  await looking(() => mails.length === 2 && posts.length === 2);
  expect(hanging.map(({ closed }) => closed)).toEqual([false]);
  hanging[0]!.destroy();
  await new Promise((resolve) => hangs.close(resolve));
});

test('a receiver that says a byte now and then is given up', async () => {
  const drips = createNetServer((socket) => {
    socket.on('error', () => undefined).write('HTTP/1.1 200 OK\r\n');
    const timer = setInterval(() => socket.write('x: y\r\n'), 20);
    socket.on('close', () => clearInterval(timer));
  });
  await new Promise<void>((resolve) => drips.listen(0, '127.0.0.1', () => resolve()));
  const url = `http://127.0.0.1:${String((drips.address() as AddressInfo).port)}/`;
  await open();
  const target = { url, secret, allow: ['127.0.0.1'] };
  await expect(postWebhook(target, {}, 0, 300)).rejects.toThrow('no answer in time');
  await new Promise((resolve) => drips.close(resolve));
});

test.each([
  ['127.0.0.1', [], false],
  ['127.0.0.1', ['127.0.0.1'], true],
  ['10.1.2.3', [], false],
  ['169.254.169.254', [], false],
  ['::1', [], false],
  ['::ffff:192.168.1.1', [], false],
  ['fd00::1', [], false],
  ['93.184.216.34', [], true],
])('%s with %j allowed: %s', (address, allow, may) => {
  expect(mayAsk(address, allow)).toBe(may);
});

test('a name that resolves into the plant is not asked unless the plant says so', async () => {
  await open();
  const url = `http://localhost:${String(portOf(hook))}/`;
  await expect(postWebhook({ url, secret, allow: [] }, {}, 0)).rejects.toThrow('may be asked');
  expect(posts).toEqual([]);
});
