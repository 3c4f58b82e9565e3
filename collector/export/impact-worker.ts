import { parentPort, workerData } from 'node:worker_threads';
import { openLedgerReader } from '../ledger/reader.ts';
import { impactReview, type LastGood } from './impact-review.ts';

/** What a review is made of: hundreds of loads scored again take minutes, and intake does not wait for them. */
export interface ImpactWanted {
  instrument: string;
  errorK: number;
  foundMs: number;
  lastGood: LastGood;
}

const { ledgerFile, wanted } = workerData as { ledgerFile: string; wanted: ImpactWanted };
const ledger = openLedgerReader(ledgerFile);
const { instrument, errorK, foundMs, lastGood } = wanted;
const review = impactReview(ledger, instrument, errorK, foundMs, lastGood);
ledger.close();
parentPort?.postMessage(review);
