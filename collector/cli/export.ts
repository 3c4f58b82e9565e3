import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { canonicalJson } from '@setwell/shared-models/record/canonical';
import type { Entry } from '@setwell/shared-models/record/entry';
import type { LotFile } from '@setwell/shared-models/record/lot-file';
import { readPlant } from '@setwell/shared-models/plant/read-plant';
import type { PlantRevised } from '@setwell/shared-models/record/bodies';
import { Option, type Command } from 'commander';
import { lotCsv } from '../export/lot-csv.ts';
import { recordedLot } from '../export/recorded-lot.ts';
import { LedgerError } from '../ledger/ledger.ts';
import { openLedgerReader, type LedgerReader } from '../ledger/reader.ts';
import { holderOf } from '../lock.ts';
import { LotIndex } from '../serve/lot-index.ts';
import { answered, type Answer } from './answer.ts';
import { CommandProblem } from './problem.ts';

type As = 'json' | 'csv';

interface ExportOptions {
  out: string;
  as: As;
  data: string;
}

/** A running collector answers at once, or is stuck. */
const askWithinMs = 30_000;

export function registerExport(program: Command): void {
  program
    .command('export')
    .description('write everything that is recorded of a lot')
    .command('lot')
    .description('one file: lot.json, or lot.csv')
    .argument('<id>', 'the lot')
    .requiredOption('--out <folder>', 'where the file is written')
    .addOption(new Option('--as <kind>', 'kind of file').choices(['json', 'csv']).default('json'))
    .option('--data <folder>', 'of the collector', 'data')
    .action(answered(exportLot));
}

/** Asks the collector that runs on the data, else opens its ledger to read. */
export async function exportLot(lot: string, options: ExportOptions): Promise<Answer> {
  const data = resolve(options.data);
  const holder = holderOf(data);
  const bytes =
    holder?.url === undefined || holder.url === null
      ? fromFiles(lot, options.as, data)
      : await fromCollector(lot, options.as, data, holder.url);
  const folder = resolve(options.out);
  mkdirSync(folder, { recursive: true });
  const file = join(folder, `lot.${options.as}`);
  writeFileSync(file, bytes);
  const sha256 = createHash('sha256').update(bytes).digest('hex');
  return {
    document: { lot, files: [{ file, bytes: bytes.length, sha256 }] },
    text: `${file}  ${String(bytes.length)} bytes  sha256 ${sha256}`,
  };
}

async function fromCollector(lot: string, as: As, data: string, url: string): Promise<Buffer> {
  const token = readFileSync(join(data, 'token'), 'utf8').trim();
  const answer = await fetch(`${url}/records/${encodeURIComponent(lot)}?as=${as}`, {
    headers: { authorization: `Bearer ${token}` },
    signal: AbortSignal.timeout(askWithinMs),
  }).catch((error: unknown) => {
    const found = error instanceof Error ? error.message : String(error);
    const expected = `an answer of the collector at ${url}`;
    throw new CommandProblem({ code: 'no-answer', file: data, found, expected, exit: 3 });
  });
  if (answer.status === 404) throw noSuchLot(lot, data);
  if (!answer.ok) {
    const found = `status ${String(answer.status)}`;
    throw new CommandProblem({ code: 'refused', file: data, found, expected: 'the lot', exit: 3 });
  }
  return Buffer.from(await answer.arrayBuffer());
}

function fromFiles(lot: string, as: As, data: string): Buffer {
  const path = join(data, 'ledger.db');
  if (!existsSync(path)) {
    const expected = 'the data folder of a collector; name it by --data';
    throw new CommandProblem({ code: 'no-such-file', file: path, found: 'no such file', expected });
  }
  let ledger: LedgerReader;
  try {
    ledger = openLedgerReader(path);
  } catch (error) {
    if (!(error instanceof LedgerError)) throw error;
    const expected = 'a ledger of this version, whole';
    throw new CommandProblem({
      code: error.code,
      file: path,
      found: error.message,
      expected,
      exit: 3,
    });
  }
  try {
    const file = lotOf(ledger, lot);
    if (!file) throw noSuchLot(lot, data);
    return Buffer.from(as === 'csv' ? lotCsv(file) : canonicalJson(file));
  } finally {
    ledger.close();
  }
}

function lotOf(ledger: LedgerReader, lot: string): LotFile | null {
  const index = new LotIndex();
  let plantSha256 = '';
  const slice = 1000;
  for (let after = -1; ;) {
    const stored = ledger.entriesAfter(after, slice);
    for (const { bytes } of stored) {
      const entry = JSON.parse(bytes.toString('utf8')) as Entry;
      index.take(entry);
      if (entry.kind === 'plant-revised') plantSha256 = (entry.body as PlantRevised).sha256;
    }
    if (stored.length < slice) break;
    after = stored.at(-1)?.n ?? after;
  }
  const text = ledger.blob(plantSha256)?.toString('utf8') ?? '';
  const plant = readPlant(text, 'plant.yaml');
  return plant.ok ? recordedLot(ledger, index, lot, plant.value.site) : null;
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
