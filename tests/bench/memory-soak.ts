import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { median } from './bench-row.ts';
import { limitMb, SpeakingPlant } from './memory.ts';
import { trendOf, trendText } from './trend.ts';

/** Half an hour in parts of ten seconds. */
export const memoryParts = 180;
const partS = 10;
/** What keeps the last minutes of each point is full by then: held against it is what comes later. */
const settledParts = 60;
/** What a heap holds after a collection grows by no more: the low end of the interval [MB an hour]. */
const mostHeldPerH = 1;
/** Resident memory, collected, hangs on what the allocator has given back, too [MB an hour]. */
const mostResidentPerH = 20;
/** Twice the limit at rest: what is beyond it is no warming up. */
const mostMb = 2 * limitMb;

/** What one heap has said of itself after a collection [bytes]. */
interface Held {
  atMs: number;
  name: 'collector' | 'judge' | 'dashboard';
  live: number;
  resident: number;
}

let running: { plant: SpeakingPlant; folder: string } | null = null;
/** Of each second [MB]. */
const residentMb: number[] = [];

/** The next ten seconds of one plant that goes on speaking. @throws where its memory grows, or is too much */
export async function speakOn(part: number): Promise<void> {
  running ??= await started();
  residentMb.push(...(await running.plant.speak(partS)));
  const peakMb = Math.max(...residentMb);
  if (peakMb > mostMb)
    throw new Error(`${peakMb.toFixed(0)} MB in part ${part}, ${mostMb} at most`);
  if (part === memoryParts) judge(join(running.folder, 'held'));
}

async function started(): Promise<{ plant: SpeakingPlant; folder: string }> {
  const folder = mkdtempSync(join(tmpdir(), 'soak-memory-'));
  return { plant: await SpeakingPlant.start(join(folder, 'held')), folder };
}

/** What it was at rest, and what grew: a heap that fills before it is swept is no leak, what it holds is. */
function judge(heldFile: string): void {
  const rows = readFileSync(heldFile, 'utf8').trim().split('\n');
  const all = rows.map((row) => JSON.parse(row) as Held);
  const fromMs = Date.now() - (memoryParts - settledParts) * partS * 1000;
  const settled = all.filter(({ atMs }) => atMs >= fromMs);
  const faults = (['collector', 'judge', 'dashboard'] as const).flatMap((name) => {
    const own = settled.filter((held) => held.name === name);
    const live = grown(own, name, 'live', mostHeldPerH);
    // A thread's resident memory is its process's.
    return name === 'judge' ? live : [...live, ...grown(own, name, 'resident', mostResidentPerH)];
  });
  const atRest = residentMb.slice(settledParts * partS);
  const [middle, peak] = [median(atRest), Math.max(...atRest)].map((mb) => mb.toFixed(0));
  process.stderr.write(`resident memory: median ${middle} MB, peak ${peak} MB\n`);
  if (median(atRest) > limitMb) faults.push(`${middle} MB at rest, ${limitMb} at most`);
  if (faults.length > 0) throw new Error(faults.join('; '));
}

function grown(held: Held[], name: string, what: 'live' | 'resident', mostPerH: number): string[] {
  const hours = held.map(({ atMs }) => atMs / 3_600_000);
  const mb = held.map((each) => each[what] / 1e6);
  const trend = trendOf(hours, mb);
  const text = `${name}, ${what} after a collection: ${median(mb).toFixed(1)} MB, ${trendText(trend, 'MB')}`;
  process.stderr.write(`${text}\n`);
  return trend.low > mostPerH ? [text] : [];
}

export async function endSpeaking(): Promise<void> {
  await running?.plant.end();
  if (running !== null) rmSync(running.folder, { recursive: true });
  running = null;
  const said = residentMb.filter((_, i) => i % 60 === 0).map((mb) => mb.toFixed(0));
  process.stderr.write(`resident memory minute by minute [MB]: ${said.join(' ')}\n`);
  residentMb.length = 0;
}
