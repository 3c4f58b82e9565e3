import type { PointNow, ReadingFrame, ReadingQuality } from '@setwell/shared-models/api/collector';
import { celsiusOfSignal, temperatureSignalOf } from '@setwell/shared-models/metrology/signal';
import { measuresTemperature, type Plant } from '@setwell/shared-models/plant/plant';
import type { Sensor } from '@setwell/shared-models/plant/plant-schema';
import type { Batch, JournalReader } from '../journal/shape.ts';
import { silentAfterMs } from '../judge/station-condition.ts';

interface Newest {
  t: number;
  v: number;
  quality: ReadingQuality;
  receivedMs: number;
  /** Grows with each change, so that every follower knows what it has not seen. */
  change: number;
}

/** The newest value of each point, for those who look on. */
export class LiveReadings {
  readonly #plant: Plant;
  readonly #newest = new Map<string, Newest>();
  #change = 0;

  constructor(plant: Plant, journal: JournalReader) {
    this.#plant = plant;
    for (const point of plant.sensors.keys()) {
      const last = journal.lastReading(point);
      if (last) this.#set(point, last.t, last.v, last.quality, last.receivedMs);
    }
  }

  take({ receivedMs, readings }: Batch): void {
    for (const { point, t, v, quality, ahead } of readings) {
      const known = this.#newest.get(point);
      if (ahead || (known && known.t > t)) continue;
      this.#set(point, t, v, quality, receivedMs);
    }
  }

  /** Points that changed after `change`; null where none did. */
  frame(change: number, asOfMs: number): { frame: ReadingFrame; change: number } | null {
    if (change === this.#change) return null;
    const points: ReadingFrame['points'] = {};
    for (const [point, { t, v, quality, change: at }] of this.#newest) {
      if (at > change) points[point] = { t, v, quality };
    }
    return { frame: { asOfMs, points }, change: this.#change };
  }

  points(journal: JournalReader, nowMs: number): PointNow[] {
    const minuteMs = Math.floor(nowMs / 60_000) * 60_000 - 60_000;
    return [...this.#plant.sensors.values()].map((sensor) => {
      const newest = this.#newest.get(sensor.id);
      const [minute] = journal.minutes(sensor.id, minuteMs, minuteMs);
      const silent = newest ? nowMs - newest.t > silentAfterMs(sensor) : false;
      return {
        point: sensor.id,
        station: sensor.station,
        topic: sensor.topic,
        signal: sensor.signal,
        last: newest ? lastOf(sensor, newest) : null,
        perMin: minute?.count ?? 0,
        silentSinceMs: silent && newest ? newest.t : null,
      };
    });
  }

  #set(point: string, t: number, v: number, quality: ReadingQuality, receivedMs: number): void {
    this.#change += 1;
    this.#newest.set(point, { t, v, quality, receivedMs, change: this.#change });
  }
}

function lastOf(sensor: Sensor, { t, v, quality, receivedMs }: Newest): PointNow['last'] {
  const signal = measuresTemperature(sensor) ? temperatureSignalOf(sensor) : null;
  return { t, v, c: signal === null ? null : celsiusOfSignal(v, signal), receivedMs, quality };
}
