import { linearRegression } from 'simple-statistics';
import type { Between } from './closing.ts';
import type { FeatureRow } from './feature.ts';

/** The ram builds up its pressure first, and lets it off in steps last [ms]. */
const buildsUpMs = 2 * 60_000;
const letsOffMs = 3 * 60_000;
const leastReadings = 5;
/** A closing of a day at a reading a second would be more: then every other one is left out. */
const mostReadings = 4096;

/** The gauge of a press while it is closed: what its seals let go. */
export class PressureWatch {
  readonly #point: string;
  #held: { tMs: number; bar: number }[] = [];

  constructor(point: string) {
    this.#point = point;
  }

  take(tMs: number, bar: number): void {
    this.#held.push({ tMs, bar });
    if (this.#held.length > mostReadings) this.#held = this.#held.filter((_, i) => i % 2 === 0);
  }

  /** Loss while a closing held [bar/min]; null where too little was read of it. */
  decay(start: Between, end: Between): FeatureRow | null {
    const held = this.#held.filter(
      ({ tMs }) => tMs > start.latestMs + buildsUpMs && tMs < end.earliestMs - letsOffMs,
    );
    this.#held = [];
    if (held.length < leastReadings) return null;
    const { m } = linearRegression(
      held.map(({ tMs, bar }) => [(tMs - start.latestMs) / 60_000, bar]),
    );
    const [point, atMs] = [this.#point, start.bestMs];
    return { feature: 'pressure-decay', point, atMs, value: -m, startC: null };
  }
}
