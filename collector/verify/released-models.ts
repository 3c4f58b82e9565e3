import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { sha256Hex } from '../ledger/sha256.ts';

/** One file that has computed verdicts, as it was released; it is never edited. */
export interface ReleasedModel {
  number: number;
  sha256: string;
  file: string;
  bytes: Buffer;
}

/** The models of this release, by their digest. */
export function releasedModels(): Map<string, ReleasedModel> {
  const models = new Map<string, ReleasedModel>();
  const folder = releasedFolder();
  if (!existsSync(folder)) return models;
  for (const name of readdirSync(folder)) {
    const number = /^([1-9][0-9]*)\.mjs$/.exec(name)?.[1];
    if (number === undefined) continue;
    const file = join(folder, name);
    const bytes = readFileSync(file);
    const sha256 = sha256Hex(bytes);
    models.set(sha256, { number: Number(number), sha256, file, bytes });
  }
  return models;
}

/** The same from the sources and from what was built of them. */
function releasedFolder(): string {
  const up = import.meta.url.includes('/dist/') ? '../../../' : '../../';
  return fileURLToPath(new URL(`${up}shared-models/released/`, import.meta.url));
}
