import { dayOfMs } from '@setwell/shared-models/metrology/calendar-day';
import { measuresTemperature, type Plant, type Station } from '@setwell/shared-models/plant/plant';
import { PointHistory } from '@setwell/shared-models/score/point-history';
import { scoredSensor } from '@setwell/shared-models/score/scored-sensor';
import {
  recoveryEndMs,
  type FaceNow,
  type RunningLoad,
  type StationFacts,
} from '@setwell/shared-models/call/station-calls';
import type { JournalReader, Reading } from '../journal/shape.ts';
import type { JudgedLoad } from './judged-load.ts';
import { isScored } from './load-readings.ts';
import type { StationWatch } from './station-watch.ts';

/** A slope is taken over so long [ms], and needs so much of it. */
const slopeMs = 120_000;
const leastSlopeMs = 60_000;
/** Closer readings say nothing more of a slope [ms]. */
const everyMs = 5_000;

interface Seen {
  tMs: number;
  value: number;
}

/** What a station's readings say beside the sum of its loads: faces, slopes, pressure. */
export class StationLook {
  readonly #plant: Plant;
  readonly #journal: JournalReader;
  readonly #watch: StationWatch;
  readonly #seen = new Map<string, Seen[]>();
  /** By load: faces that have been back in their limits since the charge. */
  readonly #recovered = new Map<string, Set<string>>();
  /** By load: the most its ram has held since its start. */
  readonly #held = new Map<string, number>();

  constructor(plant: Plant, journal: JournalReader, watch: StationWatch) {
    this.#plant = plant;
    this.#journal = journal;
    this.#watch = watch;
  }

  take(reading: Reading): void {
    if (!isScored(reading)) return;
    const seen = this.#seen.get(reading.point) ?? [];
    const last = seen.at(-1);
    if (last && reading.t < last.tMs + everyMs) return;
    const value = this.#valueOf(reading);
    if (value === null) return;
    this.#seen.set(reading.point, seen);
    seen.push({ tMs: reading.t, value });
    while (seen.length > 2 && (seen[0]?.tMs ?? 0) < reading.t - slopeMs) seen.shift();
  }

  facts(
    station: Station,
    loads: JudgedLoad[],
    now: Pick<StationFacts, 'condition' | 'sinceMs' | 'nowMs'>,
  ): StationFacts {
    const running = loads.map((load) => this.#running(load, now.nowMs));
    const points = station.zones.flatMap(({ upper, lower, air }) => [upper, lower, air]);
    const faces = [...new Set(points.filter((point) => point !== null))];
    return {
      station: station.id,
      ...now,
      readyC: station.readyC,
      faces: faces.flatMap((point) => this.#face(point, now.nowMs) ?? []),
      loads: running,
      pressure: this.#pressure(station, running),
    };
  }

  /** Loads that are over are forgotten. */
  keep(names: ReadonlySet<string>): void {
    for (const kept of [this.#recovered, this.#held]) {
      for (const name of kept.keys()) if (!names.has(name)) kept.delete(name);
    }
  }

  #running(load: JudgedLoad, nowMs: number): RunningLoad {
    const { opened, recipe } = load;
    const running: RunningLoad = {
      load: opened.load,
      lot: opened.lot,
      startMs: opened.marks.pressureOn.earliestMs,
      plannedEndMs: opened.plannedEndMs,
      recipe,
      points: load.points,
      recovered: new Set(),
      released: load.marks.releaseStart !== null || load.marks.open !== null,
    };
    return { ...running, recovered: this.#recoveredOf(running, load, nowMs) };
  }

  /** Once back is back; what was read before this load was looked at first is asked of its readings. */
  #recoveredOf(running: RunningLoad, load: JudgedLoad, nowMs: number): ReadonlySet<string> {
    const limit = running.recipe?.limits?.find(({ phase }) => phase === 'hold');
    const leastC = limit?.phase === 'hold' ? limit.minC : null;
    const known = this.#recovered.get(running.load);
    const recovered = known ?? new Set<string>();
    this.#recovered.set(running.load, recovered);
    if (leastC === null) return new Set(running.points);
    // Before the middle of the time a face may still stand where it stood, the dip being on its way.
    const fromMs = (running.startMs + recoveryEndMs(running)) / 2;
    if (nowMs < fromMs) return recovered;
    const back = (point: string, { tMs, value }: Seen) =>
      tMs >= fromMs && value >= leastC && recovered.add(point);
    if (!known) {
      for (const { point, tMs, value } of load.rows()) {
        const celsius = this.#valueOf({ point, t: tMs, v: value });
        if (celsius !== null) back(point, { tMs, value: celsius });
      }
    }
    for (const point of running.points) {
      const last = this.#seen.get(point)?.at(-1);
      if (last) back(point, last);
    }
    return recovered;
  }

  #face(point: string, nowMs: number): FaceNow | null {
    const seen = this.#seen.get(point);
    const last = seen?.at(-1);
    const silentSinceMs = this.#watch.silentSince(point, nowMs);
    const sensor = this.#plant.sensors.get(point);
    const leastK = 2 * (sensor?.resolutionK ?? 0);
    if (!seen || !last) {
      if (silentSinceMs === null) return null;
      return { point, celsius: NaN, tMs: 0, slopeKPerMin: null, leastK, silentSinceMs };
    }
    const [first] = seen;
    const spanMs = first ? last.tMs - first.tMs : 0;
    const slopeKPerMin =
      first && spanMs >= leastSlopeMs ? (last.value - first.value) / (spanMs / 60_000) : null;
    return { point, celsius: last.value, tMs: last.tMs, slopeKPerMin, leastK, silentSinceMs };
  }

  #pressure(station: Station, loads: RunningLoad[]): StationFacts['pressure'] {
    const point = station.closedBy.pressure;
    const last = point === null ? undefined : this.#seen.get(point)?.at(-1);
    if (point === null || !last || loads.length === 0) return null;
    let heldValue = 0;
    for (const { load, startMs } of loads) {
      const before = this.#held.get(load) ?? this.#heldBefore(point, startMs, last.tMs);
      const held = Math.max(before, last.tMs >= startMs ? last.value : 0);
      this.#held.set(load, held);
      heldValue = Math.max(heldValue, held);
    }
    const signal = this.#plant.sensors.get(point)?.signal ?? '';
    return { point, signal, value: last.value, heldValue, tMs: last.tMs };
  }

  #heldBefore(point: string, fromMs: number, toMs: number): number {
    return Math.max(0, ...this.#journal.minutes(point, fromMs, toMs).map(({ max }) => max));
  }

  /** [°C] of a thermometer, else in the signal's own unit. */
  #valueOf({ point, t, v }: Pick<Reading, 'point' | 't' | 'v'>): number | null {
    const sensor = this.#plant.sensors.get(point);
    if (!sensor) return null;
    if (!measuresTemperature(sensor)) return v;
    const history = new PointHistory(scoredSensor(sensor, dayOfMs(t), 0));
    history.take(t, v);
    return history.valuesC[0] ?? null;
  }
}
