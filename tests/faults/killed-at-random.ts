import assert from 'node:assert/strict';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { openJournalReader } from '@setwell/collector/journal/journal';
import { CollectorProcess } from '../fixtures/collector-process.ts';
import { freePort } from '../fixtures/free-port.ts';
import { Mosquitto } from '../fixtures/mosquitto.ts';
import { seededUniform } from '../fixtures/seeded-normal.ts';
import { until } from '../fixtures/until.ts';
import { Pump } from './pump.ts';

/** A life ends after at most so many messages, at any of them. */
const mostMessages = 1500;

/**
 * A collector under load is killed at a moment that the seed chooses, and started again: behind
 * Mosquitto with odd seeds, with the built-in broker with even ones.
 *
 * @throws AssertionError where something acknowledged is not stored, or stored twice
 */
export async function killInMidWork(seed: number): Promise<void> {
  const folder = mkdtempSync(join(tmpdir(), 'killed-at-random-'));
  const journal = join(folder, 'journal.db');
  const port = await freePort();
  const broker = seed % 2 === 1 ? new Mosquitto(port) : null;
  const args = [journal, broker === null ? 'built-in' : 'outside', String(port)];
  const stored = () => {
    const reader = openJournalReader(journal);
    const { readings, conflicts } = reader.readings('p1-ul', 0, 5e12);
    reader.close();
    assert.equal(conflicts, 0);
    return new Set(readings.map(({ v }) => v));
  };
  try {
    await broker?.start();
    const killed = await CollectorProcess.start(args);
    const pump = new Pump(`mqtt://127.0.0.1:${port}`);
    const atMessage = 1 + Math.floor(seededUniform(seed)() * mostMessages);
    await until(() => pump.acknowledged.size >= atMessage);
    await killed.end();
    if (broker === null) {
      const kept = stored();
      assert.deepEqual(
        [...pump.acknowledged].filter((v) => !kept.has(v)),
        [],
      );
    }
    const next = await CollectorProcess.start(args);
    await pump.stop();
    await until(() => stored().size === pump.acknowledged.size);
    await next.end();
  } finally {
    await broker?.end();
    rmSync(folder, { recursive: true });
  }
}
