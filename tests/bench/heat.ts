import { openLive } from '@setwell/shared-models/score/live';
import { Conduction } from '@setwell/shared-models/heat/conduction';
import { cutSlab } from '@setwell/shared-models/heat/slab';
import { spawnSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { openLoad, platenC, pressLoad, thirteenPlies } from '../fixtures/press-load.ts';
import { median, type BenchRow } from './bench-row.ts';
import { processorSince } from './processor-time.ts';
import { plantYearBench } from './plant-year.ts';

const rounds = 5;
const minutes = 25;
const untilS = minutes * 60;

/** What scoring promises, and what both sides are held to [K]. */
const wantedK = 0.05;

/** Plies, faces and questions, as the Python beside this file reads them. */
const press = {
  plies: 13,
  plyMm: 1.5,
  conductivityWPerMK: 0.17,
  heatCapacityJPerM3K: 720 * 1700,
  contactWPerM2K: 500,
  startC: 20,
  faceTimesS: Array.from({ length: untilS + 1 }, (_, s) => s),
  facesC: Array.from({ length: untilS + 1 }, (_, s) => platenC(s)),
  untilS,
  atS: Array.from({ length: minutes }, (_, i) => (i + 1) * 60),
  wantedK,
};

interface Lsoda {
  /** One row a time, one value a glue line [°C]. */
  truth: number[][];
  pieces: number;
  rtol: number;
  error: number;
  runsS: number[];
}

/**
 * One zone of 13 plies over 25 min: a run beside SciPy's banded LSODA at equal error, a plant's year of
 * whole verdicts (all runs, at the seal's 1 s), and a live load a second.
 */
export async function heatBench(): Promise<BenchRow[]> {
  const lsoda = byLsoda();
  const stepS = lsoda === null ? 10 : longestStepS(lsoda.truth);
  const runs = runsPerS(() => pressed(stepS), 200);
  const error = lsoda === null ? '' : `, error ${errorOf(stepS, lsoda.truth).toFixed(3)} K`;
  const theirs =
    lsoda === null ? '' : `, ${lsoda.pieces} pieces a ply, error ${lsoda.error.toFixed(3)} K`;
  const lives = liveRuns();
  return [
    {
      name: `heat, 13 plies, 25 min, ${stepS} s steps${error}`,
      baseline: `SciPy LSODA, banded${theirs}`,
      ratio: lsoda === null ? null : median(runs) * median(lsoda.runsS),
      aim: 10,
      value: median(runs),
      unit: 'runs/s',
      runs,
    },
    await plantYearBench(),
    {
      name: 'a live load, one verdict a second',
      baseline: 'limit: 1,000 open loads on half a core',
      ratio: median(lives) / 2000,
      aim: 1,
      value: median(lives),
      unit: 'verdicts/s',
      runs: lives,
    },
  ];
}

const slab = cutSlab(thirteenPlies.layers, 1 / 52);
const contacts = { upperWPerM2K: press.contactWPerM2K, lowerWPerM2K: press.contactWPerM2K };

/** Temperatures of the glue lines at the asked times. */
function pressed(stepS: number): number[][] {
  const body = new Conduction(slab, contacts, stepS, 2);
  const tempC = new Float64Array(slab.depthsMm.length).fill(press.startC);
  const rows: number[][] = [];
  for (let s = 0; s < untilS; s += stepS) {
    const from = press.facesC[s] ?? NaN;
    const to = press.facesC[s + stepS] ?? NaN;
    body.step(tempC, from, to, from, to);
    if ((s + stepS) % 60 === 0) rows.push(slab.glueLineNodes.map((node) => tempC[node] ?? NaN));
  }
  return rows;
}

function errorOf(stepS: number, truth: number[][]): number {
  let error = 0;
  pressed(stepS).forEach((row, time) =>
    row.forEach((value, line) => {
      error = Math.max(error, Math.abs(value - (truth[time]?.[line] ?? NaN)));
    }),
  );
  return error;
}

/** The longest step of a minute's divisors that keeps the wanted error. */
function longestStepS(truth: number[][]): number {
  const steps = [30, 20, 15, 12, 10, 6, 5, 4, 3, 2, 1];
  return steps.find((stepS) => errorOf(stepS, truth) <= wantedK) ?? 1;
}

function runsPerS(run: () => unknown, count: number): number[] {
  run();
  return Array.from({ length: rounds }, () => {
    const startMs = performance.now();
    for (let i = 0; i < count; i += 1) run();
    return (count * 1000) / (performance.now() - startMs);
  });
}

/** Verdicts a second of one core's own time. */
function liveRuns(): number[] {
  const opened = openLoad(pressLoad(minutes), 0);
  const follow = () => {
    const live = openLive(opened);
    for (let s = 0; s < untilS; s += 1) {
      live.add('ul', s * 1000, platenC(s));
      live.add('ll', s * 1000, platenC(s));
      live.judge(s * 1000 + 300);
    }
  };
  follow();
  return Array.from({ length: rounds }, () => {
    const before = process.cpuUsage();
    follow();
    return untilS / processorSince(before);
  });
}

/** Null where no Python with SciPy is on this machine. */
function byLsoda(): Lsoda | null {
  const script = fileURLToPath(new URL('heat-lsoda.py', import.meta.url));
  for (const python of ['python3', '/usr/bin/python3']) {
    const { status, stdout } = spawnSync(python, [script], {
      input: JSON.stringify(press),
      encoding: 'utf8',
      maxBuffer: 64 * 1024 * 1024,
    });
    if (status === 0) return JSON.parse(stdout) as Lsoda;
  }
  return null;
}
