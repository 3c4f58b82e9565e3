import { foldLoad, type LoadFold } from './fold.ts';
import { canonicalReadings, parseReadings, type RawReading } from './readings.ts';
import { resultOf } from './score.ts';
import type { ScoreInput, ScoreResult } from './shape.ts';
import { planWeights } from './weigh.ts';

/** An open load's readings as they come, and what they say so far. */
export interface LiveScore {
  add(point: string, tMs: number, value: number): void;
  /** Equals `score` over the same set of readings, to the byte. */
  judge(asOfMs: number): ScoreResult;
  /** The runs behind the last verdict, for a forecast. */
  fold(asOfMs: number): LoadFold;
  /** The readings so far as canonical text. */
  readingsCsv(): string;
}

export function openLive(opened: ScoreInput): LiveScore {
  const weights = opened.weights ?? planWeights(opened);
  const readings: RawReading[] = [];
  const asOf = (asOfMs: number): ScoreInput => ({ ...opened, weights, asOfMs });
  const sorted = () => parseReadings(canonicalReadings(readings));
  return {
    add: (point, tMs, value) => void readings.push({ point, tMs, value }),
    judge(asOfMs) {
      const input = asOf(asOfMs);
      const known = sorted();
      return resultOf(input, known, foldLoad(input, known));
    },
    fold: (asOfMs) => foldLoad(asOf(asOfMs), sorted()),
    readingsCsv: () => canonicalReadings(readings),
  };
}
