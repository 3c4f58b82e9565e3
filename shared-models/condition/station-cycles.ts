import type { Plant, Station } from '../plant/plant.ts';
import type { Sensor } from '../plant/plant-schema.ts';
import type { Charge } from './charge.ts';
import type { Closing, Dip } from './closing.ts';
import { ClosingFinder } from './closing-finder.ts';
import type { FinderSetting, Told } from './closing-finder.ts';
import type { FeatureRow } from './feature.ts';
import { HeatUpWatch } from './heat-up.ts';
import type { HeatUp } from './heat-up.ts';
import { OutputWatch } from './output-watch.ts';
import { PressureWatch } from './pressure-watch.ts';
import { ShutDownWatch } from './shut-down.ts';
import { finderSettingOf } from './station-edges.ts';

/** What a station's cycles are read from. */
export interface CyclesSetting {
  station: string;
  finder: FinderSetting;
  /** Ready when every face is so hot [°C]; null: it is never heated up, or nobody says how hot. */
  readyC: number | null;
  /** Points of its heating's output [%] and current [A]. */
  outputs: Output[];
}

interface Output {
  point: string;
  unit: '%' | 'A';
}

/** What a reading has made known. */
export interface CycleNews {
  features: FeatureRow[];
  /** Heat-ups that are over. */
  heatUps: HeatUp[];
  /** Charges from which a face has come back, or not. */
  charges: Charge[];
  closings: Told[];
}

/** @param own points of the station */
export function cyclesSettingOf(
  station: Station,
  own: readonly Sensor[],
  plant: Plant,
): CyclesSetting {
  const outputs = own.flatMap(({ id, signal }): Output[] => {
    if (signal === 'percent' && !/-rh$/.test(id)) return [{ point: id, unit: '%' }];
    return signal === 'ampere' ? [{ point: id, unit: 'A' }] : [];
  });
  const finder = finderSettingOf(station, plant);
  return { station: station.id, finder, readyC: station.readyC, outputs };
}

/**
 * Everything that one station's readings say of its condition, as they come: closings, heat-ups, and a
 * value a cycle of each feature. Readings of one point come in order of time.
 */
export class StationCycles {
  readonly #setting: CyclesSetting;
  readonly #finder: ClosingFinder;
  readonly #heatUps = new Map<string, HeatUpWatch>();
  readonly #shutDowns = new Map<string, ShutDownWatch>();
  readonly #outputs = new Map<string, OutputWatch>();
  /** Newest reading of each face [°C]. */
  readonly #facesC = new Map<string, number>();
  readonly #pressures = new Map<string, PressureWatch>();
  readonly #told = new WeakSet<Dip>();
  /** Dips that are told when they are over. */
  #open: { dip: Dip; closing: Closing }[] = [];
  /** Impossible readings since the last charge, by face. */
  readonly #broken = new Map<string, number>();

  constructor(setting: CyclesSetting) {
    this.#setting = setting;
    this.#finder = new ClosingFinder(setting.finder);
    for (const { point } of setting.finder.faces) {
      this.#shutDowns.set(point, new ShutDownWatch(point));
      if (setting.readyC !== null) {
        this.#heatUps.set(point, new HeatUpWatch({ point, readyC: setting.readyC }));
      }
    }
    for (const { point, by } of setting.finder.edges) {
      if (by === 'pressure') this.#pressures.set(point, new PressureWatch(point));
    }
    for (const { point, unit } of setting.outputs) {
      this.#outputs.set(point, new OutputWatch(point, unit));
    }
  }

  get closings(): readonly Closing[] {
    return this.#finder.closings;
  }

  /** Heat-ups that are under way, in plant order. */
  heatingUp(): HeatUp[] {
    return [...this.#heatUps.values()].flatMap(({ heatUp }) =>
      heatUp === null || heatUp.done ? [] : [heatUp],
    );
  }

