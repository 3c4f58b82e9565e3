import { existsSync } from 'node:fs';
import { join, resolve } from 'node:path';
import type { Plant } from '@setwell/shared-models/plant/plant';
import { readPlant } from '@setwell/shared-models/plant/read-plant';
import type { Command } from 'commander';
import { brokerAddress } from '../intake/plant-bus.ts';
import { TopicMap } from '../intake/topic-map.ts';
import { checkChain } from '../journal/chain.ts';
import { spaceLimits, usedShare } from '../journal/free-space.ts';
import { JournalError } from '../journal/journal.ts';
import { LedgerError } from '../ledger/ledger.ts';
import { readWholeLedger } from '../ledger/whole-ledger.ts';
import { holderOf } from '../lock.ts';
import { CommandProblem } from '../problem.ts';
import { isSynchronised } from '../serve/health/time-source.ts';
import { answered, type Answer } from './answer.ts';
import { examineBroker } from './broker-examination.ts';
import { readOwnFile } from './own-file.ts';
import type { Symptom } from './symptom.ts';

interface DoctorOptions {
  plant: string;
  data: string;
}

/** Damaged batches that are named; a destroyed file has them everywhere. */
const mostNamed = 20;
const collectorName = 'c1';

export function registerDoctor(program: Command): void {
  program
    .command('doctor')
    .description(
      'ask the broker, the journal, the ledger and the machine whether all is as it must be',
    )
    .requiredOption('--plant <file>', 'plant.yaml, which names the broker')
    .option('--data <folder>', 'of the collector', 'data')
    .action(answered(examine));
}

/** @throws CommandProblem with exit 3 where something cannot be asked at all */
export async function examine({ plant: plantFile, data }: DoctorOptions): Promise<Answer> {
  const plant = readOwnFile(plantFile, readPlant, 'plant.yaml');
  const folder = resolve(data);
  const examined: [string, Symptom[]][] = [
    ['broker', await brokerSymptoms(plant, plantFile)],
    ['journal', journalSymptoms(folder)],
    ['ledger', ledgerSymptoms(folder)],
    ['machine', [...diskSymptoms(folder), ...(await clockSymptoms())]],
  ];
  const findings = examined.flatMap(([, symptoms]) => symptoms);
  const lines = examined.flatMap(([name, symptoms]) => [
    `${name.padEnd(8)} ${symptoms.length === 0 ? 'as it must be' : `${symptoms.length} found`}`,
    ...symptoms.map(
      ({ where, found, expected }) => `  ${where}: found ${found}; expected ${expected}`,
    ),
  ]);
  const notAsked = 'broker' in plant && 'url' in plant.broker ? [persistenceNote] : [];
  return {
    document: { findings, examined: examined.map(([name]) => name), notAsked },
    text: [...lines, ...notAsked.map((note) => `note     ${note}`)].join('\n'),
    exit: findings.length > 0 ? 1 : 0,
  };
}

/** No broker says over MQTT whether a restart of its own forgets. */
const persistenceNote =
  'whether the broker keeps its sessions over a restart cannot be asked: look for "persistence true" and "autosave_interval" in its configuration';

async function brokerSymptoms(plant: Plant, plantFile: string): Promise<Symptom[]> {
  if ('builtIn' in plant.broker) return [];
  const address = brokerAddress(plant.broker, plantFile);
  try {
    return await examineBroker(address, collectorName, new TopicMap(plant).filters);
  } catch (error) {
    throw new CommandProblem({
      code: 'no-broker',
      file: plantFile,
      field: 'broker.url',
      found: error instanceof Error ? error.message : String(error),
      expected: `a broker at ${plant.broker.url} that lets this collector in`,
      exit: 3,
    });
  }
}

/** A running collector goes on writing meanwhile; what is read here is what was committed. */
function journalSymptoms(folder: string): Symptom[] {
  const path = join(folder, 'journal.db');
  if (!existsSync(path)) throw noData(folder);
  try {
    const { faults } = checkChain(path, mostNamed);
    return faults.map(({ seq, what }) => ({
      code: 'journal-damaged',
      where: path,
      found: `batch ${seq} ${what}`,
      expected: 'what was committed; a backup has it, and so has the long history',
    }));
  } catch (error) {
    if (!(error instanceof JournalError)) throw error;
    const expected = 'a journal of this version';
    return [{ code: 'journal-unreadable', where: path, found: error.message, expected }];
  }
}

function ledgerSymptoms(folder: string): Symptom[] {
  const path = join(folder, 'ledger.db');
  if (!existsSync(path)) throw noData(folder);
  try {
    readWholeLedger(path);
    return [];
  } catch (error) {
    if (!(error instanceof LedgerError)) throw error;
    const expected = 'a ledger of this version, whole';
    return [{ code: 'ledger-damaged', where: path, found: error.message, expected }];
  }
}

function diskSymptoms(folder: string): Symptom[] {
  const used = usedShare(join(folder, 'journal.db'));
  if (used < spaceLimits.call) return [];
  const found = `a disk that is ${(used * 100).toFixed(0)} % full`;
  const expected = `less than ${spaceLimits.call * 100} %; at ${spaceLimits.drop * 100} % old readings are dropped, at ${spaceLimits.refuse * 100} % nothing is stored`;
  return [{ code: 'disk', where: folder, found, expected }];
}

async function clockSymptoms(): Promise<Symptom[]> {
  if ((await isSynchronised()) !== false) return [];
  const expected = 'a clock that follows a time server: readings are held against it';
  return [{ code: 'clock', where: 'this machine', found: 'no time server', expected }];
}

function noData(folder: string): CommandProblem {
  const running = holderOf(folder);
  return new CommandProblem({
    code: 'no-such-file',
    file: folder,
    found: running ? 'a collector that has not written yet' : 'no journal or no ledger',
    expected: 'the data folder of a collector; name it by --data',
    exit: 3,
  });
}
