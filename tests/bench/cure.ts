import { createLaw } from '@setwell/shared-models/cure/create-law';
import type { Law } from '@setwell/shared-models/cure/law';
import { foldProfile } from '@setwell/shared-models/cure/profile';
import { spawnSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { epoxyThatStiffens } from '../fixtures/kinetics.ts';
import { median, type BenchRow } from './bench-row.ts';

const rounds = 5;

interface Profile {
  timesS: number[];
  tempsC: number[];
}

/** Forty minutes at a reading a second: into the heat, a dip, a hold. */
const readings: Profile = (() => {
  const timesS = Array.from({ length: 2401 }, (_, i) => i);
  const dip = (timeS: number) => 12 * Math.exp(-(((timeS - 1000) / 100) ** 2));
  return {
    timesS,
    tempsC: timesS.map((timeS) => 175 - 150 * Math.exp(-timeS / 300) - dip(timeS)),
  };
})();

/** A plan of four straight lines. */
const plan: Profile = {
  timesS: [0, 2184, 5784, 7248, 14_448],
  tempsC: [25, 116, 116, 177, 177],
};

interface Lsoda {
  truth: number;
  rtol: number;
  error: number;
  runsS: number[];
}

/**
 * Segments a second of two laws, single-threaded, and the same segments by SciPy's LSODA at equal
 * error. Both start anew at each row, as whoever follows readings must: a solver that is given the
 * whole profile at once steps over a hundred rows at a time, and answers another question.
 */
export function cureBench(): BenchRow[] {
  const film = createLaw({
    form: 'equivalent-time',
    referenceC: 135,
    activationEnergyJPerMol: 90_000,
  });
  const kinetic = createLaw(epoxyThatStiffens);
  const filmRuns = segmentsPerS(film, readings, 200);
  const kineticRuns = segmentsPerS(kinetic, readings, 50);
  return [
    {
      name: 'equivalent-time, 1 s segments',
      baseline: 'limit: a million segments a second',
      ratio: median(filmRuns) / 1e6,
      aim: 1,
      value: median(filmRuns),
      unit: 'segments/s',
      runs: filmRuns,
    },
    {
      name: 'autocatalytic with diffusion, 1 s segments',
      baseline: 'limit: a hundred thousand segments a second',
      ratio: median(kineticRuns) / 1e5,
      aim: 1,
      value: median(kineticRuns),
      unit: 'segments/s',
      runs: kineticRuns,
    },
    besideLsoda('40 min of readings', kinetic, readings, kineticRuns),
    besideLsoda('a plan of 4 lines', kinetic, plan, segmentsPerS(kinetic, plan, 1000)),
  ];
}

function besideLsoda(name: string, law: Law, profile: Profile, runs: number[]): BenchRow {
  const lsoda = byLsoda(profile);
  const ours = lsoda === null ? null : foldProfile(law, profile.timesS, profile.tempsC);
  const error = ours === null ? '' : `, error ${errorText(ours / lsoda!.truth - 1)}`;
  const theirs = lsoda === null ? '' : `, rtol ${lsoda.rtol}, error ${errorText(lsoda.error)}`;
  const segments = profile.timesS.length - 1;
  return {
    name: `autocatalytic with diffusion, ${name}${error}`,
    baseline: `SciPy LSODA over the same segments${theirs}`,
    ratio: lsoda === null ? null : (median(runs) * median(lsoda.runsS)) / segments,
    aim: 20,
    value: median(runs),
    unit: 'segments/s',
    runs,
  };
}

function segmentsPerS(law: Law, { timesS, tempsC }: Profile, folds: number): number[] {
  foldProfile(law, timesS, tempsC);
  return Array.from({ length: rounds }, () => {
    const startMs = performance.now();
    let sum = 0;
    for (let i = 0; i < folds; i++) sum += foldProfile(law, timesS, tempsC);
    if (!Number.isFinite(sum)) throw new Error('the bench adds up nothing');
    return (folds * (timesS.length - 1) * 1000) / (performance.now() - startMs);
  });
}

/** Null where no Python with SciPy is on this machine. */
function byLsoda(profile: Profile): Lsoda | null {
  const script = fileURLToPath(new URL('cure-lsoda.py', import.meta.url));
  const input = JSON.stringify({ ...profile, law: epoxyThatStiffens });
  for (const python of ['python3', '/usr/bin/python3']) {
    const { status, stdout } = spawnSync(python, [script], { input, encoding: 'utf8' });
    if (status === 0) return JSON.parse(stdout) as Lsoda;
  }
  return null;
}

function errorText(relative: number): string {
  return Math.abs(relative).toExponential(1);
}
