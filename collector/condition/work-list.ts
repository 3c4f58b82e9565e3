import type { WorkAccount } from '@setwell/shared-models/condition/station-report';
import type { WorkClosed, WorkDone, WorkPlanned } from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';

/** Jobs of a station that are kept: more is history, and in the ledger. */
const mostAStation = 200;

export interface Job extends WorkAccount {
  work: string;
  station: string;
  doneBy: string | null;
}

/** Jobs by station, as the ledger's entries tell them. */
export class WorkList {
  readonly #jobs = new Map<string, Job>();

  take({ kind, body, n, by }: Entry): void {
    if (kind === 'work-planned') {
      const planned = body as WorkPlanned;
      const job = this.#job(planned.work, planned.station);
      job.planned = planned;
      job.plannedN = n;
    } else if (kind === 'work-done') {
      const done = body as WorkDone;
      const job = this.#job(done.work, done.station);
      job.done = done;
      job.doneN = n;
      job.doneBy = by;
    } else if (kind === 'work-closed') {
      const closed = body as WorkClosed;
      const job = this.#jobs.get(closed.work);
      if (job) job.closed = closed;
    }
  }

  get(work: string): Job | null {
    return this.#jobs.get(work) ?? null;
  }

  /** Newest first. */
  ofStation(station: string): Job[] {
    return [...this.#jobs.values()]
      .filter((job) => job.station === station)
      .slice(-mostAStation)
      .reverse();
  }

  #job(work: string, station: string): Job {
    const known = this.#jobs.get(work);
    if (known) return known;
    const job: Job = {
      work,
      station,
      planned: null,
      plannedN: null,
      done: null,
      doneN: null,
      doneBy: null,
      closed: null,
    };
    this.#jobs.set(work, job);
    return job;
  }
}
