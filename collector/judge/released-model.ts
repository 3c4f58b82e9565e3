import { existsSync, readFileSync } from 'node:fs';
import type { carriedTo, scoreCoats } from '@setwell/shared-models/score/coats';
import type { ScoreInput, ScoreResult } from '@setwell/shared-models/score/shape';
import { sha256Hex } from '../ledger/sha256.ts';

/** A released model: a file that is never changed again, and the number it goes by. */
export interface ReleasedModel {
  number: number;
  sha256: string;
  score(input: ScoreInput, readingsCsv: string): ScoreResult;
  scoreCoats: typeof scoreCoats;
  carriedTo: typeof carriedTo;
}

type Offered = Pick<ReleasedModel, 'score' | 'scoreCoats' | 'carriedTo'>;

interface RegisterLine {
  number: number;
  file: string;
  sha256: string;
}

/** Beside the sources, in whichever form this file runs. */
const folder = new URL(
  `${import.meta.url.endsWith('.ts') ? '../..' : '../../..'}/shared-models/released/`,
  import.meta.url,
);

/** What has been released, oldest first; empty where nothing has. */
export function readRegister(from: URL = folder): RegisterLine[] {
  const file = new URL('register.json', from);
  return existsSync(file) ? (JSON.parse(readFileSync(file, 'utf8')) as RegisterLine[]) : [];
}

/**
 * The newest released model, as what seals.
 *
 * @returns null where nothing is released
 * @throws Error where its file is not the one that was released: no record may name it then
 */
export async function newestReleased(from: URL = folder): Promise<ReleasedModel | null> {
  const newest = readRegister(from).at(-1);
  if (newest === undefined) return null;
  const { number, sha256 } = newest;
  const file = new URL(newest.file, from);
  const found = sha256Hex(readFileSync(file));
  if (found !== sha256) {
    throw new Error(
      `${file.pathname}: found SHA-256 ${found}, expected ${sha256} of model ${number}`,
    );
  }
  const model = (await import(/* @vite-ignore */ file.href)) as Offered;
  const { score, scoreCoats, carriedTo } = model;
  return { number, sha256, score, scoreCoats, carriedTo };
}
