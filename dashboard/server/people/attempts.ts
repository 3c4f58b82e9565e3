const firstWaitMs = 30_000;
const longestWaitMs = 15 * 60_000;
/** Without a further wrong try all is forgotten [ms]. */
const forgottenMs = 60 * 60_000;
/** Names and addresses remembered at once; the oldest go, so that a flood of names costs no memory. */
const rememberedAtMost = 10_000;

interface Tries {
  wrong: number;
  lastMs: number;
  untilMs: number;
}

/**
 * Slows guessing: after some wrong tries the next one waits, twice as long each time.
 *
 * One counter for each person, one for each device: a hundred browsers cannot share one person's PIN,
 * and one browser cannot go through a whole shift.
 */
export class Attempts {
  readonly #free: number;
  readonly #tries = new Map<string, Tries>();

  /** @param free wrong tries that cost nothing: a glove, a worn badge */
  constructor(free: number) {
    this.#free = free;
  }

  /** How long this one still waits [ms]; 0: try. */
  waitMs(key: string, nowMs: number): number {
    return Math.max(0, (this.#tries.get(key)?.untilMs ?? 0) - nowMs);
  }

  /** Counts a try before it is looked at: thirty at once must not all pass as the first. */
  begin(key: string, nowMs: number): void {
    const before = this.#tries.get(key);
    const wrong = before && nowMs - before.lastMs < forgottenMs ? before.wrong + 1 : 1;
    const waits = wrong < this.#free ? 0 : firstWaitMs * 2 ** (wrong - this.#free);
    this.#tries.delete(key);
    const untilMs = nowMs + Math.min(longestWaitMs, waits);
    this.#tries.set(key, { wrong, lastMs: nowMs, untilMs });
    const [oldest] = this.#tries.keys();
    if (this.#tries.size > rememberedAtMost && oldest !== undefined) this.#tries.delete(oldest);
  }

  /** It was right: what was wrong before is forgotten. */
  forget(key: string): void {
    this.#tries.delete(key);
  }

  /** It was right, and counts for nothing; what was wrong before stays. */
  takeBack(key: string): void {
    const tries = this.#tries.get(key);
    if (tries) this.#tries.set(key, { ...tries, wrong: tries.wrong - 1, untilMs: 0 });
  }
}
