import { createHash } from 'node:crypto';
import { mkdirSync, renameSync, rmSync } from 'node:fs';
import { open } from 'node:fs/promises';
import { join, resolve } from 'node:path';
import { text as textOf } from 'node:stream/consumers';
import { Option, type Command } from 'commander';
import { periodName } from '@setwell/shared-models/record/period';
import {
  retentionOf,
  usualLotFileYears,
  type LotRetention,
} from '@setwell/shared-models/record/retention';
import { exportKinds, exportLot, exportName, type ExportKind } from '../export/lot-export.ts';
import { exportPeriod } from '../export/period-bundle.ts';
import { printLanguages, type PrintLanguage } from '../export/print-words.ts';
import { droppedWords, holdWords } from '../export/retention-words.ts';
import { keyFolderBeside } from '../ledger/key-folder.ts';
import { holderOf } from '../lock.ts';
import { CommandProblem } from '../problem.ts';
import { readTextFile } from '../text-file.ts';
import { answered, type Answer } from './answer.ts';
import { dateOption } from './date-option.ts';
import { withExportSource } from './export-source.ts';
import { askCollector } from './running-collector.ts';

interface ExportedFrom {
  out: string;
  since?: string;
  by: string;
  data: string;
  keys?: string;
}

interface LotOptions extends ExportedFrom {
  as: ExportKind;
  language: PrintLanguage;
}

interface PeriodOptions extends ExportedFrom {
  /** Days since 1970-01-01, both of them whole. */
  from: number;
  to: number;
}

/** A file as it comes. */
interface Coming {
  name: string;
  pieces: Iterable<Buffer> | AsyncIterable<Uint8Array>;
}

const dayMs = 86_400_000;

export function registerExport(program: Command): void {
  const command = program
    .command('export')
    .description('write everything that is recorded of a lot, or of a period');
  const lot = command
    .command('lot')
    .description('one file: a bundle that can be verified, lot.json, lot.csv, or record.pdf')
    .argument('<id>', 'the lot')
    .addOption(new Option('--as <kind>', 'kind of file').choices(exportKinds).default('bundle'))
    .addOption(
      new Option('--language <code>', 'of record.pdf, and of whose spreadsheets open lot.csv')
        .choices(printLanguages)
        .default('en'),
    );
  exportedFrom(lot).action(answered(exportLotFile));
  const period = command
    .command('period')
    .description(
      'one file that can be verified: every entry of a period, a bundle of each of its lots',
    )
    .requiredOption('--from <date>', 'its first day, of UTC', dateOption('--from'))
    .requiredOption('--to <date>', 'its last day', dateOption('--to'));
  exportedFrom(period).action(answered(exportPeriodFile));
}

function exportedFrom(command: Command): Command {
  return command
    .requiredOption('--out <folder>', 'where the file is written')
    .option('--since <checkpoint>', 'bundle: a file with an older checkpoint that it shall tie to')
    .option('--by <person>', 'who takes it; it is recorded', 'plant')
    .option('--data <folder>', 'of the collector', 'data')
    .option('--keys <folder>', 'of its keys; beside the data by default');
}

/** Asks the collector that runs on the data, else opens its ledger. */
async function exportLotFile(lot: string, options: LotOptions): Promise<Answer> {
  const { as, by, language } = options;
  const wanted = { as, by, language, since: sinceIn(options) };
  const { data, url, keys, folder } = placesOf(options);
  const noSuchLot = () =>
    new CommandProblem({
      ...{ code: 'no-such-lot', file: data, field: 'lot', found: lot },
      expected: 'a lot with at least one load',
    });
  if (url !== null) {
    const of = { data, url, none: noSuchLot };
    const records = `/records/${encodeURIComponent(lot)}`;
    const asked = await fromCollector({ ...of, path: `${records}/retention`, wanted: null });
    const retention = JSON.parse(await textOf(asked)) as LotRetention;
    const pieces = await fromCollector({ ...of, path: `${records}/export`, wanted });
    const written = await write(folder, { name: exportName(lot, as), pieces });
    return toldOfLot(lot, written, retention);
  }
  return withExportSource(data, keys, async (source) => {
    const file = await exportLot(source, { lot, ...wanted });
    if (!file) throw noSuchLot();
    const { ledger, lots } = source;
    const entries = lots.entriesOf(lot).flatMap((n) => ledger.entry(n) ?? []);
    return toldOfLot(lot, await write(folder, file), retentionOf(entries, usualLotFileYears));
  });
}

