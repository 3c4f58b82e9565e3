import type { Between } from './closing.ts';
import { between } from './closing.ts';

/** A signal that is on while the station is closed. */
export interface EdgeLevels {
  /** At or above it the station is closed. */
  onAt: number;
  /** At or below it, it is open; between the two it is as it was. */
  offAt: number;
}

export interface Edge {
  to: 'closed' | 'open';
  at: Between;
}

/**
 * A press that lets steam off opens for seconds and goes on: what cannot have been longer than this is the
 * same closing [ms]. Common practice, no source.
 */
export const breathMs = 20_000;

/**
 * Edges of a signal with two states.
 *
 *   open ──on──▶ closed ──off──▶ perhaps ──longer than a breath──▶ open
 *     ▲                             │
 *     └──────── (next reading) ◀────┴──on again within a breath──▶ closed
 *
 * An edge lies between the last reading of one state and the first of the other. That a station has
 * opened is told when it has been open for longer than a breath.
 */
export class EdgeWatch {
  readonly #levels: EdgeLevels;
  #state: 'unknown' | 'open' | 'closed' | 'perhaps' = 'unknown';
  #lastMs = -Infinity;
  #opened: Between | null = null;

  constructor(levels: EdgeLevels) {
    this.#levels = levels;
  }

  /** Time of its newest reading [ms]. */
  get lastMs(): number {
    return this.#lastMs;
  }

  /** A reading; one that is older than the newest is left out. @returns the edges it tells, at most two */
  take(tMs: number, value: number): Edge[] {
    if (tMs <= this.#lastMs) return [];
    const { onAt, offAt } = this.#levels;
    const before = this.#lastMs;
    this.#lastMs = tMs;
    if (value >= onAt) return this.#on(before, tMs);
    if (value <= offAt) return this.#off(before, tMs);
    return [];
  }

  #on(before: number, tMs: number): Edge[] {
    const was = this.#state;
    this.#state = 'closed';
    if (was === 'open') return [{ to: 'closed', at: between(before, tMs) }];
    if (was !== 'perhaps' || this.#opened === null) return [];
    // A slow logger may have seen one reading of a whole opening: what may have been longer is no breath.
    if (tMs - this.#opened.earliestMs <= breathMs) return [];
    return [
      { to: 'open', at: this.#opened },
      { to: 'closed', at: between(before, tMs) },
    ];
  }

  #off(before: number, tMs: number): Edge[] {
    if (this.#state === 'closed') {
      this.#state = 'perhaps';
      this.#opened = between(before, tMs);
    } else if (this.#state === 'unknown') this.#state = 'open';
    if (this.#state !== 'perhaps' || this.#opened === null) return [];
    if (tMs - this.#opened.latestMs <= breathMs) return [];
    this.#state = 'open';
    return [{ to: 'open', at: this.#opened }];
  }
}
