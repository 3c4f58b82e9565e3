import { readFileSync, statSync } from 'node:fs';
import type { Command } from 'commander';
import { droppedWords, holdWords } from '../export/retention-words.ts';
import { CommandProblem, problemOfFile } from '../problem.ts';
import { readTextFile } from '../text-file.ts';
import { plainLine } from '../verify/finding.ts';
import { releasedModels } from '../verify/released-models.ts';
import { StoredFile } from '../verify/stored-file.ts';
import { timeText, verifyBundle, type Verification } from '../verify/verify-bundle.ts';
import { verifyPeriod, type PeriodVerification } from '../verify/verify-period.ts';
import { answered, type Answer } from './answer.ts';

interface VerifyOptions {
  key?: string;
  since?: string;
}

/** A lot of a hundred loads is some 20 MB; a hundred times that is no lot. */
const mostBytes = 2 * 1024 ** 3 - 1;
const mostNoteBytes = 4096;

export function registerVerify(program: Command): void {
  program
    .command('verify')
    .description('check a bundle: authentic, complete, computed again; needs no data of the plant')
    .argument('<bundle>', 'the zip of an export: of a lot, or of a period')
    .option('--key <file>', 'the verifier key as you have it from outside; one line')
    .option(
      '--since <checkpoint>',
      'an older checkpoint that you hold: the note, or as a sheet prints it',
    )
    .action(answered(verifyFile));
}

async function verifyFile(file: string, options: VerifyOptions): Promise<Answer> {
  const text = (path: string | undefined, what: string) =>
    path === undefined ? null : readTextFile(path, what, mostNoteBytes);
  const size = sizeOf(file);
  const brought = {
    key: text(options.key, 'a verifier key')?.trim() ?? null,
    since: text(options.since, 'a checkpoint'),
    nowMs: Date.now(),
  };
  const stored = new StoredFile(file, size);
  try {
    if (stored.has('period.json')) {
      const verification = await verifyPeriod(stored, brought, releasedModels());
      return answer(verification, periodWords(verification));
    }
  } finally {
    stored.close();
  }
  const verification = await verifyBundle(readBundleFile(file, size), brought, releasedModels());
  return answer(verification, wordsOf(verification));
}

function answer(verification: Verification | PeriodVerification, text: string): Answer {
  const exit = verification.findings.length > 0 ? 1 : 0;
  return { document: verification, text, exit };
}

const expected = 'a bundle: the zip of setwell export';

/** @throws CommandProblem for what is no file that can be read */
function sizeOf(file: string): number {
  try {
    const found = statSync(file);
    if (found.isFile()) return found.size;
  } catch (error) {
    throw problemOfFile(file, error, expected);
  }
  throw new CommandProblem({ code: 'no-file', file, found: 'a folder or a device', expected });
}

function readBundleFile(file: string, size: number): Buffer {
  if (size > mostBytes) {
    const found = `${String(size)} bytes`;
    const most = `at most ${String(mostBytes)} bytes`;
    throw new CommandProblem({ code: 'too-large', file, found, expected: most });
  }
  try {
    return readFileSync(file);
  } catch (error) {
    throw problemOfFile(file, error, expected);
  }
}

function wordsOf(verification: Verification): string {
  const { lot, loads, demo } = verification;
  const count = loads.filter(({ recomputed }) => recomputed).length;
  const unjudged = loads.filter((load) => load.unjudged !== null).length;
  const recomputed =
    `${String(count)} of ${String(loads.length)} accounts came out to the byte` +
    (unjudged === 0 ? '' : `, ${String(unjudged)} no model has judged`);
  const title = `lot ${lot ?? 'unreadable'}${demoMark(demo)}`;
  return toldOf(title, recomputed, keptLines(verification, ''), verification);
}

function periodWords(verification: PeriodVerification): string {
  const { period, lots, demo } = verification;
  const [from = '', to = ''] = period
    ? [period.fromMs, period.toMs].map((ms) => timeText(ms) ?? 'no time')
    : ['unreadable'];
  const accounts = lots.reduce((sum, lot) => sum + lot.accounts, 0);
  const counted = `${String(lots.length)} lots, ${String(accounts)} accounts`;
  const kept = lots.flatMap((lot) => keptLines(lot, `lot ${lot.lot ?? lot.bundle}: `));
  const title = `period ${from} to before ${to}${demoMark(demo)}`;
  return toldOf(title, counted, kept, verification);
}

function keptLines({ hold, dropped }: Pick<Verification, 'hold' | 'dropped'>, of: string) {
  return [
    ...(hold ? [`  held        ${of}${holdWords(hold)}`] : []),
    ...(dropped ? [`  deleted     ${of}${droppedWords(dropped)}`] : []),
  ];
}

function demoMark(demo: boolean): string {
  return demo ? '   DEMO: this plant is invented' : '';
}

function toldOf(
  title: string,
  recomputed: string,
  kept: string[],
  verification: Verification | PeriodVerification,
): string {
  const { verdict, checkpoint, key, findings, proven } = verification;
  const yes = (value: boolean) => (value ? 'yes' : 'NO');
  const lines = [
    title,
    `  authentic   ${yes(verification.authentic)}`,
    `  complete    ${yes(verification.complete)}`,
    `  recomputed  ${yes(verification.recomputed)}   ${recomputed}`,
    `  verdict     ${verdict ?? 'none'}`,
    ...kept,
  ];
  if (checkpoint) {
    const { origin, size, root } = checkpoint;
    lines.push(`  checkpoint  ${origin}, ${String(size)} entries, root ${root}`);
  }
  if (key) {
    const from =
      key.from === 'brought'
        ? 'the one brought along'
        : 'the bundle’s own: compare it with the one on an older sheet, or bring one by --key';
    lines.push(`  key         ${key.text}`, `              ${from}`);
  }
  for (const { code, where, found, expected } of findings) {
    lines.push(`  finding     ${code}: ${where}: found ${found}; expected ${expected}`);
  }
  return [...lines, ...proven].map(plainLine).join('\n');
}
