import { parentPort, workerData } from 'node:worker_threads';
import type { Entry } from '@setwell/shared-models/record/entry';
import type { LoadTrace } from '@setwell/shared-models/score/shape';
import { openJournalReader } from '../journal/journal.ts';
import { openLedgerIndexReader } from '../ledger/ledger-index.ts';
import { openLedgerReader } from '../ledger/reader.ts';
import { Documents, type ReadPlant } from './documents.ts';
import { Judge, type JudgeStep } from './judge.ts';
import type { TraceWanted } from './judging.ts';
import { olderLoads } from './older-loads.ts';
import { parsers } from './parsers.ts';
import { readHistory, type HistoryRead } from './history.ts';
import { scoreModel } from './score-model.ts';

export interface WorkerSetting {
  journalFile: string;
  ledgerFile: string;
  indexFile: string;
  plant: ReadPlant;
  judgeEveryMs: number;
  forecastEveryMs: number;
}

export type ToWorker =
  | { type: 'history'; history: HistoryRead }
  | { type: 'hear'; entries: Entry[]; documents: Uint8Array[] }
  | { type: 'resume' }
  | { type: 'step'; nowMs: number }
  | { type: 'trace'; id: number; wanted: TraceWanted }
  | { type: 'numbered'; entries: Entry[] };

export type FromWorker =
  | { type: 'step'; step: JudgeStep }
  | { type: 'drawing'; id: number; share: number }
  | { type: 'trace'; id: number; trace: LoadTrace | null };

/** Nobody sees more than so many steps a second of a count [ms]. */
const toldEveryMs = 200;

const { journalFile, ledgerFile, indexFile, plant, judgeEveryMs, forecastEveryMs } =
  workerData as WorkerSetting;
const documents = new Documents(parsers, plant);
const ledger = openLedgerReader(ledgerFile);
const judge = new Judge({
  journal: openJournalReader(journalFile),
  documents,
  model: scoreModel,
  record: (sha256) => ledger.blob(sha256),
  older: olderLoads(ledger, openLedgerIndexReader(indexFile, ledger)),
  judgeEveryMs,
  forecastEveryMs,
});

parentPort?.on('message', (message: ToWorker) => {
  switch (message.type) {
    case 'history':
      judge.begin(message.history.answered);
      readHistory(ledger, message.history, hear);
      break;
    case 'hear':
      hear(message.entries, message.documents);
      break;
    case 'resume':
      judge.resume();
      break;
    case 'step':
      tell({ type: 'step', step: judge.step(message.nowMs) });
      break;
    case 'trace':
      draw(message.id, message.wanted);
      break;
    case 'numbered':
      judge.numbered(message.entries);
      break;
  }
});

function hear(entries: Entry[], named: readonly Uint8Array[]): void {
  for (const bytes of named) documents.add(bytes);
  for (const entry of entries) judge.hear(entry);
}

/** What is drawn within the first turn says nothing of itself. */
function draw(id: number, wanted: TraceWanted): void {
  let nextMs = performance.now() + toldEveryMs;
  const told = (share: number): void => {
    const nowMs = performance.now();
    if (nowMs < nextMs) return;
    nextMs = nowMs + toldEveryMs;
    tell({ type: 'drawing', id, share });
  };
  tell({ type: 'trace', id, trace: judge.trace(wanted, told) });
}

function tell(message: FromWorker): void {
  parentPort?.postMessage(message);
}
