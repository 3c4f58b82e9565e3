import type { Clock } from './clock.ts';

interface Waiting {
  atMs: number;
  order: number;
  callback: () => void;
}

/**
 * A clock that stands still until it is moved: histories, simulations and tests run on it.
 * `wallStepMs` sets the time of day ahead or back without moving the monotonic clock, as an
 * operator or a time server does.
 */
export class SteppedClock implements Clock {
  #elapsedMs = 0;
  #originMs: number;
  #order = 0;
  #waiting: Waiting[] = [];

  constructor(startMs: number) {
    this.#originMs = startMs;
  }

  nowMs(): number {
    return this.#originMs + this.#elapsedMs;
  }

  monotonicMs(): number {
    return this.#elapsedMs;
  }

  after(delayMs: number, callback: () => void): () => void {
    const waiting = {
      atMs: this.#elapsedMs + Math.max(0, delayMs),
      order: this.#order++,
      callback,
    };
    this.#waiting.push(waiting);
    return () => {
      this.#waiting = this.#waiting.filter((one) => one !== waiting);
    };
  }

  /** Moves on, calling back what falls due on the way, each at its own time. */
  advance(durationMs: number): void {
    const untilMs = this.#elapsedMs + durationMs;
    for (;;) {
      const due = this.#earliest();
      if (due === undefined || due.atMs > untilMs) break;
      this.#waiting = this.#waiting.filter((one) => one !== due);
      this.#elapsedMs = Math.max(this.#elapsedMs, due.atMs);
      due.callback();
    }
    this.#elapsedMs = untilMs;
  }

  wallStepMs(byMs: number): void {
    this.#originMs += byMs;
  }

  #earliest(): Waiting | undefined {
    let earliest: Waiting | undefined;
    for (const one of this.#waiting) {
      if (
        earliest === undefined ||
        one.atMs < earliest.atMs ||
        (one.atMs === earliest.atMs && one.order < earliest.order)
      ) {
        earliest = one;
      }
    }
    return earliest;
  }
}