async function exportPeriodFile(options: PeriodOptions): Promise<Answer> {
  const { from, to, by } = options;
  if (to < from) {
    const [found, expected] = ['a day before --from', 'the period’s last day'];
    throw new CommandProblem({ code: 'bad-input', field: '--to', found, expected });
  }
  const wanted = { fromMs: from * dayMs, toMs: (to + 1) * dayMs, by, since: sinceIn(options) };
  const { data, url, keys, folder } = placesOf(options);
  const nothing = () =>
    new CommandProblem({
      ...{ code: 'no-such-period', file: data, field: '--from', found: 'no entry in this period' },
      expected: 'a period in which something was recorded',
    });
  const period = { fromMs: wanted.fromMs, toMs: wanted.toMs };
  if (url !== null) {
    const path = '/records/period';
    const pieces = await fromCollector({ data, url, path, wanted, none: nothing });
    return told({ period }, await write(folder, { name: periodName(wanted), pieces }));
  }
  return withExportSource(data, keys, async (source) => {
    const pieces = await exportPeriod(source, wanted);
    if (!pieces) throw nothing();
    return told({ period }, await write(folder, { name: periodName(wanted), pieces }));
  });
}

function placesOf({ data: named, keys, out }: ExportedFrom) {
  const data = resolve(named);
  const url = holderOf(data)?.url ?? null;
  return { data, url, keys: keys ?? keyFolderBeside(data), folder: resolve(out) };
}

function sinceIn({ since }: ExportedFrom): string | null {
  return since === undefined ? null : readTextFile(since, 'a signed checkpoint', 4096);
}

interface Written {
  file: string;
  bytes: number;
  sha256: string;
}

/** Under its name only when it is whole. */
async function write(folder: string, { name, pieces }: Coming): Promise<Written> {
  mkdirSync(folder, { recursive: true });
  const file = join(folder, name);
  const part = `${file}.part`;
  const hash = createHash('sha256');
  let bytes = 0;
  const handle = await open(part, 'w');
  try {
    for await (const piece of pieces) {
      hash.update(piece);
      await handle.writeFile(piece);
      bytes += piece.length;
    }
    await handle.close();
    renameSync(part, file);
  } catch (error) {
    await handle.close();
    rmSync(part, { force: true });
    throw error;
  }
  return { file, bytes, sha256: hash.digest('hex') };
}

function told(of: object, written: Written): Answer {
  const { file, bytes, sha256 } = written;
  return {
    document: { ...of, files: [written] },
    text: `${file}  ${String(bytes)} bytes  sha256 ${sha256}`,
  };
}

/** What the file is, and what keeps the lot's documents or has deleted them. */
function toldOfLot(lot: string, written: Written, { hold, dropped }: LotRetention): Answer {
  const { document, text } = told({ lot, hold, dropped }, written);
  const words = [hold && holdWords(hold), dropped && droppedWords(dropped)];
  return { document, text: [text, ...words.filter((line) => line !== null)].join('\n') };
}

interface Asking {
  data: string;
  url: string;
  path: string;
  /** Null: it is read, and nothing goes out. */
  wanted: object | null;
  /** Where there is nothing to export. */
  none(): CommandProblem;
}

/** @throws CommandProblem where it refuses, or ends before the file does */
async function fromCollector(asking: Asking): Promise<AsyncIterable<Uint8Array>> {
  const { data, url, path, wanted, none } = asking;
  const lost = (found: string) => {
    const expected = `an answer of the collector at ${url}`;
    return new CommandProblem({ code: 'no-answer', file: data, found, expected, exit: 3 });
  };
  const answer = await askCollector({ url, folder: data, path, body: wanted, lost });
  if (answer.status === 404) throw none();
  if (answer.status === 422) {
    const refusal = (await answer.json()) as { field: string; found: string; expected: string };
    throw new CommandProblem({ code: 'bad-input', ...refusal });
  }
  if (!answer.ok || !answer.body) {
    const found = `status ${String(answer.status)}`;
    throw new CommandProblem({ code: 'refused', file: data, found, expected: 'a file', exit: 3 });
  }
  return untilLost(answer.body, lost);
}

async function* untilLost(
  pieces: AsyncIterable<Uint8Array>,
  lost: (found: string) => CommandProblem,
): AsyncGenerator<Uint8Array> {
  try {
    yield* pieces;
  } catch (error) {
    throw lost(error instanceof Error ? error.message : String(error));
  }
}
