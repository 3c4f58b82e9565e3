import { singleMs } from '@setwell/shared-models/condition/closing';
import { CyclePoint } from '@setwell/shared-models/condition/cycle-point';
import { roomDay } from '@setwell/shared-models/condition/room-day';
import {
  cyclesSettingOf,
  StationCycles,
  type CycleNews,
  type CyclesSetting,
} from '@setwell/shared-models/condition/station-cycles';
import { facesOf } from '@setwell/shared-models/condition/station-edges';
import type { Plant, Station } from '@setwell/shared-models/plant/plant';
import type { Sensor } from '@setwell/shared-models/plant/plant-schema';
import type { JournalReader, Reading } from '../journal/shape.ts';
import type { ConditionStore, Found, Standing } from './condition-store.ts';

/**
 * A heat-up shows up to 20 min after it began. What began before that, seen from a quiet moment, is told;
 * and reading begins 20 min earlier still, so that what windows of minutes hold is as it was [ms].
 */
const showsWithinMs = 20 * 60_000;
/** A mark so often: after a restart the journal is read from one of them on [ms]. */
const markEveryMs = 10 * 60_000;
const dayMs = 86_400_000;
/** A day's minutes of a point take a millisecond: at midnight thousands of them would stop the way in. */
const roomsAtOnce = 40;

interface Watched {
  station: Station;
  setting: CyclesSetting;
  cycles: StationCycles;
  /** Outcomes of before are known already [ms]; batches up to this one told them. */
  knownMs: number;
}

interface PointAt {
  watched: Watched;
  course: CyclePoint;
}

/** Follows the journal with every station's cycles, and keeps in the store what they tell. */
export class ConditionFold {
  readonly #plant: Plant;
  readonly #journal: JournalReader;
  readonly #store: ConditionStore;
  readonly #watched: Watched[];
  readonly #points = new Map<string, PointAt>();
  readonly #newestC = new Map<string, { t: number; c: number }>();
  /** Rooms have days, not cycles: the day up to which they are to be told. */
  #roomsUntilMs: number | null = null;
  /** Those of them that are not told yet. */
  readonly #roomsLeft: { station: string; point: string; day: number }[] = [];
  #seq: number;
  #standing: Standing;
  #markedMs = -Infinity;
  #heardMs = -Infinity;

