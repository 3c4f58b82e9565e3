import { readdirSync, readFileSync } from 'node:fs';
import type { ScoreInput, ScoreResult } from '@setwell/shared-models/score/shape';

/** What a released file offers. */
export interface ReleasedModel {
  canonicalJson(value: unknown): string;
  score(input: ScoreInput, readingsCsv: string): ScoreResult;
}

export interface Golden {
  name: string;
  inputText: string;
  readingsCsv: string;
  resultText: string;
}

/** The verdicts that a released number stands for, as their files hold them. */
export function goldensOf(number: number): Golden[] {
  const folder = new URL(`./${number}/`, import.meta.url);
  return readdirSync(folder)
    .sort()
    .map((name) => {
      const text = (file: string) => readFileSync(new URL(`${name}/${file}`, folder), 'utf8');
      return {
        name,
        inputText: text('input.json'),
        readingsCsv: text('readings.csv'),
        resultText: text('result.json'),
      };
    });
}
