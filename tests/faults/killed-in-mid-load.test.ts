import { spawn, type ChildProcess } from 'node:child_process';
import { once } from 'node:events';
import { cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import mqtt from 'mqtt';
import { afterEach, beforeEach, expect, test, vi } from 'vitest';
import type { Advice } from '@setwell/collector/advice/station-advice';
import { openJournalReader } from '@setwell/collector/journal/journal';
import { openLedgerReader } from '@setwell/collector/ledger/reader';
import type { ClockStepped, LoadSealed } from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';
import { freePort } from '../fixtures/free-port.ts';
import { Mosquitto } from '../fixtures/mosquitto.ts';
import { plantFile, usualFaceC } from '../fixtures/press-plant/works.ts';
import { until } from '../fixtures/until.ts';

// A process starts, connects and computes a few loads; each wait ends with what it waits for.
vi.setConfig({ testTimeout: 90_000 });

let folder: string;
let broker: Mosquitto;
let plant: mqtt.MqttClient;
let collector: ChildProcess | null = null;
let advice: Advice[];

beforeEach(async () => {
  folder = mkdtempSync(join(tmpdir(), 'killed-in-mid-load-'));
  broker = new Mosquitto(await freePort());
  await broker.start();
  plant = await mqtt.connectAsync(broker.url, { clientId: 'controllers' });
  advice = [];
  plant.on('message', (_topic, payload) => {
    advice.push(JSON.parse(payload.toString('utf8')) as Advice);
  });
  await plant.subscribeAsync('setwell/press-1/advice');
});

afterEach(async () => {
  await kill();
  await plant.endAsync(true);
  await broker.end();
  rmSync(folder, { recursive: true });
});

/** The load began half an hour ago: its readings have their own times and are played fast. */
let loadMs = Date.now() - 30 * 60_000;

/** The shipped program, as it is built. */
const program = fileURLToPath(new URL('../../collector/dist/cli/main.js', import.meta.url));

/** Starts it on the plant of the tests, and waits for its first words: it is connected by then. */
async function startCollector(data: string, env: NodeJS.ProcessEnv = {}): Promise<void> {
  const folderOfPlant = join(folder, 'plant');
  cpSync(dirname(plantFile), folderOfPlant, { recursive: true });
  const file = join(folderOfPlant, 'plant.yaml');
  const text = readFileSync(plantFile, 'utf8').replace('mqtt://127.0.0.1:1883', broker.url);
  writeFileSync(file, text);
  const port = String(await freePort());
  const args = ['start', '--plant', file, '--data', join(folder, data), '--port', port];
  const child = spawn(process.execPath, [program, ...args], {
    stdio: ['ignore', 'pipe', 'ignore'],
    env: { ...process.env, ...env },
  });
  collector = child;
  let said = '';
  child.stdout.on('data', (words: Buffer) => (said += words.toString('utf8')));
  await until(() => said.includes('right now') || child.exitCode !== null);
  expect(said).toContain('right now');
}

async function kill(): Promise<void> {
  if (!collector || collector.exitCode !== null || collector.signalCode !== null) return;
  const ended = once(collector, 'exit');
  collector.kill('SIGKILL');
  await ended;
}

async function publish(event: string, min: number, more: object = {}): Promise<void> {
  const told = { t: loadMs + min * 60_000, event, load: 'P1-00231', ...more };
  await plant.publishAsync('plant/press-1/event', JSON.stringify(told), { qos: 1 });
}

async function publishFaces(fromMin: number, toMin: number): Promise<void> {
  for (let min = fromMin; min < toMin; min += 1) {
    const rows = Array.from({ length: 12 }, (_, i) => {
      const at = min + i / 12;
      return { t: Math.round(loadMs + at * 60_000), v: usualFaceC(at) };
    });
    for (const point of ['p1-ul', 'p1-ll']) {
      await plant.publishAsync(`plant/press-1/${point}`, JSON.stringify(rows), { qos: 1 });
    }
  }
}

function entries(data: string, kind: string): Entry[] {
  const ledger = openLedgerReader(join(folder, data, 'ledger.db'));
  const all = ledger
    .entriesAfter(-1, 10_000)
    .map(({ bytes }) => JSON.parse(bytes.toString('utf8')) as Entry);
  ledger.close();
  return all.filter((entry) => entry.kind === kind);
}

async function sealed(data: string): Promise<LoadSealed> {
  await until(() => entries(data, 'load-sealed').length > 0);
  return entries(data, 'load-sealed')[0]?.body as LoadSealed;
}

/** One load of 24 min; `meanwhile` happens at its 8th and at its 16th minute. */
async function playLoad(
  data: string,
  meanwhile: (min: 8 | 16) => Promise<void>,
): Promise<LoadSealed> {
  await publish('load-start', 0, { lot: 'K-118', recipe: 'shell-13ply' });
  await publishFaces(0, 8);
  await meanwhile(8);
  await publishFaces(8, 16);
  await meanwhile(16);
  await publishFaces(16, 24);
  await publish('load-end', 24);
  await publishFaces(24, 25);
  return sealed(data);
}

/** A wall's clock that an operator sets, for one process: Debian's libfaketime. */
class SetClock {
  readonly env: NodeJS.ProcessEnv;
  readonly #file = join(folder, 'clock');

  constructor() {
    writeFileSync(this.#file, '+0');
    this.env = {
      LD_PRELOAD: '/usr/lib/x86_64-linux-gnu/faketime/libfaketimeMT.so.1',
      FAKETIME_TIMESTAMP_FILE: this.#file,
      FAKETIME_NO_CACHE: '1',
      FAKETIME_DONT_FAKE_MONOTONIC: '1',
    };
  }

  set(offset: `${'+' | '-'}${number}h` | '+0'): void {
    writeFileSync(this.#file, offset);
  }
}

const steps = (data: string) =>
  entries(data, 'clock-stepped').map(({ body }) => {
    const { foundMs, expectedMs } = body as ClockStepped;
    return Math.round((foundMs - expectedMs) / 3_600_000);
  });

/** Readings of both faces that the collector has, whatever it thinks of their times. */
function stored(data: string): number {
  const journal = openJournalReader(join(folder, data, 'journal.db'));
  const counts = ['p1-ul', 'p1-ll'].map(
    (point) => journal.readings(point, 0, 5e12).readings.length,
  );
  journal.close();
  return counts.reduce((sum, count) => sum + count, 0);
}

const setTo = (data: string, clock: SetClock, offset: '+2h' | '-3h') => async (min: 8 | 16) => {
  // What was said before has come in by the clock of before.
  await until(() => stored(data) === 2 * 12 * min);
  clock.set(min === 8 ? offset : '+0');
  await until(() => steps(data).length === (min === 8 ? 1 : 2));
};

test('the machine’s clock is set ahead for a while in mid-load: told, and the same verdict', async () => {
  await startCollector('undisturbed');
  const without = await playLoad('undisturbed', () => Promise.resolve());
  await kill();
  const clock = new SetClock();
  await startCollector('ahead', clock.env);
  const late = await playLoad('ahead', setTo('ahead', clock, '+2h'));
  expect(steps('ahead')).toEqual([2, -2]);
  expect(late.readings.sha256).toBe(without.readings.sha256);
  expect(late.result.sha256).toBe(without.result.sha256);
});

test('the machine’s clock is set back for a while in mid-load: told, and what came then is a gap', async () => {
  const clock = new SetClock();
  await startCollector('back', clock.env);
  const gapped = await playLoad('back', setTo('back', clock, '-3h'));
  expect(steps('back')).toEqual([-3, 3]);
  // Of 24 min and the one after, what claimed to come from hours ahead is kept and does not count.
  expect(gapped.readings.count).toBeLessThanOrEqual(2 * (25 - 8) * 12);
  expect(gapped.verdict).toBe('unproven');
});

test('killed in mid-load and started again: the same sealed verdict, to the byte', async () => {
  await startCollector('undisturbed');
  await publish('load-start', 0, { lot: 'K-118', recipe: 'shell-13ply' });
  await publishFaces(0, 24);
  await publish('load-end', 24);
  await publishFaces(24, 25);
  const without = await sealed('undisturbed');
  expect(without).toMatchObject({ verdict: 'in-window', worst: { zone: 'left', glueLine: 6 } });
  await kill();

  await startCollector('killed');
  await publish('load-start', 0, { lot: 'K-118', recipe: 'shell-13ply' });
  await publishFaces(0, 11);
  await until(() => entries('killed', 'advice-changed').length > 0);
  await kill();
  // What comes meanwhile waits in the broker.
  await publishFaces(11, 20);
  await startCollector('killed');
  await publishFaces(20, 24);
  await publish('load-end', 24);
  await publishFaces(24, 25);
  const killed = await sealed('killed');
  for (const part of ['input', 'readings', 'result'] as const) {
    expect(killed[part].sha256).toBe(without[part].sha256);
  }
  expect(entries('killed', 'load-opened')).toHaveLength(1);
});

test('12 minutes: undercured and a call; advice says wait until the end, none before and after', async () => {
  loadMs = Date.now() - 13 * 60_000;
  await startCollector('short');
  await until(() => advice.length > 0);
  expect(advice[0]).toMatchObject({
    advisory: true,
    n: expect.any(Number),
    say: 'none',
    load: null,
  });
  await publish('load-start', 0, { lot: 'K-118', recipe: 'shell-13ply' });
  await publishFaces(0, 12);
  await until(() => advice.at(-1)?.say === 'wait');
  expect(advice.at(-1)).toMatchObject({ load: 'P1-00231', state: 'open', validForS: 15 });
  await publish('load-end', 12);
  await publishFaces(12, 13);
  const body = await sealed('short');
  expect(body).toMatchObject({ verdict: 'under', side: 'short' });
  const [raised] = entries('short', 'call-raised').filter(
    ({ about }) => about.call === 'ended-short.P1-00231',
  );
  expect(raised?.body).toMatchObject({
    kind: 'ended-short',
    who: 'shift-lead',
    station: 'press-1',
  });
  await until(() => advice.at(-1)?.say === 'none');
  expect(new Set(advice.map(({ say }) => say))).toEqual(new Set(['none', 'wait']));
  const token = readFileSync(join(folder, 'short', 'token'), 'utf8');
  expect(token.trim()).toMatch(/^[0-9a-f]{64}$/);
});
