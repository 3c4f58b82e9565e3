import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { plantMs, type ClockSetting } from '@setwell/shared-models/api/clock';
import { openJournalReader } from '../journal/journal.ts';

const fileName = 'clock.json';

/**
 * The demo's clock: it goes on where plant time stopped, however it stopped, at so many times the
 * wall's speed.
 */
export function demoClock(dataDir: string, rate: number, wallMs: number): ClockSetting {
  const saved = savedMs(dataDir);
  const heard = lastReceivedMs(join(dataDir, 'journal.db'));
  const setting = {
    originMs: Math.max(saved ?? 0, heard ?? 0) || wallMs,
    wallOriginMs: wallMs,
    rate,
  };
  saveClock(dataDir, setting, wallMs);
  return setting;
}

/** Kept at each stop; after a kill the journal's last receipt stands in. */
export function saveClock(dataDir: string, setting: ClockSetting, wallMs: number): void {
  const plant = Math.round(plantMs(setting, wallMs));
  writeFileSync(join(dataDir, fileName), JSON.stringify({ ...setting, plantMs: plant }));
}

function savedMs(dataDir: string): number | null {
  const file = join(dataDir, fileName);
  if (!existsSync(file)) return null;
  try {
    const { plantMs: saved } = JSON.parse(readFileSync(file, 'utf8')) as { plantMs?: unknown };
    return typeof saved === 'number' ? saved : null;
  } catch {
    return null;
  }
}

function lastReceivedMs(journalFile: string): number | null {
  if (!existsSync(journalFile)) return null;
  const journal = openJournalReader(journalFile);
  try {
    return journal.batchesAfter(journal.head() - 1, 1)[0]?.receivedMs ?? null;
  } finally {
    journal.close();
  }
}
