/** Wrong tries that cost nothing: a glove, a worn badge. */
const freeTries = 5;
const firstWaitMs = 30_000;
const longestWaitMs = 15 * 60_000;
/** Names and addresses remembered at once; the oldest go, so that a flood of names costs no memory. */
const rememberedAtMost = 10_000;

interface Tries {
  wrong: number;
  untilMs: number;
}

/**
 * Slows guessing: after five wrong tries the next one waits, twice as long each time.
 *
 * Counted apart for the person and for the device, so that one browser cannot lock a whole shift out
 * and a hundred browsers cannot share one person's PIN.
 */
export class Attempts {
  readonly #tries = new Map<string, Tries>();

  /** How long all of these still wait [ms]; 0: try. */
  waitMs(keys: string[], nowMs: number): number {
    return Math.max(0, ...keys.map((key) => (this.#tries.get(key)?.untilMs ?? 0) - nowMs));
  }

  wrong(keys: string[], nowMs: number): void {
    for (const key of keys) {
      const wrong = (this.#tries.get(key)?.wrong ?? 0) + 1;
      const waits = wrong < freeTries ? 0 : firstWaitMs * 2 ** (wrong - freeTries);
      this.#tries.delete(key);
      this.#tries.set(key, { wrong, untilMs: nowMs + Math.min(longestWaitMs, waits) });
      const [oldest] = this.#tries.keys();
      if (this.#tries.size > rememberedAtMost && oldest !== undefined) this.#tries.delete(oldest);
    }
  }

  right(keys: string[]): void {
    for (const key of keys) this.#tries.delete(key);
  }
}
