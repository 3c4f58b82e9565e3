import { parentPort, workerData } from 'node:worker_threads';
import Database from 'better-sqlite3';
import type { Moved } from './log-mover.ts';
import { busyTimeoutMs } from './schema.ts';

/** Moves the log into the file each time it is asked; what readers still need stays in the log. */
const db = new Database(workerData as string, { timeout: busyTimeoutMs });
db.pragma('synchronous = FULL');

parentPort?.on('message', () => parentPort?.postMessage(moved()));

/** The log is whole where it cannot be moved: the writer moves it once it is far too long. */
function moved(): Moved {
  try {
    const [state] = db.pragma('wal_checkpoint(PASSIVE)') as [{ checkpointed: number }];
    return { checkpointed: state.checkpointed };
  } catch (error) {
    if (!(error instanceof Database.SqliteError)) throw error;
    return { fault: error.message };
  }
}
