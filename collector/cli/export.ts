import { createHash } from 'node:crypto';
import { closeSync, existsSync, mkdirSync, openSync, readFileSync, writeSync } from 'node:fs';
import { join, resolve } from 'node:path';
import type { Entry } from '@setwell/shared-models/record/entry';
import { readPlant } from '@setwell/shared-models/plant/read-plant';
import type { PlantRevised } from '@setwell/shared-models/record/bodies';
import { Option, type Command } from 'commander';
import { SinceRefused } from '../export/lot-bundle.ts';
import { exportKinds, exportLot, exportName } from '../export/lot-export.ts';
import type { ExportKind, ExportSource, LotExport } from '../export/lot-export.ts';
import { KeyFolder, keyFolderBeside } from '../ledger/key-folder.ts';
import { LedgerError, openLedger } from '../ledger/ledger.ts';
import { openLedgerReader } from '../ledger/reader.ts';
import type { Ledger } from '../ledger/shape.ts';
import { FolderHeld, FolderLock, holderOf } from '../lock.ts';
import { LotIndex } from '../serve/lot-index.ts';
import { SystemClock } from '../system-clock.ts';
import { answered, type Answer } from './answer.ts';
import { CommandProblem } from './problem.ts';
import { readTextFile } from './text-file.ts';

interface ExportOptions {
  out: string;
  as: ExportKind;
  since?: string;
  by: string;
  language: 'en' | 'de';
  data: string;
  keys?: string;
}

interface Wanted {
  lot: string;
  as: ExportKind;
  by: string;
  /** A signed checkpoint, as text. */
  since: string | null;
  language: 'en' | 'de';
}

/** A running collector answers at once, or is stuck. */
const askWithinMs = 60_000;

export function registerExport(program: Command): void {
  program
    .command('export')
    .description('write everything that is recorded of a lot')
    .command('lot')
    .description('one file: a bundle that can be verified, lot.json, lot.csv, or record.pdf')
    .argument('<id>', 'the lot')
    .requiredOption('--out <folder>', 'where the file is written')
    .addOption(new Option('--as <kind>', 'kind of file').choices(exportKinds).default('bundle'))
    .option('--since <checkpoint>', 'bundle: a file with an older checkpoint that it shall tie to')
    .addOption(
      new Option('--language <code>', 'csv: whose spreadsheets open it; de has decimal commas')
        .choices(['en', 'de'])
        .default('en'),
    )
    .option('--by <person>', 'who takes it; it is recorded', 'plant')
    .option('--data <folder>', 'of the collector', 'data')
    .option('--keys <folder>', 'of its keys; beside the data by default')
    .action(answered(exportFile));
}

/** Asks the collector that runs on the data, else opens its ledger. */
export async function exportFile(lot: string, options: ExportOptions): Promise<Answer> {
  const data = resolve(options.data);
  const holder = holderOf(data);
  const { as, by, language } = options;
  const since =
    options.since === undefined ? null : readTextFile(options.since, 'a signed checkpoint', 4096);
  const wanted: Wanted = { lot, as, by, since, language };
  const written = (file: LotExport) => write(resolve(options.out), lot, file);
  if (holder?.url) return written(await fromCollector(wanted, data, holder.url));
  return fromFiles(wanted, data, options.keys ?? keyFolderBeside(data), written);
}

function write(folder: string, lot: string, { name, pieces }: LotExport): Answer {
  mkdirSync(folder, { recursive: true });
  const file = join(folder, name);
  const hash = createHash('sha256');
  let bytes = 0;
  const descriptor = openSync(file, 'w');
  try {
    for (const piece of pieces) {
      hash.update(piece);
      for (let at = 0; at < piece.length;) at += writeSync(descriptor, piece, at);
      bytes += piece.length;
    }
  } finally {
    closeSync(descriptor);
  }
  const sha256 = hash.digest('hex');
  return {
    document: { lot, files: [{ file, bytes, sha256 }] },
    text: `${file}  ${String(bytes)} bytes  sha256 ${sha256}`,
  };
}

async function fromCollector(wanted: Wanted, data: string, url: string): Promise<LotExport> {
  const token = readFileSync(join(data, 'token'), 'utf8').trim();
  const { lot, ...body } = wanted;
  const answer = await fetch(`${url}/records/${encodeURIComponent(lot)}/export`, {
    method: 'POST',
    headers: { authorization: `Bearer ${token}`, 'content-type': 'application/json' },
    body: JSON.stringify(body),
    signal: AbortSignal.timeout(askWithinMs),
  }).catch((error: unknown) => {
    const found = error instanceof Error ? error.message : String(error);
    const expected = `an answer of the collector at ${url}`;
    throw new CommandProblem({ code: 'no-answer', file: data, found, expected, exit: 3 });
  });
  if (answer.status === 404) throw noSuchLot(lot, data);
  if (answer.status === 422) {
    const refusal = (await answer.json()) as { field: string; found: string; expected: string };
    throw new CommandProblem({ code: 'bad-input', ...refusal });
  }
  if (!answer.ok) {
    const found = `status ${String(answer.status)}`;
    throw new CommandProblem({ code: 'refused', file: data, found, expected: 'the lot', exit: 3 });
  }
  const type = answer.headers.get('content-type') ?? '';
  return {
    name: exportName(lot, wanted.as),
    type,
    pieces: [Buffer.from(await answer.arrayBuffer())],
  };
}

async function fromFiles(
  wanted: Wanted,
  data: string,
  keys: string,
  written: (file: LotExport) => Answer,
): Promise<Answer> {
  const path = join(data, 'ledger.db');
  if (!existsSync(path)) {
    const expected = 'the data folder of a collector; name it by --data';
    throw new CommandProblem({ code: 'no-such-file', file: path, found: 'no such file', expected });
  }
  return withLedger(path, data, keys, async (ledger) => {
    const { lots, site } = history(ledger, path);
    const source: ExportSource = {
      ...{ ledger, lots, site, nowMs: () => Date.now() },
      append: (proposals) => ledger.append(proposals),
    };
    const file = await exportLot(source, wanted);
    if (!file) throw noSuchLot(wanted.lot, data);
    return written(file);
  });
}

/** The ledger, to add the export's own entry: no other process has it meanwhile. */
async function withLedger(
  path: string,
  data: string,
  keys: string,
  use: (ledger: Ledger) => Promise<Answer>,
): Promise<Answer> {
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

/** What the ledger tells of lots, and of the plant as it was named last. */
function history(ledger: Ledger, path: string) {
  const lots = new LotIndex();
  let plantSha256 = '';
  const slice = 1000;
  for (let after = -1; ;) {
    const stored = ledger.entriesAfter(after, slice);
    for (const { bytes } of stored) {
      const entry = JSON.parse(bytes.toString('utf8')) as Entry;
      lots.take(entry);
      if (entry.kind === 'plant-revised') plantSha256 = (entry.body as PlantRevised).sha256;
    }
    if (stored.length < slice) break;
    after = stored.at(-1)?.n ?? after;
  }
  const text = ledger.blob(plantSha256)?.toString('utf8') ?? '';
  const plant = readPlant(text, 'plant.yaml');
  if (!plant.ok) {
    const expected = 'a ledger that names its plant file';
    throw new CommandProblem({ code: 'no-plant', file: path, found: 'none', expected, exit: 3 });
  }
  return { lots, site: plant.value.site };
}

function noSuchLot(lot: string, data: string): CommandProblem {
  const expected = 'a lot with at least one load';
  return new CommandProblem({
    code: 'no-such-lot',
    file: data,
    field: 'lot',
    found: lot,
    expected,
  });
}
