import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import type { Command } from 'commander';
import { BackupError, makeBackup, restoreBackup } from '../export/backup.ts';
import { signedCheckpoint } from '../ledger/held-checkpoint.ts';
import { keyFolderBeside } from '../ledger/key-folder.ts';
import { LedgerError } from '../ledger/ledger-error.ts';
import type { LogEnd } from '../ledger/shape.ts';
import { FolderHeld, FolderLock } from '../lock.ts';
import { CommandProblem } from '../problem.ts';
import { noteBackup } from '../serve/health/kept-notes.ts';
import { SystemClock } from '../system-clock.ts';
import { readTextFile } from '../text-file.ts';
import { answered, type Answer } from './answer.ts';

interface BackupOptions {
  out: string;
  data: string;
  keys?: string;
  withKeys?: boolean;
}

interface RestoreOptions {
  data: string;
  keys?: string;
  seen?: string;
  try?: boolean;
  in: string;
}

const wall = { originMs: 0, wallOriginMs: 0, rate: 1 };

export function registerBackup(program: Command): void {
  program
    .command('backup')
    .description('copy the data of a collector, also while it runs, and read the copy whole')
    .requiredOption('--out <folder>', 'made; must not be there yet')
    .option('--data <folder>', 'of the collector', 'data')
    .option('--with-keys', 'take the private keys along; whoever has them can sign')
    .option('--keys <folder>', 'of its keys; beside the data by default')
    .action(answered(backup));
  program
    .command('restore')
    .description('put a backup where no data is; its log begins its next life there')
    .argument('<backup>', 'the folder of a backup')
    .option('--data <folder>', 'where it is put', 'data')
    .option('--keys <folder>', 'where the new key lies; beside the data by default')
    .option('--seen <checkpoint>', 'the newest checkpoint that was seen outside')
    .option('--try', 'put it back beside the data, read it whole, note that and let it go')
    .option('--in <folder>', 'where a trial has room', tmpdir())
    .action(answered(restore));
}

async function backup(options: BackupOptions): Promise<Answer> {
  const data = resolve(options.data);
  const out = resolve(options.out);
  const keys = options.withKeys === true ? (options.keys ?? keyFolderBeside(data)) : null;
  const manifest = await told(() => makeBackup(data, out, keys, new Date().toISOString()));
  noteBackup(data, { madeMs: Date.parse(manifest.madeAt) });
  const { log, size, batches } = manifest;
  const whole = `${String(size)} entries of ${log}, ${String(batches)} batches of readings`;
  const left = keys === null ? 'without keys' : 'WITH KEYS: whoever has it can sign';
  return { document: { folder: out, ...manifest }, text: `${out}: ${whole}, read whole; ${left}` };
}

async function restore(from: string, options: RestoreOptions): Promise<Answer> {
  if (options.try === true) return tryRestore(from, options);
  const data = resolve(options.data);
  const keys = resolve(options.keys ?? keyFolderBeside(data));
  const seen = options.seen === undefined ? null : seenIn(options.seen);
  return told(async () => {
    const lock = new FolderLock(data);
    try {
      const clock = new SystemClock(wall);
      const restored = await restoreBackup(resolve(from), data, keys, seen, clock);
      const { manifest, log, lost } = restored;
      noteBackup(data, { madeMs: Date.parse(manifest.madeAt), triedMs: clock.nowMs() });
      const gap =
        lost === null
          ? 'how far the earlier life was seen outside is not known: bring its newest checkpoint by --seen'
          : `${String(lost)} entries of the earlier life are lost here`;
      const text = `${data}: goes on as ${log} after entry ${String(manifest.size - 1)} of ${manifest.log}; ${gap}`;
      return { document: { data, log, from: manifest.log, size: manifest.size, lost }, text };
    } finally {
      lock.release();
    }
  });
}

/** Everything a real one does, in a place of its own and with a key of its own that goes with it. */
async function tryRestore(from: string, options: RestoreOptions): Promise<Answer> {
  const data = resolve(options.data);
  const place = mkdtempSync(join(resolve(options.in), 'setwell-trial-'));
  try {
    return await told(async () => {
      const clock = new SystemClock(wall);
      const [there, keys] = [join(place, 'data'), join(place, 'keys')];
      const { manifest } = await restoreBackup(resolve(from), there, keys, null, clock);
      noteBackup(data, { triedMs: clock.nowMs() });
      const { log, size, batches, madeAt } = manifest;
      const whole = `${String(size)} entries of ${log} and ${String(batches)} batches of readings`;
      const text = `${resolve(from)}: put back on trial and read whole, ${whole}, as of ${madeAt}; noted in ${data}`;
      return { document: { tried: true, log, size, batches, madeAt }, text };
    });
  } finally {
    rmSync(place, { recursive: true });
  }
}

function seenIn(file: string): LogEnd {
  const signed = signedCheckpoint(readTextFile(file, 'a signed checkpoint', 4096));
  if (!signed) {
    const expected = 'a signed checkpoint';
    throw new CommandProblem({ code: 'bad-input', file, found: 'something else', expected });
  }
  const { size, root } = signed.checkpoint;
  return { size, root: Buffer.from(root, 'base64').toString('hex') };
}

/** Runs it; what is wrong with files and folders is told as what it means to whoever typed the command. */
async function told<T>(run: () => Promise<T>): Promise<T> {
  try {
    return await run();
  } catch (error) {
    if (error instanceof BackupError) {
      const { file, found, expected } = error;
      throw new CommandProblem({ code: 'bad-backup', file, found, expected });
    }
    if (error instanceof LedgerError) {
      const { code, message: found } = error;
      throw new CommandProblem({ code, found, expected: 'a ledger that is whole', exit: 3 });
    }
    if (error instanceof FolderHeld) {
      const expected = 'a folder that nobody uses';
      throw new CommandProblem({ code: 'running', found: error.message, expected, exit: 3 });
    }
    throw error;
  }
}
