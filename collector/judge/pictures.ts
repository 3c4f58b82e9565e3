import type { LoadTrace } from '@setwell/shared-models/score/shape';
import { Refused } from '../serve/refused.ts';
import type { Told, TraceWanted } from './judging.ts';

/** All who look at a load within this see the same picture of it [ms]. */
const freshMs = 4_000;
/** Pictures that wait to be drawn; each takes some tenths of a second, and nobody waits for longer. */
const waitingAtMost = 24;

type Draw = (wanted: TraceWanted, told: Told) => Promise<LoadTrace | null>;

interface Kept {
  trace: Promise<LoadTrace | null>;
  /** All who wait for it. */
  heard: Set<Told>;
  /** When it was drawn [ms]; null while it is not. */
  drawnMs: number | null;
}

/**
 * Pictures of loads, drawn in the judge's own thread: one at a time, so that no look of the judge waits for
 * more than one of them, and once for all who ask for the same.
 */
export class Pictures {
  readonly #draw: Draw;
  readonly #nowMs: () => number;
  readonly #kept = new Map<string, Kept>();
  #last: Promise<unknown> = Promise.resolve();
  #waiting = 0;

  /** @param nowMs of a clock that never goes back, in time of the wall */
  constructor(draw: Draw, nowMs = () => performance.now()) {
    this.#draw = draw;
    this.#nowMs = nowMs;
  }

  /**
   * @param name of the load, or of its sealed input
   * @param told hears how far it is, while it takes long
   * @throws Refused 503 where too many wait
   */
  async of(
    name: string,
    wanted: TraceWanted,
    told: Told = () => undefined,
  ): Promise<LoadTrace | null> {
    const nowMs = this.#nowMs();
    for (const [key, { drawnMs }] of this.#kept) {
      if (drawnMs !== null && nowMs - drawnMs > freshMs) this.#kept.delete(key);
    }
    const key = `${name} ${JSON.stringify(wanted.view)}`;
    const known = this.#kept.get(key);
    if (known) {
      known.heard.add(told);
      return known.trace;
    }
    if (this.#waiting >= waitingAtMost) {
      const found = `${String(this.#waiting)} pictures that wait`;
      throw new Refused(503, 'busy', 'load', found, 'the same again in some seconds');
    }
    const heard = new Set([told]);
    const kept: Kept = { trace: this.#drawn(wanted, heard), heard, drawnMs: null };
    this.#kept.set(key, kept);
    try {
      return await kept.trace;
    } finally {
      kept.drawnMs = this.#nowMs();
      heard.clear();
    }
  }

  #drawn(wanted: TraceWanted, heard: Set<Told>): Promise<LoadTrace | null> {
    this.#waiting += 1;
    const told: Told = (share) => {
      for (const each of heard) each(share);
    };
    const trace = this.#last
      .then(() => this.#draw(wanted, told))
      .finally(() => (this.#waiting -= 1));
    this.#last = trace.catch(() => undefined);
    return trace;
  }
}
