import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, onTestFinished, test } from 'vitest';
import { FreeSpace } from '@setwell/collector/journal/free-space';
import { openJournal, openJournalReader } from '@setwell/collector/journal/journal';
import { Keeping } from '@setwell/collector/journal/keeping';
import type { Reading } from '@setwell/collector/journal/shape';
import { LedgerFold } from '@setwell/collector/judge/ledger-fold';
import type { Collected } from '@setwell/collector/part';
import { SteppedClock } from '@setwell/collector/stepped-clock';
import type { Proposal } from '@setwell/collector/ledger/shape';
import { smallPlant } from '../fixtures/small-plant.ts';

const dayMs = 86_400_000;
const nowMs = Date.parse('2026-06-01T06:00:00Z');

/** A journal with a reading of a face and of a gauge on each of these days before now. */
function kept(daysAgo: number[], more: Partial<Collected> = {}) {
  const folder = mkdtempSync(join(tmpdir(), 'keeping-by-age-'));
  const path = join(folder, 'journal.db');
  const journal = openJournal(path, new FreeSpace(path, () => 0.5));
  const reader = openJournalReader(path);
  for (const days of daysAgo) {
    const t = nowMs - days * dayMs;
    const items = ['p1-ul', 'p1-bar'].map((point): Reading => {
      return { point, t, v: 20, quality: 'good', deviceSeq: null, stamped: false, ahead: false };
    });
    journal.append({ receivedMs: t, items, rejects: [] });
  }
  const clock = new SteppedClock(nowMs);
  const said: Proposal[] = [];
  const keeping = new Keeping({
    plant: { ...smallPlant(), keep: { zoneReadingsD: 60, otherReadingsD: 30 } },
    store: journal,
    fold: new LedgerFold(),
    append: (entries: Proposal[]) => said.push(...entries),
    pointsNow: () => [{ last: { t: nowMs } }],
    uplink: () => null,
    log: () => {},
    clock,
    clockSetting: { rate: 1 },
    ...more,
  } as unknown as Collected);
  keeping.start();
  onTestFinished(() => {
    keeping.stop();
    reader.close();
    journal.close();
    rmSync(folder, { recursive: true });
  });
  clock.advance(10 * 60_000);
  const ago = (point: string) =>
    reader.readings(point, 0, 5e12).readings.map(({ t }) => (nowMs - t) / dayMs);
  return { reader, said, ago };
}

test('readings go when they are as old as the plant’s file says, by their class, and the ledger says so', () => {
  const { reader, said, ago } = kept([70, 62, 50, 32, 10, 0]);
  expect(ago('p1-ul')).toEqual([50, 32, 10, 0]);
  expect(ago('p1-bar')).toEqual([10, 0]);
  expect(said.map(({ kind, body }) => ({ kind, ...(body as object) }))).toMatchObject([
    { kind: 'readings-dropped', because: 'age', readings: 2 },
    { kind: 'readings-dropped', because: 'age', readings: 4 },
  ]);
  // The minutes of what has gone stay, for charts of years.
  expect(reader.minutes('p1-bar', 0, 5e12)).toHaveLength(6);
});

test('what the long history has not got yet waits for it', () => {
  const lag = { batches: 4, seconds: (55 * dayMs) / 1000 };
  const { ago } = kept([70, 62, 50, 32, 10, 0], {
    uplink: () => ({ target: 't', seq: 2, lag, fault: 'away' }),
  });
  expect(ago('p1-bar')).toEqual([50, 32, 10, 0]);
});

test('a clock that runs ahead of every device makes nothing old', () => {
  const behindMs = nowMs - 45 * dayMs;
  const pointsNow = () => [{ last: { t: behindMs } }] as ReturnType<Collected['pointsNow']>;
  const { ago } = kept([70, 62, 50], { pointsNow });
  expect(ago('p1-bar')).toEqual([70, 62, 50]);
});
