/** Numbers that look random and are the same for the same seed. @source Mulberry32 (T. Ettinger, public domain) */
export class Chance {
  #state: number;

  constructor(seed: number) {
    this.#state = seed >>> 0;
  }

  /** In [0, 1). */
  next(): number {
    this.#state = (this.#state + 0x6d2b79f5) >>> 0;
    let t = this.#state;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  }

  /** Whether something of this probability happens now. */
  happens(probability: number): boolean {
    return this.next() < probability;
  }

  /** An integer from 0 to below `count`. */
  below(count: number): number {
    return Math.floor(this.next() * count);
  }
}
