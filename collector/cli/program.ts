import { nearestName } from '@setwell/shared-models/plant/nearest-name';
import { Command, CommanderError } from 'commander';
import { CommandProblem } from '../problem.ts';
import { exitOf } from './answer.ts';
import { registerBrokerUsers } from './broker-users.ts';
import { registerAdministrator } from './administrator.ts';
import { registerCertificate } from './certificate.ts';
import { registerBackup } from './backup.ts';
import { registerCheck } from './check.ts';
import { registerClosings } from './closings.ts';
import { registerCure } from './cure.ts';
import { registerDrift } from './drift.ts';
import { registerFit } from './fit.ts';
import { registerDoctor } from './doctor.ts';
import { registerHeat } from './heat.ts';
import { registerImpact } from './impact.ts';
import { registerImport } from './import.ts';
import { registerProvable } from './provable.ts';
import { registerScore } from './score.ts';
import { registerExport } from './export.ts';
import { registerSensor } from './sensor.ts';
import { registerStart } from './start.ts';
import { registerSurvey } from './survey.ts';
import { registerVerify } from './verify.ts';

/** Every command is a file of its own beside this one. */
const commands: ((program: Command) => void)[] = [
  registerBackup,
  registerBrokerUsers,
  registerCertificate,
  registerAdministrator,
  registerCheck,
  registerClosings,
  registerCure,
  registerDoctor,
  registerDrift,
  registerExport,
  registerFit,
  registerHeat,
  registerImpact,
  registerImport,
  registerProvable,
  registerScore,
  registerSensor,
  registerStart,
  registerSurvey,
  registerVerify,
];

export interface Output {
  out(words: string): void;
  err(words: string): void;
}

/**
 * Runs one command line and prints what it answers.
 *
 * @param words the command line without the program's own name
 * @returns the exit code: 0 answered, 1 findings, 2 bad input, 3 environment
 */
export async function runSetwell(words: string[], { out, err }: Output): Promise<0 | 1 | 2 | 3> {
  const asJson = words.includes('--json');
  const program = setwellProgram({ out, err: asJson ? () => undefined : err });
  try {
    await program.parseAsync(words, { from: 'user' });
    return exitOf(program);
  } catch (error) {
    if (error instanceof CommanderError && error.exitCode === 0) return 0;
    const problem = problemOf(error, program, words);
    if (asJson) out(`${JSON.stringify(problem.document())}\n`);
    else err(`${problem.message}\n`);
    return problem.exit;
  }
}

function setwellProgram({ out, err }: Output): Command {
  const program = new Command('setwell')
    .description(
      'Watches the cure of adhesives and coatings. It advises; it opens and locks nothing.',
    )
    .exitOverride()
    // What went wrong is told once, by runSetwell.
    .configureOutput({ writeOut: out, writeErr: err, outputError: () => undefined });
  for (const register of commands) register(program);
  for (const command of everyCommand(program)) {
    command.option('--json', 'print one JSON document and nothing else');
  }
  return program;
}

function everyCommand(command: Command): Command[] {
  return [command, ...command.commands.flatMap(everyCommand)];
}

function problemOf(error: unknown, program: Command, words: string[]): CommandProblem {
  if (error instanceof CommandProblem) return error;
  if (error instanceof CommanderError) return problemOfWords(error, program, words);
  // A bug, and no input's fault: the trace goes to whoever mends it.
  const found = error instanceof Error ? (error.stack ?? error.message) : String(error);
  return new CommandProblem({ code: 'bug', found, expected: 'no failure of the program', exit: 3 });
}

/** What commander refuses, in the form of every other refusal. */
function problemOfWords(error: CommanderError, program: Command, words: string[]): CommandProblem {
  const { command, rest } = commandMeant(program, words);
  // Commander misses an option before it meets the misspelt one that was meant for it.
  const unknown = unknownOption(command, rest);
  if (unknown !== undefined) {
    return new CommandProblem({
      code: 'unknown-option',
      field: unknown,
      found: quoteText(unknown),
      expected: oneOf(optionsOf(command), unknown),
    });
  }
  const names = command.commands.map((each) => each.name());
  const [given] = rest.filter((word) => !word.startsWith('-'));
  const quoted = /'([^']*)'/.exec(error.message)?.[1];
  switch (error.code) {
    case 'commander.unknownCommand':
    case 'commander.help':
    case 'commander.excessArguments':
      if (names.length === 0) break;
      return new CommandProblem({
        code: 'unknown-command',
        field: 'command',
        found: given === undefined ? 'none' : quoteText(given),
        expected: oneOf(names, given ?? ''),
      });
    case 'commander.missingMandatoryOptionValue':
    case 'commander.missingArgument':
      return new CommandProblem({
        code: 'missing-option',
        field: quoted ?? null,
        found: `no ${quoted ?? 'argument'}`,
        expected: askedFor(command, quoted ?? ''),
      });
  }
  return new CommandProblem({
    code: error.code.replace('commander.', '').replace(/[A-Z]/g, (c) => `-${c.toLowerCase()}`),
    field: quoted ?? null,
    found: error.message.replace(/^error: /, ''),
    expected: `setwell ${pathOf(command)} ${command.usage()}`,
  });
}

/** What a command's option or argument is, in its own words. */
function askedFor(command: Command, named: string): string {
  const option = command.options.find(({ flags }) => flags === named);
  const argument = command.registeredArguments.find((each) => each.name() === named);
  const what = option?.description ?? argument?.description ?? '';
  const name = option === undefined ? `<${named}>` : named;
  return what === '' ? name : `${name}, ${what}`;
}

/** The command that the words lead to, and the words that lead no further. */
function commandMeant(program: Command, words: string[]): { command: Command; rest: string[] } {
  let command = program;
  const first = words.findIndex((word) => !word.startsWith('-'));
  let rest = words.filter((word, index) => word !== 'help' || index !== first);
  for (const word of rest) {
    if (word.startsWith('-')) continue;
    const next = command.commands.find((each) => each.name() === word);
    if (next === undefined) break;
    command = next;
    rest = rest.filter((each) => each !== word);
  }
  return { command, rest };
}

function optionsOf(command: Command): string[] {
  return command.options.flatMap((option) => option.long ?? option.short ?? []);
}

function unknownOption(command: Command, rest: string[]): string | undefined {
  const known = [...optionsOf(command), '--help', '--json'];
  return rest
    .filter((word) => word.startsWith('--') && word.length > 2)
    .map((word) => word.split('=', 1)[0] ?? word)
    .find((word) => !known.includes(word));
}

function pathOf(command: Command): string {
  return command.parent?.parent ? `${pathOf(command.parent)} ${command.name()}` : command.name();
}

function quoteText(text: string): string {
  return JSON.stringify(text.length > 80 ? `${text.slice(0, 80)}…` : text);
}

function oneOf(names: string[], written: string): string {
  const nearest = nearestName(written, names);
  return `${nearest === null ? '' : `${nearest}; `}one of ${names.join(', ')}`;
}
