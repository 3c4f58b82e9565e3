import { FaultWatch } from '@setwell/shared-models/metrology/fault/fault-watch';
import { shownBy, watchedPoint } from '@setwell/shared-models/metrology/fault/watched-point';
import type { InstrumentActs } from '@setwell/shared-models/metrology/instrument-acts';
import type { Plant } from '@setwell/shared-models/plant/plant';
import type { FaultFound, FaultOver } from '@setwell/shared-models/record/bodies';
import type { Reading } from '../journal/shape.ts';
import type { Proposal } from '../ledger/shape.ts';

/** Rules are asked so often [ms of plant time]. */
const lookEveryMs = 10_000;

/** Whoever watches the stations tells of silence, and of nothing else the rules see. */
const toldElsewhere = 'silent';

interface OfPoint {
  shownC(raw: number): number | null;
  tMs: number;
  raw: number;
}

/** What the fault rules find in the plant's readings, as entries: each said once, and once when it is over. */
export class PointFaults {
  readonly #plant: Plant;
  readonly #watch: FaultWatch;
  readonly #points = new Map<string, OfPoint>();
  #lookedMs = -Infinity;

  constructor(plant: Plant, acts: InstrumentActs, nowMs: number) {
    this.#plant = plant;
    const sensors = [...plant.sensors.values()];
    this.#watch = new FaultWatch(sensors.map(watchedPoint));
    for (const sensor of sensors) {
      this.#points.set(sensor.id, { shownC: shownBy(sensor), tMs: -Infinity, raw: NaN });
    }
    this.#watch.resume(
      [...acts.faults.keys()].flatMap((point) => acts.lasting(point)),
      nowMs,
    );
  }

  take({ point, t, v, quality }: Reading, receivedMs: number): void {
    const own = this.#points.get(point);
    // What was kept by the broker from before tells nothing of now.
    if (own === undefined || quality === 'retained-old') return;
    const conflict = t === own.tMs && v !== own.raw;
    this.#watch.take(point, { tMs: t, receivedMs, raw: v, shownC: own.shownC(v), conflict });
    if (t < own.tMs) return;
    own.tMs = t;
    own.raw = v;
  }

  /** A cold charge has come into a load's zones. */
  loaded(points: readonly string[], startMs: number): void {
    this.#watch.loaded(points, startMs);
  }

  look(nowMs: number): Proposal[] {
    if (nowMs - this.#lookedMs < lookEveryMs) return [];
    this.#lookedMs = nowMs;
    return this.#watch.look(nowMs).flatMap((found): Proposal[] => {
      if (found.rule === toldElsewhere) return [];
      const { change, ...told } = found;
      const station = this.#plant.sensors.get(found.point)?.station;
      const about = { ...(station ? { station } : {}), sensor: found.point };
      const said = { by: 'collector', about };
      if (change === 'over') return [{ ...said, kind: 'fault-over', body: told as FaultOver }];
      const body = { ...told, seenMs: nowMs } as FaultFound;
      return [{ ...said, kind: 'fault-found', body }];
    });
  }
}
