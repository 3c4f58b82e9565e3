import { median } from './bench-row.ts';
import { SpeakingPlant } from './memory.ts';

/** Half an hour in parts of ten seconds. */
export const memoryParts = 180;
const partS = 10;
/** Heaps have settled and caches are full after ten minutes; held against it is what comes later. */
const settled = { from: 30, to: 60 };
const mostGrowth = 1.1;
/** Twice the aim of memory at rest: what is beyond it is no warming up. */
const mostMb = 600;

let plant: SpeakingPlant | null = null;
/** Median of each part [MB]. */
const parts: number[] = [];

/** The next ten seconds of one plant that goes on speaking. @throws where its memory grows */
export async function speakOn(part: number): Promise<void> {
  plant ??= await SpeakingPlant.start();
  const nowMb = median(await plant.speak(partS));
  parts.push(nowMb);
  if (nowMb > mostMb) throw new Error(`${nowMb.toFixed(0)} MB in part ${part}, ${mostMb} at most`);
  if (parts.length <= settled.to) return;
  const settledMb = median(parts.slice(settled.from, settled.to));
  const ofLate = median(parts.slice(-6));
  if (ofLate > mostGrowth * settledMb) {
    const [from, to] = [settledMb.toFixed(0), ofLate.toFixed(0)];
    throw new Error(`from ${from} MB, settled, to ${to} MB in part ${part}`);
  }
}

export async function endSpeaking(): Promise<void> {
  await plant?.end();
  plant = null;
  const said = parts.filter((_, i) => i % 6 === 0).map((mb) => mb.toFixed(0));
  process.stderr.write(`resident memory minute by minute [MB]: ${said.join(' ')}\n`);
  parts.length = 0;
}
