import type { PointNow, ReadingFrame, ReadingQuality } from '@setwell/shared-models/api/collector';
import { celsiusOfSignal, temperatureSignalOf } from '@setwell/shared-models/metrology/signal';
import { measuresTemperature, type Plant } from '@setwell/shared-models/plant/plant';
import type { Sensor } from '@setwell/shared-models/plant/plant-schema';
import { minuteMs, minuteOf } from '../journal/reading-index.ts';
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

/** Readings of the newest minute that a point has told of, and of the one before it. */
interface Minutes {
  newestMs: number;
  count: number;
  countBefore: number;
}

/** A line of so many points stays far below what a reader of lines takes. */
const mostInFrame = 5000;

/** The newest value of each point, for those who look on. */
export class LiveReadings {
  readonly #plant: Plant;
  readonly #newest = new Map<string, Newest>();
  readonly #minutes = new Map<string, Minutes>();
  readonly #listeners = new Set<() => void>();
  #change = 0;

  constructor(plant: Plant, journal: JournalReader) {
    this.#plant = plant;
    for (const point of plant.sensors.keys()) {
      const last = journal.lastReading(point);
      if (last === null) continue;
      this.#set(point, last.t, last.v, last.quality, last.receivedMs);
      const newestMs = minuteOf(last.t);
      for (const { t, count } of journal.minutes(point, newestMs - minuteMs, newestMs)) {
        this.#count(point, t, count);
      }
    }
  }

  /** Called after each batch that has brought something newer. The answer unsubscribes. */
  onChange(listener: () => void): () => void {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  }

  take({ receivedMs, readings }: Batch): void {
    const before = this.#change;
    for (const { point, t, v, quality, ahead } of readings) {
      if (!ahead && (quality === 'good' || quality === 'late')) this.#count(point, t, 1);
      const known = this.#newest.get(point);
      if (ahead || (known && known.t > t)) continue;
      this.#set(point, t, v, quality, receivedMs);
    }
    if (this.#change > before) for (const listener of this.#listeners) listener();
  }

  /** Points that changed after `change`, in frames of a bounded size; none where none did. */
  frames(change: number, asOfMs: number): { frames: ReadingFrame[]; change: number } {
    const frames: ReadingFrame[] = [];
    if (change === this.#change) return { frames, change };
    let count = 0;
    for (const [point, { t, v, quality, change: at }] of this.#newest) {
      if (at <= change) continue;
      if (count % mostInFrame === 0) frames.push({ asOfMs, points: {} });
      count += 1;
      const station = this.#plant.sensors.get(point)?.station ?? null;
      const frame = frames.at(-1);
      if (frame !== undefined) frame.points[point] = { t, v, quality, station };
    }
    return { frames, change: this.#change };
  }

  /** @param beside only this point and the others of its station; absent: all */
  points(nowMs: number, beside?: string): PointNow[] {
    const near = beside === undefined ? undefined : this.#plant.sensors.get(beside);
    const sensors = [...this.#plant.sensors.values()].filter(
      (sensor) => near === undefined || sensor.station === near.station,
    );
    return sensors.map((sensor) => {
      const newest = this.#newest.get(sensor.id);
      return {
        point: sensor.id,
        station: sensor.station,
        topic: sensor.topic,
        signal: sensor.signal,
        last: newest ? lastOf(sensor, newest) : null,
        perMin: this.#countOf(sensor.id, minuteOf(nowMs) - minuteMs),
        silentSinceMs: this.silentSinceMs(sensor.id, nowMs),
      };
    });
  }

  /** Since when a point that has spoken once is silent [ms]; null while it is not. */
  silentSinceMs(point: string, nowMs: number): number | null {
    const newest = this.#newest.get(point);
    if (newest === undefined) return null;
    return nowMs - newest.t > silentAfterMs(this.#plant.sensors.get(point)) ? newest.t : null;
  }

  #count(point: string, t: number, more: number): void {
    const atMs = minuteOf(t);
    const own = this.#minutes.get(point) ?? { newestMs: atMs, count: 0, countBefore: 0 };
    this.#minutes.set(point, own);
    if (atMs > own.newestMs) {
      own.countBefore = atMs === own.newestMs + minuteMs ? own.count : 0;
      own.count = 0;
      own.newestMs = atMs;
    }
    if (atMs === own.newestMs) own.count += more;
    else if (atMs === own.newestMs - minuteMs) own.countBefore += more;
  }

  #countOf(point: string, atMs: number): number {
    const own = this.#minutes.get(point);
    if (own?.newestMs === atMs) return own.count;
    return own?.newestMs === atMs + minuteMs ? own.countBefore : 0;
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
