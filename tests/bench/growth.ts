import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Intake } from '@setwell/collector/intake/intake';
import { openJournal, openJournalReader } from '@setwell/collector/journal/journal';
import type { Batch, Reading } from '@setwell/collector/journal/shape';
import { LiveReadings } from '@setwell/collector/serve/live-readings';
import { readingSeries } from '@setwell/collector/serve/reading-series';
import { SystemClock } from '@setwell/collector/system-clock';
import { wallClock } from '@setwell/shared-models/api/clock';
import { smallPlant } from '../fixtures/small-plant.ts';
import { median, type BenchRow } from './bench-row.ts';
import { processorSince } from './processor-time.ts';

const sizes = [100, 1000, 10_000];
/** Enough that a size's own cost shows, few enough that the disk's cache does not end. */
const readingsEach = 200_000;
const seriesDays = 30;

interface Costs {
  points: number;
  /** Processor of a reading stored [µs]. */
  stored: number;
  /** Handed to the disk for a reading [bytes]. */
  written: number;
  /** Processor of opening the journal [ms]. */
  opened: number;
  /** Processor of telling who looks on of a reading [µs]. */
  told: number;
}

/**
 * Half of a ratio is room for noise. Of the disk, a point has pages of its own; an opening asks for each
 * point's newest reading, so that in step with their number it would be a hundredth.
 */
const kinds = [
  { cost: 'stored', name: 'processor of a reading stored', unit: 'µs', aim: 0.5 },
  { cost: 'written', name: 'bytes to the disk for a reading', unit: 'bytes', aim: 0.4 },
  { cost: 'opened', name: 'processor of a journal opened', unit: 'ms', aim: 0.02 },
  { cost: 'told', name: 'processor of a reading told to who looks on', unit: 'µs', aim: 0.2 },
] as const;

/**
 * What a reading costs with ever more points: journal, index and live values hold them all, so nothing may
 * grow with their number. And what a month of one costs on a chart.
 */
export async function growthBench(): Promise<BenchRow[]> {
  const costs: Costs[] = [];
  for (const points of sizes) costs.push(await costsOf(points));
  const [least, ...more] = costs as [Costs, ...Costs[]];
  const rows = kinds.flatMap(({ cost, name, unit, aim }) =>
    more.map((one) => ({
      name: `${name}, ${one.points} points`,
      baseline: `the same with ${least.points} points, ${least[cost].toFixed(1)} ${unit}`,
      ratio: least[cost] / one[cost],
      aim,
      value: one[cost],
      unit,
      runs: costs.map((each) => each[cost]),
    })),
  );
  return [...rows, await seriesRow()];
}

/** A second's readings of all points, again and again, in batches as they come from a broker. */
function costsOf(points: number): Promise<Costs> {
  return inJournal((path) => {
    const journal = openJournal(path);
    const clock = new SystemClock(wallClock);
    const plant = smallPlant(points);
    const intake = new Intake({ plant, journal, clock });
    const startMs = Date.now() - (readingsEach / points) * 1000;
    const batches: Batch[] = [];
    intake.onCommit((batch) => void batches.push(batch));
    const writtenBefore = writtenBytes();
    let storing = 0;
    for (let sent = 0; sent < readingsEach;) {
      const arrivals = Array.from({ length: 1000 }, () => {
        const n = sent++;
        const t = startMs + Math.floor(n / points) * 1000;
        const payload = Buffer.from(`{"t":${t},"v":${100 + (n % 400) / 10}}`);
        const topic = `plant/press-1/m-${n % points}`;
        return { topic, payload, retained: false, queued: false, act: null };
      });
      const before = process.cpuUsage();
      intake.accept(arrivals);
      storing += processorSince(before);
    }
    const written = (writtenBytes() - writtenBefore) / readingsEach;
    journal.close();
    const before = process.cpuUsage();
    openJournal(path).close();
    const opening = processorSince(before);
    const reader = openJournalReader(path);
    const told = toldUs(new LiveReadings(plant, reader), batches);
    reader.close();
    const stored = (storing / readingsEach) * 1e6;
    return { points, stored, written, opened: opening * 1000, told };
  });
}

/**
 * A frame a batch, as a tenth of a second of a large plant brings it [µs a reading]. Of few points it tells the
 * newest values alone, so that their readings cost less.
 */
function toldUs(live: LiveReadings, batches: readonly Batch[]): number {
  let change = live.frames(0, 0).change;
  let [readings, told] = [0, 0];
  const before = process.cpuUsage();
  for (const batch of batches) {
    live.take(batch);
    readings += batch.readings.length;
    const next = live.frames(change, batch.receivedMs);
    change = next.change;
    for (const frame of next.frames) told += JSON.stringify(frame).length;
  }
  if (told === 0) throw new Error('nothing was told');
  return (processorSince(before) / readings) * 1e6;
}

/** @source proc(5), /proc/pid/io: what was handed over for the disk, the cache's part included */
function writtenBytes(): number {
  return Number(/^wchar: (\d+)$/m.exec(readFileSync('/proc/self/io', 'utf8'))?.[1]);
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
      const before = process.cpuUsage();
      await readingSeries(sources, { point: 'p', fromMs, toMs, points: 1000 });
      runs.push(processorSince(before) * 1000);
    }
    reader.close();
    journal.close();
    const ms = median(runs);
    return {
      name: `${seriesDays} days of a point at 1 Hz as 1,000 steps, processor`,
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
