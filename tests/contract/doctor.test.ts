import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { afterEach, beforeEach, expect, onTestFinished, test } from 'vitest';
import { createCollector } from '@setwell/collector/collector';
import { examine } from '@setwell/collector/cli/doctor';
import type { Symptom } from '@setwell/collector/cli/symptom';
import { SteppedClock } from '@setwell/collector/stepped-clock';
import { freePort } from '../fixtures/free-port.ts';
import { Mosquitto } from '../fixtures/mosquitto.ts';
import { plantFile, startMs } from '../fixtures/press-plant/works.ts';

let folder: string;
let data: string;

beforeEach(async () => {
  folder = mkdtempSync(join(tmpdir(), 'doctor-'));
  data = join(folder, 'data');
  const clock = new SteppedClock(startMs);
  const collector = createCollector({
    ...{ plantFile, dataDir: data, clock, judge: 'inline', version: 'test' },
    clockSetting: { originMs: 0, wallOriginMs: 0, rate: 1 },
  });
  const payload = Buffer.from(`{"t":${startMs},"v":20}`);
  const handed = { retained: false, queued: false, act: null };
  collector.accept([{ topic: 'plant/press-1/p1-ul', payload, ...handed }]);
  await collector.stop();
});

afterEach(() => rmSync(folder, { recursive: true }));

/** The plant of the tests at a broker. */
function plantAt(url: string): string {
  const file = join(folder, 'plant.yaml');
  const text = readFileSync(plantFile, 'utf8').replace('mqtt://127.0.0.1:1883', url);
  writeFileSync(file, text);
  return file;
}

async function broker(lines: string[]): Promise<string> {
  const mosquitto = new Mosquitto(await freePort(), ['allow_anonymous true', ...lines], 'as-given');
  onTestFinished(() => mosquitto.end());
  await mosquitto.start();
  return mosquitto.url;
}

async function findings(plant: string): Promise<Symptom[]> {
  const { document, exit } = await examine({ plant, data });
  const { findings: found } = document as { findings: Symptom[] };
  expect(exit).toBe(found.length > 0 ? 1 : 0);
  // How full the disk of this machine is, is no matter of the test.
  return found.filter(({ code }) => code !== 'disk' && code !== 'clock');
}

test('a broker that keeps everything is as it must be', async () => {
  expect(await findings(plantAt(await broker(['max_queued_messages 0'])))).toEqual([]);
});

test('a broker that nobody has set up drops what comes while the collector is away', async () => {
  expect(await findings(plantAt(await broker([])))).toMatchObject([
    { code: 'queue-limit', found: expect.stringMatching(/^10\d\d of 1200 messages kept/) },
  ]);
});

test('a broker that gives too few rights is told', async () => {
  const acl = join(folder, 'acl');
  writeFileSync(acl, 'topic read setwell/#\ntopic read plant/#\n');
  const codes = await findings(plantAt(await broker([`acl_file ${acl}`, 'max_queued_messages 0'])));
  expect(codes.map(({ code }) => code)).toContain('rights');
});

test('a broker that is not there cannot be asked', async () => {
  const plant = plantAt(`mqtt://127.0.0.1:${await freePort()}`);
  await expect(examine({ plant, data })).rejects.toMatchObject({ exit: 3, code: 'no-broker' });
});

test('a journal that was changed is found, by its batch', async () => {
  const db = new Database(join(data, 'journal.db'));
  db.exec(`UPDATE batch SET body = CAST(replace(body, '20', '21') AS BLOB) WHERE seq = 1`);
  db.close();
  expect(await findings(plantAt(await broker(['max_queued_messages 0'])))).toMatchObject([
    { code: 'journal-damaged', found: 'batch 1 changed' },
  ]);
});

test('a ledger in which an entry was changed is found', async () => {
  const db = new Database(join(data, 'ledger.db'));
  // Whoever means harm takes away what forbids it.
  const guards = db.prepare<[], { name: string }>(
    `SELECT name FROM sqlite_master WHERE type = 'trigger'`,
  );
  for (const { name } of guards.all()) db.exec(`DROP TRIGGER ${name}`);
  db.exec(`UPDATE entry SET bytes = CAST(replace(bytes, '"by":"', '"by":"x') AS BLOB) WHERE n = 1`);
  db.close();
  expect(await findings(plantAt(await broker(['max_queued_messages 0'])))).toMatchObject([
    { code: 'ledger-damaged', found: expect.stringContaining('entry 1') as string },
  ]);
});

test('without a data folder there is nothing to examine', async () => {
  const plant = plantAt(await broker(['max_queued_messages 0']));
  const nowhere = join(folder, 'nowhere');
  await expect(examine({ plant, data: nowhere })).rejects.toMatchObject({ exit: 3 });
});
