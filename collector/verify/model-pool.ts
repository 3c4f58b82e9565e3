import { availableParallelism } from 'node:os';
import { ModelProcess, type ModelAnswer, type ModelJob } from './model-process.ts';
import type { ReleasedModel } from './released-models.ts';

/** Processes at a time: each takes a core and some 60 MB, and a collector may run beside them. */
const mostAtATime = Math.min(4, availableParallelism());

/** Released models in processes of their own, which are used again; jobs run a few at a time, in their order. */
export class ModelPool {
  readonly #idle = new Map<string, ModelProcess[]>();
  readonly #started: ModelProcess[] = [];
  readonly #waiting: (() => void)[] = [];
  /** Of models whose process has ended in mid-job: what it did once it would do for every job. */
  readonly #faults = new Map<string, string>();
  #running = 0;

  async run(model: ReleasedModel, job: ModelJob): Promise<ModelAnswer> {
    if (this.#running < mostAtATime) this.#running += 1;
    else await new Promise<void>((resolve) => this.#waiting.push(resolve));
    try {
      return await this.#runNow(model, job);
    } finally {
      const next = this.#waiting.shift();
      if (next) next();
      else this.#running -= 1;
    }
  }

  async #runNow({ file }: ReleasedModel, job: ModelJob): Promise<ModelAnswer> {
    const known = this.#faults.get(file);
    if (known !== undefined) return { fault: known };
    const idle = this.#idle.get(file) ?? [];
    this.#idle.set(file, idle);
    const process = idle.pop() ?? this.#start(file);
    const answer = await process.run(job);
    if (process.fault === null) idle.push(process);
    else this.#faults.set(file, process.fault);
    return answer;
  }

  #start(file: string): ModelProcess {
    const process = new ModelProcess(file);
    this.#started.push(process);
    return process;
  }

  async end(): Promise<void> {
    await Promise.all(this.#started.map((process) => process.end()));
  }
}
