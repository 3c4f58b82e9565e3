import { spawn, type ChildProcess } from 'node:child_process';

const firstWaitMs = 1000;
const longestWaitMs = 30_000;
/** One that lived so long has not failed at its start. */
const healthyAfterMs = 60_000;
const endWithinMs = 5000;

/** A program that runs beside the collector, and is started again when it dies. */
export class Companion {
  readonly #name: string;
  readonly #args: string[];
  readonly #log: (line: string) => void;
  readonly #hear: (said: unknown) => void;
  #child: ChildProcess | null = null;
  #waitMs = firstWaitMs;
  #again: NodeJS.Timeout | null = null;
  #stopped = false;

  /**
   * @param args a script of Node's, and what it is told
   * @param hear what it says of itself, each time that it starts
   */
  constructor(
    name: string,
    args: string[],
    log: (line: string) => void,
    hear: (said: unknown) => void = () => undefined,
  ) {
    this.#name = name;
    this.#args = args;
    this.#log = log;
    this.#hear = hear;
    this.#start();
  }

  async stop(): Promise<void> {
    this.#stopped = true;
    if (this.#again) clearTimeout(this.#again);
    const child = this.#child;
    if (!child || child.exitCode !== null || child.signalCode !== null) return;
    const ended = new Promise((resolve) => child.once('exit', resolve));
    child.kill('SIGTERM');
    const late = setTimeout(() => child.kill('SIGKILL'), endWithinMs);
    await ended;
    clearTimeout(late);
  }

  #start(): void {
    const startedMs = performance.now();
    // The channel closes when we are killed, and then the companion ends too.
    const child = spawn(process.execPath, this.#args, {
      stdio: ['ignore', 'ignore', 'pipe', 'ipc'],
    });
    this.#child = child;
    child.on('message', (said) => this.#hear(said));
    child.stderr?.on('data', (chunk: Buffer) => {
      for (const line of chunk.toString('utf8').split('\n')) {
        if (line.trim() !== '') this.#log(`${this.#name}: ${line}`);
      }
    });
    child.once('exit', (code, signal) => {
      if (this.#stopped) return;
      if (performance.now() - startedMs > healthyAfterMs) this.#waitMs = firstWaitMs;
      const seconds = String(this.#waitMs / 1000);
      this.#log(`${this.#name} ended (${signal ?? String(code)}); started again in ${seconds} s`);
      this.#again = setTimeout(() => this.#start(), this.#waitMs);
      this.#waitMs = Math.min(longestWaitMs, 2 * this.#waitMs);
    });
  }
}
