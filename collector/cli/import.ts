import { existsSync } from 'node:fs';
import { userInfo } from 'node:os';
import { join, resolve } from 'node:path';
import {
  mostRowsAtOnce,
  type ImportAnswer,
  type ImportCounts,
  type ImportedRow,
} from '@setwell/shared-models/api/import';
import { wallClock } from '@setwell/shared-models/api/clock';
import type { Plant } from '@setwell/shared-models/plant/plant';
import { readPlant } from '@setwell/shared-models/plant/read-plant';
import type { Command } from 'commander';
import { Importer } from '../intake/importer.ts';
import { Intake } from '../intake/intake.ts';
import { JournalError, openJournal, openJournalReader } from '../journal/journal.ts';
import { FolderLock, holderOf } from '../lock.ts';
import { CommandProblem } from '../problem.ts';
import { SystemClock } from '../system-clock.ts';
import { answered, type Answer } from './answer.ts';
import { readLoggerFile, type LoggerCell } from './logger-file.ts';
import { readOwnFile } from './own-file.ts';
import { askCollector } from './running-collector.ts';

interface ImportOptions {
  plant: string;
  data: string;
  by: string;
  map: ReadonlyMap<string, string>;
}

/** Refused rows that are named; a file of the wrong kind has them all. */
const mostNamed = 100;
/** A running collector stores a request in milliseconds; one that is asked so long is stuck. */
const askWithinMs = 60_000;
/** Progress is told so often [ms]. */
const tellEveryMs = 500;

/** Where readings go: the collector that runs, or its journal while none does. */
interface Door {
  readings(rows: ImportedRow[]): ImportAnswer | Promise<ImportAnswer>;
  rejects(): ImportCounts | Promise<ImportCounts>;
  close(): void;
}

export function registerImport(program: Command): void {
  const command = program
    .command('import')
    .description('bring in what no broker brings, by the same way and with your name');
  const withPlace = (into: Command) =>
    into
      .requiredOption('--plant <file>', 'plant.yaml, which names the points')
      .option('--data <folder>', 'of the collector', 'data')
      .option('--by <name>', 'who brings it in', userInfo().username);
  withPlace(command.command('readings'))
    .description("a logger's CSV; twice does no harm, and a broken-off one is just run again")
    .argument('<file>', 'CSV: time and a column a point, or time, point, value')
    .option('--map <heading=point>', 'a heading that is no point’s name; again for each', mapped)
    .action(answered(importReadings));
  withPlace(command.command('rejects'))
    .description('messages that were set aside and can be read now, as of when they came')
    .action(answered(importRejects));
}

function mapped(text: string, before = new Map<string, string>()): Map<string, string> {
  const place = text.lastIndexOf('=');
  if (place > 0 && place < text.length - 1) {
    return new Map(before).set(text.slice(0, place), text.slice(place + 1));
  }
  const expected = 'HEADING=POINT, such as --map "Channel 1=p1-ul"';
  throw new CommandProblem({ code: 'bad-option', field: '--map', found: text, expected });
}

export async function importReadings(file: string, options: ImportOptions): Promise<Answer> {
  const plant = plantOf(options.plant);
  const points = new Set(plant.sensors.keys());
  const counts: ImportCounts = { taken: 0, duplicate: 0, conflict: 0, refused: 0 };
  const refusals: Refusal[] = [];
  const refuse = (refusal: Refusal) => {
    counts.refused += 1;
    if (refusals.length < mostNamed) refusals.push(refusal);
  };
  const tell = progress();
  const lines = readLoggerFile(file, options.map ?? new Map(), points);
  const door = doorOf(plant, options);
  try {
    let waiting: Extract<LoggerCell, { row: ImportedRow }>[] = [];
    const send = async () => {
      const sent = waiting;
      waiting = [];
      const answer = await door.readings(sent.map(({ row }) => row));
      counts.taken += answer.taken;
      counts.duplicate += answer.duplicate;
      counts.conflict += answer.conflict;
      for (const { index, ...refusal } of answer.refusals) {
        refuse({ line: sent[index]?.line ?? 0, ...refusal });
      }
    };
    for await (const { cells, share } of lines) {
      for (const cell of cells) {
        if (!('row' in cell)) refuse(cell);
        else if (waiting.push(cell) === mostRowsAtOnce) await send();
      }
      tell(share, counts);
    }
    if (waiting.length > 0) await send();
  } finally {
    door.close();
  }
  return answerOf(file, counts, refusals);
}

