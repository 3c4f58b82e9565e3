import { createHash } from 'node:crypto';
import { copyFileSync, cpSync, createReadStream, existsSync, mkdirSync } from 'node:fs';
import { readdirSync, readFileSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { pipeline } from 'node:stream/promises';
import Database from 'better-sqlite3';
import { z } from 'zod';
import { checkChain } from '../journal/chain.ts';
import type { Clock } from '../clock.ts';
import { KeyFolder } from '../ledger/key-folder.ts';
import { continueLedger } from '../ledger/ledger.ts';
import type { LogEnd } from '../ledger/shape.ts';
import { readWholeLedger, type WholeLedger } from '../ledger/whole-ledger.ts';

/** The files that cannot be made again. The ledger goes first: a journal that is newer loses nothing. */
const kept = ['ledger.db', 'journal.db', 'people.db'] as const;
const needed: readonly string[] = ['ledger.db', 'journal.db'];

const manifestSchema = z.strictObject({
  format: z.literal(1),
  madeAt: z.string(),
  log: z.string(),
  size: z.number().int().positive(),
  root: z.string(),
  checkpoint: z.string().nullable(),
  batches: z.number().int().nonnegative(),
  keys: z.boolean(),
  files: z.record(z.string(), z.string()),
});

/** `backup.json`: what a backup holds, by digest. */
export type Manifest = z.infer<typeof manifestSchema>;

/** A backup, or a place for one, that cannot be used. */
export class BackupError extends Error {
  readonly file: string;
  readonly found: string;
  readonly expected: string;

  constructor(file: string, found: string, expected: string) {
    super(`${file}: found ${found}; expected ${expected}`);
    this.file = file;
    this.found = found;
    this.expected = expected;
  }
}

/**
 * Copies the data of a collector that may be running, and reads the copy whole: a backup that cannot be
 * read is none. Keys are left out unless asked for.
 *
 * @param to a folder that is not there yet
 * @throws BackupError, LedgerError
 */
export async function makeBackup(
  data: string,
  to: string,
  keys: string | null,
  madeAt: string,
): Promise<Manifest> {
  if (existsSync(to)) throw new BackupError(to, 'a folder', 'none of that name');
  const making = `${to}.making`;
  rmSync(making, { recursive: true, force: true });
  mkdirSync(making, { recursive: true, mode: 0o700 });
  const files: Record<string, string> = {};
  for (const name of kept) {
    const from = join(data, name);
    if (!existsSync(from)) {
      if (!needed.includes(name)) continue;
      throw new BackupError(from, 'no such file', 'the data folder of a collector');
    }
    await copyDatabase(from, join(making, name));
    files[name] = await digestOf(join(making, name));
  }
  if (keys !== null && existsSync(keys)) {
    cpSync(keys, join(making, 'keys'), { recursive: true });
    for (const name of readdirSync(keys)) {
      files[`keys/${name}`] = await digestOf(join(making, 'keys', name));
    }
  }
  const { log, size, root, checkpoint } = readWholeLedger(join(making, 'ledger.db'));
  const batches = wholeJournal(join(making, 'journal.db'));
  const manifest: Manifest = {
    ...{ format: 1, madeAt, log, size, root, checkpoint, batches },
    keys: keys !== null,
    files,
  };
  writeFileSync(join(making, 'backup.json'), `${JSON.stringify(manifest, null, 2)}\n`);
  renameSync(making, to);
  return manifest;
}

/**
 * Puts a backup where no data is, and begins the next life of its log there: what the earlier life said
 * after the backup stays true where it was heard, and nobody can take the two for one.
 *
 * @param seen how far the earlier life was seen outside; null where nobody knows
 * @throws BackupError, LedgerError
 */
export async function restoreBackup(
  from: string,
  data: string,
  keys: string,
  seen: LogEnd | null,
  clock: Clock,
): Promise<{ manifest: Manifest; log: string; lost: number | null }> {
  const manifest = readManifest(from);
  for (const name of kept) {
    const there = join(data, name);
    if (existsSync(there)) throw new BackupError(there, 'a file', 'a folder without data');
  }
  for (const [name, sha256] of Object.entries(manifest.files)) {
    if (name.includes('..')) throw new BackupError(name, 'a climbing path', 'a name');
    const file = join(from, name);
    const found = existsSync(file) ? await digestOf(file) : 'no such file';
    if (found !== sha256) throw new BackupError(file, found, `SHA-256 ${sha256}`);
  }
  checkWhole(readWholeLedger(join(from, 'ledger.db')), manifest, from);
  wholeJournal(join(from, 'journal.db'));
  mkdirSync(data, { recursive: true, mode: 0o700 });
  for (const name of kept) {
    if (manifest.files[name] !== undefined) copyFileSync(join(from, name), join(data, name));
  }
  const ledger = continueLedger(join(data, 'ledger.db'), manifest.log, clock, new KeyFolder(keys), {
    because: 'restored',
    seen,
  });
  const { log } = ledger;
  ledger.close();
  return { manifest, log, lost: seen === null ? null : Math.max(0, seen.size - manifest.size) };
}

function checkWhole(found: WholeLedger, manifest: Manifest, from: string): void {
  if (found.log === manifest.log && found.size === manifest.size && found.root === manifest.root) {
    return;
  }
  const told = `${found.log}, ${String(found.size)} entries, root ${found.root}`;
  const expected = `${manifest.log}, ${String(manifest.size)} entries, root ${manifest.root}`;
  throw new BackupError(join(from, 'ledger.db'), told, expected);
}

/** @returns number of batches, each held against its chained hash */
function wholeJournal(path: string): number {
  const { head, faults } = checkChain(path);
  const [first] = faults;
  if (!first) return head;
  const found = `${String(faults.length)} batches that are ${first.what}, from ${String(first.seq)}`;
  throw new BackupError(path, found, 'a journal whose batches are what was committed');
}

function readManifest(from: string): Manifest {
  const file = join(from, 'backup.json');
  if (!existsSync(file)) throw new BackupError(file, 'no such file', 'a backup made by setwell');
  try {
    return manifestSchema.parse(JSON.parse(readFileSync(file, 'utf8')));
  } catch {
    throw new BackupError(file, 'something else', 'a backup made by this version of setwell');
  }
}

/** In one step: between steps a commit of others would begin it anew, and a collector commits all the time. */
async function copyDatabase(from: string, to: string): Promise<void> {
  const db = new Database(from, { readonly: true, fileMustExist: true });
  try {
    await db.backup(to, { progress: ({ totalPages }) => totalPages });
  } finally {
    db.close();
  }
  // One file, that nothing is laid beside when it is read.
  const copy = new Database(to);
  copy.pragma('journal_mode = DELETE');
  copy.close();
}

async function digestOf(file: string): Promise<string> {
  const hash = createHash('sha256');
  await pipeline(createReadStream(file), hash);
  return hash.digest('hex');
}
