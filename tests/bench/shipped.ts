import { spawn, type ChildProcess } from 'node:child_process';
import { once } from 'node:events';
import { fileURLToPath } from 'node:url';
import { heapOptions } from '../../deploy/setup/heap.mjs';

const main = fileURLToPath(new URL('../../collector/dist/cli/main.js', import.meta.url));

/** The program as `npm start` runs it, in a process of its own. */
export class Shipped {
  readonly #process: ChildProcess;

  private constructor(process: ChildProcess) {
    this.#process = process;
  }

  /**
   * @param args of `start`
   * @returns when it has said its first word
   * @throws Error where nothing has been built, or it cannot start
   */
  static async start(args: readonly string[], env: NodeJS.ProcessEnv = {}): Promise<Shipped> {
    const child = spawn(process.execPath, [...heapOptions, main, 'start', ...args], {
      stdio: ['ignore', 'pipe', 'inherit'],
      env: { ...process.env, ...env },
    });
    await Promise.race([once(child.stdout, 'data'), once(child, 'exit')]);
    if (child.exitCode !== null) {
      throw new Error('setwell start has ended; build first: npm run build');
    }
    // Nobody reads on: what is left in a pipe would hold it up.
    child.stdout.resume();
    return new Shipped(child);
  }

  get pid(): number {
    return this.#process.pid ?? 0;
  }

  async end(): Promise<void> {
    if (this.#process.exitCode !== null) return;
    this.#process.kill('SIGTERM');
    await once(this.#process, 'exit');
  }
}
