import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Intake } from '@setwell/collector/intake/intake';
import { openJournal, openJournalReader } from '@setwell/collector/journal/journal';
import type { Reading } from '@setwell/collector/journal/shape';
import { readingSeries } from '@setwell/collector/serve/reading-series';
import { SystemClock } from '@setwell/collector/system-clock';
import { wallClock } from '@setwell/shared-models/api/clock';
import { smallPlant } from '../fixtures/small-plant.ts';
import { median, type BenchRow } from './bench-row.ts';

const sizes = [100, 1000, 10_000];
/** Enough that a size's own cost shows, few enough that the disk's cache does not end. */
const readingsEach = 200_000;
const seriesDays = 30;

/**
 * What a reading costs with ever more points: journal and index hold them all, so nothing may grow
 * with their number. And what a month of one costs on a chart.
 */
export async function growthBench(): Promise<BenchRow[]> {
  const costs: { points: number; perS: number; openMs: number }[] = [];
  for (const points of sizes) costs.push({ points, ...(await storeFor(points)) });
  const least = costs[0]!;
  return [
    ...costs.slice(1).map(({ points, perS, openMs }) => ({
      name: `readings stored with ${points} points, journal opened in ${openMs.toFixed(0)} ms`,
      baseline: `the same number of readings of ${least.points} points (${least.perS.toFixed(0)}/s, opened in ${least.openMs.toFixed(0)} ms)`,
      ratio: perS / least.perS,
      // A batch of a thousand touches as many pages as it has points: half the pace is the price of one disk page a point.
      aim: 0.4,
      value: perS,
      unit: 'readings/s',
      runs: [perS],
    })),
    await seriesRow(),
  ];
}

/** A second's readings of all points, again and again, in batches as they come from a broker. */
function storeFor(points: number): Promise<{ perS: number; openMs: number }> {
  return inJournal((path) => {
    const journal = openJournal(path);
    const clock = new SystemClock(wallClock);
    const intake = new Intake({ plant: smallPlant(points), journal, clock });
    const startMs = Date.now() - (readingsEach / points) * 1000;
    const beganMs = performance.now();
    for (let sent = 0; sent < readingsEach;) {
      const arrivals = Array.from({ length: 1000 }, () => {
        const n = sent++;
        const t = startMs + Math.floor(n / points) * 1000;
        const payload = Buffer.from(`{"t":${t},"v":${100 + (n % 400) / 10}}`);
        const topic = `plant/press-1/m-${n % points}`;
        return { topic, payload, retained: false, queued: false, act: null };
      });
      intake.accept(arrivals);
    }
    const perS = (readingsEach / (performance.now() - beganMs)) * 1000;
    journal.close();
    const openedMs = performance.now();
    const again = openJournal(path);
    const openMs = performance.now() - openedMs;
    again.close();
    return { perS, openMs };
  });
}

/** A month of a point at 1 Hz as a thousand steps, as a chart asks for it. */
function seriesRow(): Promise<BenchRow> {
  return inJournal(async (path) => {
    const journal = openJournal(path);
    const toMs = Date.UTC(2026, 2, 31);
    const fromMs = toMs - seriesDays * 86_400_000;
    for (let t = fromMs; t < toMs;) {
      const items: Reading[] = [];
      while (items.length < 1000 && t < toMs) {
        const v = 135 + Math.sin(t / 1e7);
        items.push({
          point: 'p',
          t,
          v,
          quality: 'good',
          deviceSeq: null,
          stamped: false,
          ahead: false,
        });
        t += 1000;
      }
      journal.append({ receivedMs: t, items, rejects: [] });
    }
    const reader = openJournalReader(path);
    const sources = { journal: reader, keptFromMs: () => 0, history: null };
    const runs: number[] = [];
    while (runs.length < 9) {
      const beganMs = performance.now();
      await readingSeries(sources, { point: 'p', fromMs, toMs, points: 1000 });
      runs.push(performance.now() - beganMs);
    }
    reader.close();
    journal.close();
    const ms = median(runs);
    return {
      name: `${seriesDays} days of a point at 1 Hz as 1,000 steps`,
      baseline: 'limit: 50 ms',
      ratio: 50 / ms,
      aim: 1,
      value: ms,
      unit: 'ms',
      runs,
    };
  });
}

async function inJournal<T>(use: (path: string) => T | Promise<T>): Promise<T> {
  const folder = mkdtempSync(join(tmpdir(), 'bench-growth-'));
  try {
    return await use(join(folder, 'journal.db'));
  } finally {
    rmSync(folder, { recursive: true });
  }
}
