import type { Command } from 'commander';

/** What a command has found out. */
export interface Answer {
  /** Printed whole by `--json`. */
  document: unknown;
  /** The same for people. */
  text: string;
  /** 1: there are findings. */
  exit?: 0 | 1;
}

const exits = new WeakMap<Command, 0 | 1>();

/**
 * An action for commander that prints what `run` answers, as one JSON document or as words.
 *
 * `run` gets what commander gives: the arguments in order, then the options.
 */
export function answered<Given extends unknown[]>(
  run: (...given: Given) => Answer | Promise<Answer>,
): (this: Command, ...given: Given) => Promise<void> {
  return async function print(...given) {
    const { document, text, exit = 0 } = await run(...given);
    const write = this.configureOutput().writeOut ?? ((words) => process.stdout.write(words));
    write(this.optsWithGlobals()['json'] === true ? `${JSON.stringify(document)}\n` : `${text}\n`);
    exits.set(rootOf(this), exit);
  };
}

/** How the command that ran wants the process to end. */
export function exitOf(program: Command): 0 | 1 {
  return exits.get(program) ?? 0;
}

function rootOf(command: Command): Command {
  return command.parent === null ? command : rootOf(command.parent);
}
