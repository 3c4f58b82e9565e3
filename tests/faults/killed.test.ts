import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it, onTestFinished } from 'vitest';
import { openJournal, openJournalReader } from '@setwell/collector/journal/journal';
import { CollectorProcess } from '../fixtures/collector-process.ts';
import { freePort } from '../fixtures/free-port.ts';
import { Mosquitto } from '../fixtures/mosquitto.ts';
import { until } from '../fixtures/until.ts';
import { Pump } from './pump.ts';

const kills = 6;
let folder: string;
let journal: string;

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'killed-'));
  journal = join(folder, 'journal.db');
});

afterEach(() => rmSync(folder, { recursive: true }));

function stored(): Set<number> {
  const reader = openJournalReader(journal);
  const { readings, conflicts } = reader.readings('p1-ul', 0, 5e12);
  reader.close();
  expect(conflicts).toBe(0);
  return new Set(readings.map((reading) => reading.v));
}

/** Starts collectors one after the other and kills each in the middle of its work. */
async function killOneAfterTheOther(args: string[], pump: Pump): Promise<void> {
  for (let kill = 0; kill < kills; kill++) {
    const collector = await CollectorProcess.start(args);
    onTestFinished(() => collector.end());
    // Some way into this life, another one each time.
    const enough = pump.acknowledged.size + 200 + 97 * kill;
    await until(() => pump.acknowledged.size >= enough);
    await collector.end();
  }
}

describe('a collector killed in mid-work', () => {
  it('misses nothing that Mosquitto has taken for it', async () => {
    const broker = new Mosquitto(await freePort());
    onTestFinished(() => broker.end());
    await broker.start();
    const args = [journal, 'outside', String(broker.port)];
    // The session begins with the first collector; what comes before it is nobody's.
    await (await CollectorProcess.start(args)).end();
    const pump = new Pump(broker.url);
    await killOneAfterTheOther(args, pump);
    const last = await CollectorProcess.start(args);
    onTestFinished(() => last.end());
    await pump.stop();
    await until(() => stored().size === pump.acknowledged.size);
    expect(pump.acknowledged.size).toBeGreaterThan(kills * 200);
  });

  it('has stored all that the built-in broker has acknowledged', async () => {
    const port = await freePort();
    const args = [journal, 'built-in', String(port)];
    const pump = new Pump(`mqtt://127.0.0.1:${port}`);
    await killOneAfterTheOther(args, pump);
    const kept = stored();
    expect([...pump.acknowledged].filter((v) => !kept.has(v))).toEqual([]);
    const last = await CollectorProcess.start(args);
    onTestFinished(() => last.end());
    await pump.stop();
    expect(stored()).toEqual(pump.acknowledged);
  });

  it('leaves a journal whose index is what its batches say', async () => {
    const port = await freePort();
    const pump = new Pump(`mqtt://127.0.0.1:${port}`);
    await killOneAfterTheOther([journal, 'built-in', String(port)], pump);
    const before = stored();
    const writer = openJournal(journal);
    writer.rebuildIndex();
    writer.close();
    expect(stored()).toEqual(before);
    const last = await CollectorProcess.start([journal, 'built-in', String(port)]);
    onTestFinished(() => last.end());
    await pump.stop();
  });
});
