import { spawn, type ChildProcessWithoutNullStreams } from 'node:child_process';
import { once } from 'node:events';
import { createInterface } from 'node:readline';
import { pathToFileURL } from 'node:url';

/** A load of a press takes a tenth of a second; a store's weeks some seconds. */
const mostMsALoad = 120_000;

/** Runs in the fresh process: one job a line in, one answer a line out. */
const program = (model: URL) => `
import { createInterface } from 'node:readline';
const model = await import(${JSON.stringify(model.href)});
for await (const line of createInterface({ input: process.stdin })) {
  const { ask, input, readings } = JSON.parse(line);
  let answer;
  try {
    answer = { result: model[ask](input, readings) };
  } catch (error) {
    answer = { fault: String(error) };
  }
  process.stdout.write(JSON.stringify(answer) + '\\n');
}
`;

/** What is asked of a model: the verdict, the pictures of how it came about, or coats over their bakes. */
export type ModelJob =
  /** An input as `input.json` holds it; canonical CSV of raw values. */
  | { ask: 'score' | 'trace'; input: unknown; readings: string }
  /** Bakes, each with its input and its readings. */
  | { ask: 'scoreCoats'; input: unknown; readings?: never }
  /** The input of the load that carries them, and the coats after the last bake before it. */
  | { ask: 'carriedTo'; input: unknown; readings: unknown };

export type ModelAnswer = { result: unknown } | { fault: string };

/**
 * A released model in a process of its own, that has nothing of this one's: no environment, no state, no
 * time zone. One job after the other.
 */
export class ModelProcess {
  readonly #child: ChildProcessWithoutNullStreams;
  readonly #answers: AsyncIterator<string>;
  #fault: string | null = null;
  #told = '';

  constructor(file: string) {
    // No argument names the model: it would take itself for a command run by hand.
    const args = ['--input-type=module', '--eval', program(pathToFileURL(file))];
    this.#child = spawn(process.execPath, args, { env: {}, stdio: ['pipe', 'pipe', 'pipe'] });
    this.#child.stderr.on('data', (text: Buffer) => {
      this.#told = `${this.#told}${text.toString()}`.slice(0, 2000);
    });
    this.#child.on('error', (error) => (this.#fault ??= error.message));
    // Its end is heard where its answer is waited for.
    this.#child.stdin.on('error', () => {});
    this.#answers = createInterface({ input: this.#child.stdout })[Symbol.asyncIterator]();
  }

  /** Why it can do nothing more; null while it can. */
  get fault(): string | null {
    return this.#fault;
  }

  async run(job: ModelJob): Promise<ModelAnswer> {
    if (this.#fault !== null) return { fault: this.#fault };
    const deadline = setTimeout(() => {
      this.#fault = `no answer within ${String(mostMsALoad / 1000)} s`;
      this.#child.kill('SIGKILL');
    }, mostMsALoad);
    this.#child.stdin.write(`${JSON.stringify(job)}\n`);
    const answer = await this.#answers.next();
    clearTimeout(deadline);
    if (answer.done !== true) return JSON.parse(answer.value) as ModelAnswer;
    this.#fault ??= `it has ended: ${this.#told.trim().split('\n').at(-1) ?? ''}`;
    return { fault: this.#fault };
  }

  async end(): Promise<void> {
    const { pid, exitCode, signalCode } = this.#child;
    if (pid === undefined || exitCode !== null || signalCode !== null) return;
    const ended = once(this.#child, 'exit');
    this.#child.stdin.end();
    await ended;
  }
}
