import { readFileSync, statSync } from 'node:fs';
import type { Command } from 'commander';
import { releasedModels } from '../verify/released-models.ts';
import { verifyBundle, type Verification } from '../verify/verify-bundle.ts';
import { answered, type Answer } from './answer.ts';
import { CommandProblem, problemOfFile } from './problem.ts';
import { readTextFile } from './text-file.ts';

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
    .argument('<bundle>', 'the zip of an export')
    .option('--key <file>', 'the verifier key as you have it from outside; one line')
    .option('--since <checkpoint>', 'an older checkpoint that you hold')
    .action(answered(verifyFile));
}

async function verifyFile(file: string, options: VerifyOptions): Promise<Answer> {
  const zip = readBundleFile(file);
  const text = (path: string | undefined, what: string) =>
    path === undefined ? null : readTextFile(path, what, mostNoteBytes);
  const brought = {
    key: text(options.key, 'a verifier key')?.trim() ?? null,
    since: text(options.since, 'a signed checkpoint'),
    nowMs: Date.now(),
  };
  const verification = await verifyBundle(zip, brought, releasedModels());
  const exit = verification.findings.length > 0 ? 1 : 0;
  return { document: verification, text: wordsOf(verification), exit };
}

function readBundleFile(file: string): Buffer {
  const expected = 'a bundle: the zip of setwell export lot';
  try {
    const { size } = statSync(file);
    if (size > mostBytes) {
      const found = `${String(size)} bytes`;
      const most = `at most ${String(mostBytes)} bytes`;
      throw new CommandProblem({ code: 'too-large', file, found, expected: most });
    }
    return readFileSync(file);
  } catch (error) {
    throw error instanceof CommandProblem ? error : problemOfFile(file, error, expected);
  }
}

function wordsOf(verification: Verification): string {
  const { lot, verdict, checkpoint, key, loads, findings, proven, demo } = verification;
  const yes = (value: boolean) => (value ? 'yes' : 'NO');
  const lines = [
    `lot ${lot ?? 'unreadable'}${demo ? '   DEMO: this plant is invented' : ''}`,
    `  authentic   ${yes(verification.authentic)}`,
    `  complete    ${yes(verification.complete)}`,
    `  recomputed  ${yes(verification.recomputed)}   ${String(loads.filter(({ recomputed }) => recomputed).length)} of ${String(loads.length)} accounts came out to the byte`,
    `  verdict     ${verdict ?? 'none'}`,
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
  return [...lines, ...proven].join('\n');
}
