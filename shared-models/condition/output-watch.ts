import type { FeatureRow } from './feature.ts';

/** What heating takes at hold is the mean of so long before a charge [ms]. */
const holdMs = 5 * 60_000;
/** And of so many readings at least. */
const leastReadings = 3;

/** An output or a current of the heating, of which a value at hold is taken before each charge. */
export class OutputWatch {
  readonly #point: string;
  readonly #unit: '%' | 'A';
  #recent: { tMs: number; value: number }[] = [];

  constructor(point: string, unit: '%' | 'A') {
    this.#point = point;
    this.#unit = unit;
  }

  take(tMs: number, value: number): void {
    const recent = this.#recent;
    if (tMs <= (recent.at(-1)?.tMs ?? -Infinity)) return;
    recent.push({ tMs, value });
    const old = recent.findIndex((reading) => reading.tMs > tMs - 2 * holdMs);
    if (old > 0) recent.splice(0, old);
  }

  /** Mean of the hold before a charge; null where too little was read of it. */
  atHold(chargedMs: number): FeatureRow | null {
    const hold = this.#recent.filter(({ tMs }) => tMs < chargedMs && tMs >= chargedMs - holdMs);
    if (hold.length < leastReadings) return null;
    const value = hold.reduce((sum, each) => sum + each.value, 0) / hold.length;
    const feature = this.#unit === '%' ? 'output-at-hold' : 'current-at-hold';
    return { feature, point: this.#point, atMs: chargedMs, value, startC: null };
  }
}
