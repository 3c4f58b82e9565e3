import type { FeatureRow } from './feature.ts';

/** The loss is taken between these two [°C]: below any press at work, above any room. */
const fromC = 120;
const toC = 100;
/** Faster is a cold charge or an open door, slower is not heated off [ms]. */
const leastMs = 4 * 60_000;
const mostMs = 6 * 3_600_000;
/** Across a longer silence nobody knows when it passed [ms]. */
const silentMs = 12 * 60_000;

/** Watches one face cool with the heat off, and takes how fast. */
export class ShutDownWatch {
  readonly #point: string;
  #passed: number | null = null;
  #before: { tMs: number; c: number } | null = null;

  constructor(point: string) {
    this.#point = point;
  }

  /** Whether it is on the way between the two. */
  get cooling(): boolean {
    return this.#passed !== null;
  }

  take(tMs: number, c: number): FeatureRow | null {
    const before = this.#before;
    if (before !== null && tMs <= before.tMs) return null;
    this.#before = { tMs, c };
    if (before === null) return null;
    if (tMs - before.tMs > silentMs) {
      this.#passed = null;
      return null;
    }
    if (before.c >= fromC && c < fromC) this.#passed = crossedMs(before, { tMs, c }, fromC);
    if (c >= fromC) this.#passed = null;
    if (this.#passed === null || c > toC) return null;
    const fromMs = this.#passed;
    this.#passed = null;
    const tookMs = crossedMs(before, { tMs, c }, toC) - fromMs;
    if (tookMs < leastMs || tookMs > mostMs) return null;
    const value = (fromC - toC) / (tookMs / 60_000);
    return { feature: 'idle-loss', point: this.#point, atMs: fromMs, value, startC: null };
  }
}

interface Sample {
  tMs: number;
  c: number;
}

function crossedMs(a: Sample, b: Sample, c: number): number {
  return a.tMs + ((a.c - c) / (a.c - b.c)) * (b.tMs - a.tMs);
}
