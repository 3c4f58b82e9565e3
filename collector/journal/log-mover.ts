import { Worker } from 'node:worker_threads';
import Database from 'better-sqlite3';
import { checkpointPages } from './schema.ts';

/** So much of the log is moved between two commits; more goes to the thread again [pages]. */
const movedAtOnce = 256;
/** Where the thread has not come behind, the writer moves the log itself [pages]. */
const mostLogPages = 4 * checkpointPages;

/** What the thread answers: how far the log is in the file [pages], or what went wrong. */
export type Moved = { checkpointed: number } | { fault: string };

/** The thread that moves the log of a journal each time it is asked. */
export function logThread(path: string): Worker {
  const ending = import.meta.url.endsWith('.ts') ? '.ts' : '.js';
  const file = new URL(`./log-worker${ending}`, import.meta.url);
  return new Worker(file, { workerData: path });
}

/**
 * Has a thread move a journal's log into its file: a plant of thousands of points fills 16 MiB in one
 * commit, and intake would wait for the disk meanwhile.
 *
 * What is committed is safe in the log: where it cannot be moved that is said, and nothing fails by it.
 */
export class LogMover {
  readonly #db: Database.Database;
  readonly #thread: Worker;
  readonly #log: (line: string) => void;
  readonly #state: Database.Statement<[], LogState>;
  #isBusy = false;
  /** How long the log was when nothing of it could be moved: it is tried again once it has grown. */
  #heldAt = 0;

  constructor(db: Database.Database, thread: Worker, log: (line: string) => void) {
    this.#db = db;
    this.#thread = thread;
    this.#log = log;
    this.#state = db.prepare('PRAGMA wal_checkpoint(NOOP)');
    db.pragma(`wal_autocheckpoint = ${mostLogPages}`);
    thread.on('error', (error) => this.#died(error));
    thread.unref();
  }

  /** To be called after each commit. */
  committed(): void {
    this.#attempt(() => this.#move(checkpointPages));
  }

  /** Ends the thread, and with it its connection. */
  async end(): Promise<void> {
    this.#isBusy = true;
    await this.#thread.terminate();
  }

  #move(fromPages: number): void {
    if (this.#isBusy) return;
    const { log, checkpointed } = this.#logged();
    if (log < this.#heldAt) this.#heldAt = 0; // It has begun anew.
    if (log - Math.max(checkpointed, this.#heldAt) < fromPages) return;
    this.#isBusy = true;
    this.#thread.once('message', (moved: Moved) => {
      if (!this.#db.open) return;
      this.#isBusy = false;
      if ('fault' in moved) this.#notMoved(moved.fault);
      // Not what is moved now: with a commit since, the log may have begun anew.
      const isHeld = 'fault' in moved || moved.checkpointed === checkpointed;
      this.#attempt(() => this.#goOn(isHeld));
    });
    this.#thread.postMessage(null);
  }

  /**
   * What comes while the thread moves stays behind it, and only a log that is empty begins anew: the last
   * few pages are moved here, where nothing comes meanwhile. What a reader still needs is let be.
   */
  #goOn(isHeld: boolean): void {
    const { log, checkpointed } = this.#logged();
    if (log - checkpointed < movedAtOnce) this.#db.pragma('wal_checkpoint(PASSIVE)');
    else if (isHeld) this.#heldAt = log;
    else this.#move(movedAtOnce);
  }

  #logged(): LogState {
    return this.#state.get() ?? { log: 0, checkpointed: 0 };
  }

  #died(error: Error): void {
    this.#isBusy = true; // It never comes back.
    const name = this.#db.name;
    this.#log(`${name}: the thread that moves its log has ended, commits do now: ${error.message}`);
    if (this.#db.open) this.#db.pragma(`wal_autocheckpoint = ${checkpointPages}`);
  }

  #attempt(move: () => void): void {
    try {
      move();
    } catch (error) {
      if (!(error instanceof Database.SqliteError)) throw error;
      this.#notMoved(error.message);
    }
  }

  #notMoved(fault: string): void {
    this.#log(`${this.#db.name}: its log is not moved into it: ${fault}`);
  }
}

interface LogState {
  /** Pages in the log, and how many of them are in the file [1]. */
  log: number;
  checkpointed: number;
}
