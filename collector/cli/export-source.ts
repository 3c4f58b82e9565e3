import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { readPlant } from '@setwell/shared-models/plant/read-plant';
import type { PlantRevised } from '@setwell/shared-models/record/bodies';
import { SinceRefused } from '../export/lot-bundle.ts';
import type { ExportSource } from '../export/lot-export.ts';
import { KeyFolder } from '../ledger/key-folder.ts';
import { LedgerError, openLedger } from '../ledger/ledger.ts';
import { openLedgerIndex, type LedgerIndex } from '../ledger/ledger-index.ts';
import { openLedgerReader } from '../ledger/reader.ts';
import type { Ledger } from '../ledger/shape.ts';
import { FolderHeld, FolderLock } from '../lock.ts';
import { CommandProblem } from '../problem.ts';
import { SystemClock } from '../system-clock.ts';
import { ModelPool } from '../verify/model-pool.ts';

/**
 * What an export may use of the files of a collector that does not run, and its ledger to add the export's
 * own entry: no other process has it meanwhile.
 *
 * @throws CommandProblem
 */
export async function withExportSource<T>(
  data: string,
  keys: string,
  use: (source: ExportSource) => Promise<T>,
): Promise<T> {
  const path = join(data, 'ledger.db');
  if (!existsSync(path)) {
    const expected = 'the data folder of a collector; name it by --data';
    throw new CommandProblem({ code: 'no-such-file', file: path, found: 'no such file', expected });
  }
  const pool = new ModelPool();
  try {
    return await withLedger(path, data, keys, (ledger) => {
      const lots = openLedgerIndex(join(data, 'ledger-index.db'), ledger);
      const site = siteOf(ledger, lots, path);
      const append: ExportSource['append'] = (proposals) => {
        const entries = ledger.append(proposals);
        lots.hear(entries);
        return entries;
      };
      const source = { ledger, lots, site, append, nowMs: () => Date.now(), pool };
      return use(source).finally(() => lots.close());
    });
  } finally {
    await pool.end();
  }
}

async function withLedger<T>(
  path: string,
  data: string,
  keys: string,
  use: (ledger: Ledger) => Promise<T>,
): Promise<T> {
  try {
    const lock = new FolderLock(data);
    try {
      const reader = openLedgerReader(path);
      const { log } = reader;
      reader.close();
      const wall = new SystemClock({ originMs: 0, wallOriginMs: 0, rate: 1 });
      const ledger = openLedger(path, log, wall, new KeyFolder(keys));
      try {
        return await use(ledger);
      } finally {
        ledger.close();
      }
    } finally {
      lock.release();
    }
  } catch (error) {
    throw problemOf(error, path);
  }
}

function problemOf(error: unknown, path: string): unknown {
  if (error instanceof SinceRefused) {
    const { found, expected } = error;
    return new CommandProblem({ code: 'bad-input', field: '--since', found, expected });
  }
  if (error instanceof FolderHeld) {
    const expected = 'a data folder that nobody uses, or a collector that answers';
    const found = error.message;
    return new CommandProblem({ code: 'running', file: path, found, expected, exit: 3 });
  }
  if (error instanceof LedgerError) {
    const { code, message: found } = error;
    const expected = 'a ledger of this version, whole';
    return new CommandProblem({ code, file: path, found, expected, exit: 3 });
  }
  return error;
}

/** The plant as it was named last. */
function siteOf(ledger: Ledger, lots: LedgerIndex, path: string): ExportSource['site'] {
  const named = lots.foundation().flatMap((n) => ledger.entry(n) ?? []);
  const last = named.filter(({ kind }) => kind === 'plant-revised').at(-1);
  const { sha256 } = (last?.body ?? { sha256: '' }) as PlantRevised;
  const text = ledger.blob(sha256)?.toString('utf8') ?? '';
  const plant = readPlant(text, 'plant.yaml');
  if (plant.ok) return plant.value.site;
  const expected = 'a ledger that names its plant file';
  throw new CommandProblem({ code: 'no-plant', file: path, found: 'none', expected, exit: 3 });
}
