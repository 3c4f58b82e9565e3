import type { SurveyedPoint } from '@setwell/shared-models/condition/survey';
import type { SurveyedBy } from '@setwell/shared-models/condition/survey-figures';
import type { InstrumentActs } from '@setwell/shared-models/metrology/instrument-acts';
import { celsiusOfSignal, temperatureSignalOf } from '@setwell/shared-models/metrology/signal';
import { measuresTemperature, type Plant } from '@setwell/shared-models/plant/plant';
import type { JournalReader } from '../journal/shape.ts';
import { correctedSamples, isUncorrected } from './survey-correction.ts';

/** A live survey takes a sample of each point so often [s]; published practice asks for 2 min or oftener (from memory). */
export const sampleEveryS = 60;
/** A reading stands for so long unless its point is read more seldom [ms]. */
const standsMs = 60_000;
const dayMs = 86_400_000;

export interface SoakFacts {
  plant: Plant;
  acts: InstrumentActs;
  journal: JournalReader;
}

export interface Soak {
  points: SurveyedPoint[];
  by: SurveyedBy[];
  samples: number;
}

export interface SoakTrouble {
  point: string;
  found: string;
  expected: string;
}

/** A soak as the plant's own points spoke, corrected by the certificates of its day. */
export function liveSoak(
  facts: SoakFacts,
  points: readonly string[],
  fromMs: number,
  toMs: number,
): Soak | SoakTrouble {
  const samples = Math.floor((toMs - fromMs) / (1000 * sampleEveryS)) + 1;
  const soak: Soak = { points: [], by: [], samples };
  for (const point of points) {
    const shownC = shownAt(facts, point, fromMs, samples);
    if (!Array.isArray(shownC)) return { point, ...shownC };
    const answer = correctedSamples(facts, point, shownC, Math.floor(toMs / dayMs));
    if (isUncorrected(answer)) return { point, found: answer.found, expected: answer.expected };
    soak.points.push({ point, samplesC: answer.samplesC });
    soak.by.push(answer.by);
  }
  return soak;
}

/** What a point showed at each time of sampling [°C]. A hole in the soak proves nothing of the platen. */
function shownAt(
  { plant, journal }: SoakFacts,
  point: string,
  fromMs: number,
  samples: number,
): number[] | Omit<SoakTrouble, 'point'> {
  const sensor = plant.sensors.get(point);
  if (sensor === undefined || !measuresTemperature(sensor)) {
    return { found: JSON.stringify(point.slice(0, 60)), expected: 'thermometers of the plant' };
  }
  const signal = temperatureSignalOf(sensor);
  const heldMs = Math.max(standsMs, 1000 * (sensor.report?.heartbeatS ?? 2 * (sensor.everyS ?? 0)));
  const untilMs = fromMs + (samples - 1) * sampleEveryS * 1000;
  const { readings } = journal.readings(point, fromMs - heldMs, untilMs);
  const good = readings.filter(({ quality, ahead }) => quality === 'good' && !ahead);
  const shown: number[] = [];
  let next = 0;
  for (let sample = 0; sample < samples; sample++) {
    const atMs = fromMs + sample * sampleEveryS * 1000;
    while (next < good.length && (good[next]?.t ?? Infinity) <= atMs) next++;
    const last = good[next - 1];
    const c =
      last === undefined || signal === null || atMs - last.t > heldMs
        ? null
        : celsiusOfSignal(last.v, signal);
    if (c === null) {
      const clock = new Date(atMs).toISOString().slice(11, 16);
      return { found: `nothing at ${clock} UTC`, expected: 'a good reading at each minute' };
    }
    shown.push(c);
  }
  return shown;
}

/** Samples as a file: what a survey's blob holds. */
export function soakCsv(points: readonly SurveyedPoint[], timesS: readonly number[]): string {
  const rows = timesS.map((timeS, row) =>
    [timeS, ...points.map(({ samplesC }) => (samplesC[row] ?? NaN).toFixed(3))].join(','),
  );
  return [`time_s,${points.map(({ point }) => point).join(',')}`, ...rows, ''].join('\n');
}
