import type { Judgement, StationNow } from '@setwell/shared-models/api/collector';
import type { JudgeStep } from '../judge/judge.ts';

/** What the judge says of each load and station now; the newest replaces the one before. */
export class Judgements {
  readonly #loads = new Map<string, Judgement>();
  readonly #stations = new Map<string, StationNow>();
  readonly #readyMs: (station: string) => number | null;
  readonly #listeners = new Set<(changed: (Judgement | StationNow)[]) => void>();

  /** @param readyMs when a station that heats up will be ready [ms]; the judge knows no past of it */
  constructor(readyMs: (station: string) => number | null) {
    this.#readyMs = readyMs;
  }

  look({ judgements, stations }: Pick<JudgeStep, 'judgements' | 'stations'>): void {
    for (const judgement of judgements) {
      if (judgement.state === 'sealed') this.#loads.delete(judgement.load);
      else this.#loads.set(judgement.load, judgement);
    }
    const now = stations.map((each) =>
      each.condition === 'heating' ? { ...each, readyMs: this.#readyMs(each.station) } : each,
    );
    for (const station of now) this.#stations.set(station.station, station);
    const changed = [...judgements, ...now];
    if (changed.length > 0) for (const listener of this.#listeners) listener(changed);
  }

  all(): (Judgement | StationNow)[] {
    return [...this.#stations.values(), ...this.#loads.values()];
  }

  of(load: string): Judgement | null {
    return this.#loads.get(load) ?? null;
  }

  open(): Judgement[] {
    return [...this.#loads.values()];
  }

  onChange(listener: (changed: (Judgement | StationNow)[]) => void): () => void {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  }
}
