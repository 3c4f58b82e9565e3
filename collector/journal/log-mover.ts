import { Worker } from 'node:worker_threads';

/**
 * Moves a journal's log into its file in a thread of its own: a plant of thousands of points fills 16 MiB in
 * one commit, and intake would wait for the disk meanwhile.
 */
export class LogMover {
  readonly #worker: Worker;
  #done: (() => void) | null = null;

  constructor(path: string) {
    this.#worker = new Worker(workerFile(), { workerData: path });
    this.#worker.on('message', () => {
      const done = this.#done;
      this.#done = null;
      done?.();
    });
    // It moves nothing any more then, and the writer does.
    this.#worker.on('error', () => {});
    this.#worker.unref();
  }

  get isMoving(): boolean {
    return this.#done !== null;
  }

  /** @param done called when all that was in the log is moved, or cannot be */
  move(done: () => void): void {
    this.#done = done;
    this.#worker.postMessage(null);
  }

  end(): void {
    this.#done = null;
    void this.#worker.terminate();
  }
}

function workerFile(): URL {
  const ending = import.meta.url.endsWith('.ts') ? '.ts' : '.js';
  return new URL(`./log-worker${ending}`, import.meta.url);
}