export async function importRejects(options: ImportOptions): Promise<Answer> {
  const door = doorOf(plantOf(options.plant), options);
  try {
    const counts = await door.rejects();
    return { ...answerOf('rejects', counts, []), exit: 0 };
  } finally {
    door.close();
  }
}

interface Refusal {
  line: number;
  field: string;
  code: string;
  found: string;
  expected: string;
}

function answerOf(file: string, counts: ImportCounts, refusals: Refusal[]): Answer {
  const { taken, duplicate, conflict, refused } = counts;
  const named = refusals.map(
    ({ line, field, found, expected }) =>
      `${file}, line ${line}, ${field}: found ${found}; expected ${expected}`,
  );
  const more = refused - refusals.length;
  const summary = `${taken} taken, ${duplicate} there already, ${conflict} in conflict, ${refused} refused`;
  return {
    document: { ...counts, refusals },
    text: [...named, ...(more > 0 && named.length > 0 ? [`… and ${more} more`] : []), summary].join(
      '\n',
    ),
    exit: refused > 0 ? 1 : 0,
  };
}

function plantOf(file: string): Plant {
  return readOwnFile(file, readPlant, 'plant.yaml');
}

function doorOf(plant: Plant, { data, by }: ImportOptions): Door {
  const folder = resolve(data);
  const holder = holderOf(folder);
  if (holder?.url != null) return throughCollector(holder.url, folder, by);
  if (!existsSync(join(folder, 'journal.db'))) {
    const expected = 'the data folder of a collector; name it by --data';
    throw new CommandProblem({ code: 'no-such-file', file: folder, found: 'no journal', expected });
  }
  return intoJournal(plant, folder, by);
}

function throughCollector(url: string, folder: string, by: string): Door {
  const lost = (found: string) =>
    new CommandProblem({
      code: 'no-answer',
      file: folder,
      found,
      expected: `an answer of the collector at ${url}; run the same again, nothing is stored twice`,
      exit: 3,
    });
  const ask = async (path: string, body: object): Promise<unknown> => {
    const asked = { url, folder, path, body: { by, ...body }, withinMs: askWithinMs, lost };
    const answer = await askCollector(asked);
    if (answer.ok) return answer.json();
    throw lost(`status ${answer.status}: ${(await answer.text()).slice(0, 300)}`);
  };
  return {
    readings: async (readings) => (await ask('/import/readings', { readings })) as ImportAnswer,
    rejects: async () => (await ask('/import/rejects', {})) as ImportCounts,
    close: () => {},
  };
}

/** While no collector runs the command is the one writer; the judge reads on from there at the next start. */
function intoJournal(plant: Plant, folder: string, by: string): Door {
  const path = join(folder, 'journal.db');
  const lock = new FolderLock(folder);
  const clock = new SystemClock(wallClock);
  const journal = openJournal(path);
  const reader = openJournalReader(path);
  const intake = new Intake({ plant, journal, clock });
  const importer = new Importer(intake, { plant, journal, reader, clock });
  const stored = <T>(store: () => T): T => {
    try {
      return store();
    } catch (error) {
      if (!(error instanceof JournalError)) throw error;
      const expected = 'a disk that takes it; run the same again, nothing is stored twice';
      const found = error.message;
      throw new CommandProblem({ code: error.code, file: folder, found, expected, exit: 3 });
    }
  };
  return {
    readings: (rows) => stored(() => importer.readings(by, rows)),
    rejects: () => stored(() => importer.rejects(by)),
    close: () => {
      reader.close();
      journal.close();
      lock.release();
    },
  };
}

/** On a terminal, on the stream that is no answer. */
function progress(): (share: number, counts: ImportCounts) => void {
  if (!process.stderr.isTTY) return () => {};
  let toldMs = -Infinity;
  return (share, { taken, duplicate, refused }) => {
    const nowMs = performance.now();
    if (nowMs - toldMs < tellEveryMs && share < 1) return;
    toldMs = nowMs;
    const percent = String(Math.floor(share * 100)).padStart(3);
    process.stderr.write(
      `\r${percent} %  ${taken} taken, ${duplicate} there already, ${refused} refused${share < 1 ? '' : '\n'}`,
    );
  };
}