  /** Whether no cycle is under way: what comes next can be told without what came before. */
  get quiet(): boolean {
    const last = this.#finder.closings.at(-1);
    const closed = last !== undefined && last.end === null && last.foundBy !== 'dip';
    const cooling = [...this.#shutDowns.values()].some((watch) => watch.cooling);
    return !closed && !cooling && this.#open.length === 0 && this.heatingUp().length === 0;
  }

  /** A reading that no plate can give: out of its range, or steeper than any. */
  takeBroken(point: string): void {
    if (this.#facesC.has(point)) this.#broken.set(point, (this.#broken.get(point) ?? 0) + 1);
  }

  /** @param value [°C] of a face, else in the signal's own unit */
  take(point: string, tMs: number, value: number): CycleNews {
    const news: CycleNews = { features: [], heatUps: [], charges: [], closings: [] };
    this.#outputs.get(point)?.take(tMs, value);
    this.#pressures.get(point)?.take(tMs, value);
    news.closings = this.#finder.take(point, tMs, value);
    for (const told of news.closings) this.#takeTold(told, news);
    const heatUps = this.#heatUps.get(point);
    const isFace = this.#shutDowns.has(point);
    if (!isFace) return news;
    this.#facesC.set(point, value);
    const over = heatUps?.take(tMs, value) ?? null;
    if (over !== null && heatUps !== undefined) this.#heatedUp(over, heatUps, news);
    const loss = this.#shutDowns.get(point)?.take(tMs, value) ?? null;
    if (loss !== null) news.features.push(loss);
    this.#tellDips(tMs, news);
    return news;
  }

  #heatedUp(heatUp: HeatUp, watch: HeatUpWatch, news: CycleNews): void {
    news.heatUps.push(heatUp);
    news.features.push(...watch.features());
    const { readyMs, startMs, startC } = heatUp;
    const others = [...this.#heatUps.values()].filter((other) => other !== watch);
    const last = others.every(({ heatUp: other }) => other === null || other.done);
    if (readyMs === null || heatUp.interrupted !== null || !last) return;
    const facesC = [...this.#facesC.values()];
    if (facesC.length < 2) return;
    const value = Math.max(...facesC) - Math.min(...facesC);
    const { station } = this.#setting;
    news.features.push({ feature: 'spread', point: station, atMs: startMs, value, startC });
  }

  #takeTold({ what, closing }: Told, news: CycleNews): void {
    const atMs = closing.foundMs;
    if (what === 'opened') {
      for (const watch of this.#pressures.values()) {
        const row = closing.end === null ? null : watch.decay(closing.start, closing.end);
        if (row !== null) news.features.push(row);
      }
      return;
    }
    for (const watch of this.#outputs.values()) {
      const row = watch.atHold(atMs);
      if (row !== null) news.features.push(row);
    }
    for (const watch of this.#heatUps.values()) {
      const over = watch.loaded(closing.start.earliestMs);
      if (over !== null) this.#heatedUp(over, watch, news);
    }
    for (const point of this.#facesC.keys()) {
      const value = this.#broken.get(point) ?? 0;
      news.features.push({ feature: 'open-circuits', point, atMs, value, startC: null });
    }
    this.#broken.clear();
  }

  /** Takes up the dips of the newest closings, and tells those that are over. */
  #tellDips(nowMs: number, news: CycleNews): void {
    for (const closing of this.#finder.closings.slice(-2)) {
      for (const dip of closing.dips) {
        if (this.#told.has(dip)) continue;
        this.#told.add(dip);
        this.#open.push({ dip, closing });
        const { point, levelC: value } = dip;
        const atMs = closing.foundMs;
        news.features.push({ feature: 'hold-level', point, atMs, value, startC: null });
      }
    }
    this.#open = this.#open.filter(({ dip, closing }) => {
      const { point, levelC, bottomC, recoveredMs, start, fallKPerMin, riseKPerMin } = dip;
      const over = recoveredMs !== null || nowMs - start.bestMs > longestDipMs;
      if (!over) return true;
      const atMs = closing.foundMs;
      const row = { point, atMs, startC: null };
      news.charges.push({ point, atMs, belowK: dip.belowK });
      news.features.push({ ...row, feature: 'dip-depth', value: levelC - bottomC });
      if (fallKPerMin > 0 && riseKPerMin > 0) {
        news.features.push({ ...row, feature: 'charge-fall', value: fallKPerMin });
        news.features.push({ ...row, feature: 'charge-rise', value: riseKPerMin });
      }
      if (recoveredMs !== null) {
        // From the last moment it may have begun: what is known of it at the least.
        const value = (recoveredMs - closing.start.bestMs) / 60_000;
        news.features.push({ ...row, feature: 'recovery', value });
      }
      return false;
    });
  }
}

/** A face that has not come back after so long is told with its depth alone [ms]. */
const longestDipMs = 45 * 60_000;
