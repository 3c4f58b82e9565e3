import type { StationNow } from '@setwell/shared-models/api/collector';
import type { Plant } from '@setwell/shared-models/plant/plant';
import type { JournalReader, Reading } from '../journal/shape.ts';
import type { StationService } from './ledger-fold.ts';
import { isScored } from './load-readings.ts';
import { silentAfterMs, StationCondition } from './station-condition.ts';

/** What is heard of the plant's points, whether there is a load or not. */
export class StationWatch {
  readonly #plant: Plant;
  readonly #startedMs: number;
  readonly #conditions: StationCondition[];
  /** Newest scored reading of each point. */
  readonly #newest = new Map<string, Reading>();

  constructor(plant: Plant, journal: JournalReader, startedMs: number) {
    this.#plant = plant;
    this.#startedMs = startedMs;
    this.#conditions = plant.stations.map((station) => new StationCondition(station));
    for (const { points } of this.#conditions) {
      for (const point of points) {
        const last = journal.lastReading(point);
        if (last) this.take(last);
      }
    }
  }

  take(reading: Reading): void {
    const newest = this.#newest.get(reading.point);
    if (isScored(reading) && (!newest || reading.t > newest.t)) {
      this.#newest.set(reading.point, reading);
    }
  }

  /** Since when a point has been silent [ms]; null while it speaks. */
  silentSince(point: string, nowMs: number): number | null {
    const last = this.#newest.get(point)?.t ?? this.#startedMs;
    return nowMs - last > silentAfterMs(this.#plant.sensors.get(point)) ? last : null;
  }

  /** After a start the backlog comes first: whether a point's could have come by now. */
  couldHaveSpoken(point: string, nowMs: number): boolean {
    return nowMs - this.#startedMs >= silentAfterMs(this.#plant.sensors.get(point));
  }

  /**
   * @param loaded names of the stations with an open load
   * @param services stations that are not in service
   */
  look(
    loaded: ReadonlySet<string>,
    services: ReadonlyMap<string, StationService>,
    nowMs: number,
  ): StationNow[] {
    return this.#conditions.map((condition) => {
      const fresh = condition.points
        .filter((point) => this.silentSince(point, nowMs) === null)
        .map((point) => this.#newest.get(point))
        .filter((reading) => reading !== undefined);
      const { station } = condition;
      const now = condition.next(loaded.has(station), fresh, nowMs);
      return { ...now, service: services.get(station) ?? null };
    });
  }
}
