import { parentPort, workerData } from 'node:worker_threads';
import Database from 'better-sqlite3';
import { busyTimeoutMs } from './schema.ts';

/** Moves the log into the file each time it is asked; what readers still need stays in the log. */
const db = new Database(workerData as string, { timeout: busyTimeoutMs });
db.pragma('synchronous = FULL');

parentPort?.on('message', () => parentPort?.postMessage(moved()));

/** @returns what went wrong. The log is whole all the same, and the writer moves it once it is far too long */
function moved(): string | null {
  try {
    db.pragma('wal_checkpoint(PASSIVE)');
    return null;
  } catch (error) {
    if (!(error instanceof Database.SqliteError)) throw error;
    return error.message;
  }
}
