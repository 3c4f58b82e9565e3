import { Worker } from 'node:worker_threads';
import type { LedgerReader } from '../ledger/reader.ts';
import { impactReview, type ImpactReview } from './impact-review.ts';
import type { ImpactWanted } from './impact-worker.ts';

export type ImpactReviewing = (wanted: ImpactWanted) => Promise<ImpactReview>;

/** A review in a thread of its own; it ends with what ended the thread before it answered. */
export function impactInThread(ledgerFile: string): ImpactReviewing {
  return (wanted) =>
    new Promise((resolve, reject) => {
      const worker = new Worker(new URL('./impact-worker.js', import.meta.url), {
        workerData: { ledgerFile, wanted },
      });
      // A review that nobody waits for any more keeps no process alive.
      worker.unref();
      worker.once('message', resolve);
      worker.once('error', reject);
      worker.once('exit', (code) => reject(new Error(`it ended with code ${String(code)}`)));
    });
}

/** The same at once, for a collector that is stepped. */
export function impactHere(ledger: Pick<LedgerReader, 'entriesAfter' | 'blob'>): ImpactReviewing {
  return ({ instrument, errorK, foundMs, lastGood }) =>
    Promise.resolve(impactReview(ledger, instrument, errorK, foundMs, lastGood));
}