  constructor(plant: Plant, journal: JournalReader, store: ConditionStore) {
    this.#plant = plant;
    this.#journal = journal;
    this.#store = store;
    this.#standing = store.standing();
    const { quiet, seq } = this.#standing;
    const sensors = sensorsByStation(plant);
    this.#watched = plant.stations.map((station): Watched => {
      const setting = cyclesSettingOf(station, sensors.get(station.id) ?? [], plant);
      const quietMs = quiet.get(station.id)?.ms ?? -Infinity;
      const knownMs = quietMs - showsWithinMs;
      return { station, setting, cycles: new StationCycles(setting), knownMs };
    });
    for (const watched of this.#watched) this.#list(watched);
    const oldestMs = Math.min(...this.#watched.map(({ knownMs }) => knownMs));
    this.#seq = Math.min(seq, store.seqBefore(oldestMs - showsWithinMs));
  }

  #list(watched: Watched): void {
    const { edges, faces } = watched.setting.finder;
    for (const { point } of [...edges, ...faces, ...watched.setting.outputs]) {
      const sensor = this.#plant.sensors.get(point);
      if (sensor === undefined) continue;
      this.#points.set(point, { watched, course: new CyclePoint(sensor) });
    }
  }

  /** Share of the journal that has been read, 0 to 1. */
  get readUpTo(): number {
    const head = this.#journal.head();
    return head === 0 ? 1 : Math.min(1, this.#seq / head);
  }

  cyclesOf(station: string): StationCycles | null {
    return this.#watched.find((each) => each.station.id === station)?.cycles ?? null;
  }

  /** Newest temperature of a point [°C] and when. */
  newestC(point: string): { t: number; c: number } | null {
    return this.#newestC.get(point) ?? null;
  }

  /** Reads on, at most so many batches. @returns whether there may be more */
  readOn(mostBatches: number): boolean {
    const batches = this.#journal.batchesAfter(this.#seq, mostBatches);
    const newest = batches.at(-1);
    if (newest === undefined) return false;
    const found: Found = { features: [], heatUps: [], charges: [], closings: [] };
    for (const batch of batches) {
      for (const reading of batch.readings) this.#take(reading, found);
      if (batch.seq > this.#standing.seq) this.#noteQuiet(batch.seq);
    }
    this.#seq = newest.seq;
    this.#tellRooms(found);
    const marks = newest.receivedMs - this.#markedMs >= markEveryMs;
    if (marks) this.#markedMs = newest.receivedMs;
    this.#standing.seq = Math.max(this.#standing.seq, this.#seq);
    this.#store.save(found, this.#standing, marks ? newest.receivedMs : null);
    return batches.length === mostBatches;
  }

  #noteQuiet(seq: number): void {
    // Batches of events alone come before any reading: there is no moment yet.
    if (this.#heardMs === -Infinity) return;
    for (const { station, cycles } of this.#watched) {
      if (cycles.quiet) this.#standing.quiet.set(station.id, { seq, ms: this.#heardMs });
    }
  }

  #take(reading: Reading, found: Found): void {
    const { point, t } = reading;
    const at = this.#points.get(point);
    if (at === undefined) return;
    const { watched, course } = at;
    const value = course.take(reading);
    if (value === null) return;
    if (value === 'broken') {
      watched.cycles.takeBroken(point);
      return;
    }
    this.#heardMs = Math.max(this.#heardMs, t);
    if (course.isTemperature) this.#newestC.set(point, { t, c: value });
    this.#keep(watched, watched.cycles.take(point, t, value), found);
  }

  #keep({ station, knownMs }: Watched, news: CycleNews, found: Found): void {
    for (const row of news.features) {
      if (row.atMs >= knownMs) found.features.push({ station: station.id, row });
    }
    for (const heatUp of news.heatUps) {
      if (heatUp.startMs >= knownMs) found.heatUps.push({ station: station.id, heatUp });
    }
    for (const charge of news.charges) {
      if (charge.atMs >= knownMs) found.charges.push({ station: station.id, charge });
    }
    for (const { closing } of news.closings) {
      const { foundMs, start, end, foundBy } = closing;
      if (foundMs < knownMs) continue;
      const endMs = end === null ? null : singleMs(end);
      const stored = { startMs: foundMs, startLatestMs: start.latestMs, endMs, foundBy };
      found.closings.push({ station: station.id, closing: stored });
    }
  }

  /** Days of racks and stores that are over, from the minutes of the journal. */
  #tellRooms(found: Found): void {
    const today = Math.floor(this.#heardMs / dayMs) * dayMs;
    if (!Number.isFinite(today)) return;
    this.#roomsUntilMs ??= today - dayMs;
    for (; this.#roomsUntilMs < today; this.#roomsUntilMs += dayMs) {
      for (const { station } of this.#watched) {
        if (station.kind !== 'rack' && station.kind !== 'store') continue;
        for (const point of facesOf(station)) {
          this.#roomsLeft.push({ station: station.id, point, day: this.#roomsUntilMs });
        }
      }
    }
    for (const { station, point, day } of this.#roomsLeft.splice(0, roomsAtOnce)) {
      const minutes = this.#journal.minutes(point, day, day + dayMs - 1);
      const spans = minutes.map(({ t, ...minute }, i) => {
        const nextMs = minutes[i + 1]?.t ?? day + dayMs;
        return { ...minute, spanMin: Math.min(10, (nextMs - t) / 60_000) };
      });
      for (const row of roomDay(point, day, spans)) found.features.push({ station, row });
    }
  }
}

/** Points by the station they belong to, each in plant order. */
function sensorsByStation({ sensors }: Plant): ReadonlyMap<string, Sensor[]> {
  const byStation = new Map<string, Sensor[]>();
  for (const sensor of sensors.values()) {
    if (sensor.station === null) continue;
    const own = byStation.get(sensor.station) ?? [];
    byStation.set(sensor.station, own);
    own.push(sensor);
  }
  return byStation;
}
