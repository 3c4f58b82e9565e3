import type { Clock } from '@setwell/collector/clock';
import type { SteppedClock } from '@setwell/collector/stepped-clock';

/** The process is gone, in the midst of whatever it was doing. */
export class Killed extends Error {}

/**
 * The clock of one life of the collector. Everything it does asks for the time, before and after each
 * write, so that a clock that kills at its n-th question kills at every step there is.
 */
export class LifeClock implements Clock {
  readonly #world: SteppedClock;
  #questions = Infinity;
  #isDead = false;

  constructor(world: SteppedClock) {
    this.#world = world;
  }

  killAfter(questions: number): void {
    this.#questions = questions;
  }

  /** Its timers ring no more. */
  die(): void {
    this.#isDead = true;
  }

  nowMs(): number {
    this.#asked();
    return this.#world.nowMs();
  }

  monotonicMs(): number {
    this.#asked();
    return this.#world.monotonicMs();
  }

  after(delayMs: number, callback: () => void): () => void {
    return this.#world.after(delayMs, () => {
      if (!this.#isDead) callback();
    });
  }

  #asked(): void {
    if (this.#isDead) return;
    this.#questions -= 1;
    if (this.#questions < 0) throw new Killed('killed');
  }
}
