import { Worker } from 'node:worker_threads';
import type { Entry } from '@setwell/shared-models/record/entry';
import type { LoadTrace } from '@setwell/shared-models/score/shape';
import type { TraceView } from '@setwell/shared-models/score/trace';
import type { Ledger, Proposal } from '../ledger/shape.ts';
import type { Documents } from './documents.ts';
import { readHistory, type HistoryRead } from './history.ts';
import type { Judge, JudgeStep } from './judge.ts';
import type { FromWorker, ToWorker, WorkerSetting } from './worker.ts';

/** The judge as the collector drives it: in a worker, or inline where a simulation steps the clock. */
export interface Judging {
  /** What the ledger says up to an entry; before anything else is heard. */
  hearHistory(history: HistoryRead): void;
  /** An entry that is not the judge's own, with the documents it names. */
  hear(entries: Entry[], documents: Uint8Array[]): void;
  /** After all history is heard. */
  resume(): void;
  /** Asks for a look; what it finds goes to the listener. One at a time: more are put together. */
  step(nowMs: number): void;
  /** Pictures of a load; null where it is not judged. */
  trace(wanted: TraceWanted, told: Told): Promise<LoadTrace | null>;
  stop(): Promise<void>;
}

/** A running load by its name, or a sealed one by its own documents; and what of it is looked at. */
export type TraceWanted = { view: TraceView } & (
  { load: string; nowMs: number } | { input: string; readingsCsv: string }
);

/** Hears which share of a picture is drawn. */
export type Told = (share: number) => void;

/** Takes what a step has found, appends it and answers the numbered entries. */
export type StepListener = (step: JudgeStep) => Entry[];

/** The judge in the caller's own thread. */
export class InlineJudging implements Judging {
  readonly #judge: Judge;
  readonly #documents: Documents;
  readonly #ledger: Pick<Ledger, 'entry' | 'entriesAfter' | 'blob'>;
  readonly #onStep: StepListener;

  constructor(
    judge: Judge,
    documents: Documents,
    ledger: Pick<Ledger, 'entry' | 'entriesAfter' | 'blob'>,
    onStep: StepListener,
  ) {
    this.#judge = judge;
    this.#documents = documents;
    this.#ledger = ledger;
    this.#onStep = onStep;
  }

  hearHistory(history: HistoryRead): void {
    this.#judge.begin(history.answered);
    readHistory(this.#ledger, history, (entries, documents) => this.hear(entries, documents));
  }

  hear(entries: Entry[], documents: Uint8Array[]): void {
    for (const bytes of documents) this.#documents.add(bytes);
    for (const entry of entries) this.#judge.hear(entry);
  }

  resume(): void {
    this.#judge.resume();
  }

  step(nowMs: number): void {
    this.#judge.numbered(this.#onStep(this.#judge.step(nowMs)));
  }

  trace(wanted: TraceWanted, told: Told): Promise<LoadTrace | null> {
    return Promise.resolve(this.#judge.trace(wanted, told));
  }

  stop(): Promise<void> {
    return Promise.resolve();
  }
}

/** The judge in a worker of its own: intake does not wait for heat to be computed. */
export class WorkerJudging implements Judging {
  readonly #worker: Worker;
  readonly #onStep: StepListener;
  readonly #tracing = new Map<number, { resolve: (trace: LoadTrace | null) => void; told: Told }>();
  #traces = 0;
  #busy = false;
  #wantedMs: number | null = null;
  #stopping = false;

  /** @param onFault what the judge itself dies of: a bug, which ends the process */
  constructor(setting: WorkerSetting, onStep: StepListener, onFault: (error: Error) => void) {
    this.#onStep = onStep;
    this.#worker = new Worker(workerFile(), { workerData: setting });
    this.#worker.on('message', (message: FromWorker) => this.#hear(message));
    this.#worker.on('error', (error) => onFault(error));
    this.#worker.on('exit', (code) => {
      if (!this.#stopping) onFault(new Error(`the judge ended with code ${String(code)}`));
    });
  }

  hearHistory(history: HistoryRead): void {
    this.#tell({ type: 'history', history });
  }

  hear(entries: Entry[], documents: Uint8Array[]): void {
    this.#tell({ type: 'hear', entries, documents });
  }

  resume(): void {
    this.#tell({ type: 'resume' });
  }

  step(nowMs: number): void {
    if (this.#busy) {
      this.#wantedMs = nowMs;
      return;
    }
    this.#busy = true;
    this.#tell({ type: 'step', nowMs });
  }

  trace(wanted: TraceWanted, told: Told): Promise<LoadTrace | null> {
    if (this.#stopping) return Promise.resolve(null);
    return new Promise((resolve) => {
      const id = this.#traces++;
      this.#tracing.set(id, { resolve, told });
      this.#tell({ type: 'trace', id, wanted });
    });
  }

  async stop(): Promise<void> {
    this.#stopping = true;
    for (const { resolve } of this.#tracing.values()) resolve(null);
    await this.#worker.terminate();
  }

  #hear(message: FromWorker): void {
    if (message.type === 'step') this.#take(message.step);
    else if (message.type === 'drawing') this.#tracing.get(message.id)?.told(message.share);
    else this.#traced(message.id, message.trace);
  }

  #traced(id: number, trace: LoadTrace | null): void {
    this.#tracing.get(id)?.resolve(trace);
    this.#tracing.delete(id);
  }

  #take(step: JudgeStep): void {
    if (this.#stopping) return;
    this.#tell({ type: 'numbered', entries: this.#onStep(withBuffers(step)) });
    this.#busy = false;
    const wantedMs = this.#wantedMs;
    this.#wantedMs = null;
    if (wantedMs !== null) this.step(wantedMs);
  }

  #tell(message: ToWorker): void {
    this.#worker.postMessage(message);
  }
}

/** Beside this file, in whichever form this file runs. */
function workerFile(): URL {
  const ending = import.meta.url.endsWith('.ts') ? '.ts' : '.js';
  return new URL(`./worker${ending}`, import.meta.url);
}

/** Buffers come through a thread's door as plain byte arrays. */
function withBuffers(step: JudgeStep): JudgeStep {
  const proposals = step.proposals.map((proposal): Proposal => {
    if (!proposal.blobs) return proposal;
    return { ...proposal, blobs: proposal.blobs.map((bytes) => Buffer.from(bytes)) };
  });
  return { ...step, proposals };
}
