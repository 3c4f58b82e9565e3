import type { StationNow } from '@setwell/shared-models/api/collector';
import type { Sensor } from '@setwell/shared-models/plant/plant-schema';
import type { Station } from '@setwell/shared-models/plant/plant';
import type { Reading } from '../journal/shape.ts';

/** A change by less than this is neither heating nor cooling [K]. */
const noticedK = 0.5;

/**
 * How long a point may be silent before somebody is told [ms]: five of its own intervals, and never
 * less than two minutes, for gateways hold readings back and send them together.
 */
export function silentAfterMs(sensor: Sensor | undefined): number {
  const intervalS = sensor?.report?.heartbeatS ?? sensor?.everyS ?? 60;
  return Math.max(120, 5 * intervalS) * 1000;
}

/** What a station is between loads, or with them; keeps since when. */
export class StationCondition {
  readonly #station: Station;
  #now: StationNow;
  #meanC: number | null = null;
  #rising = false;

  constructor(station: Station) {
    this.#station = station;
    this.#now = {
      type: 'station',
      station: station.id,
      condition: 'no-readings',
      sinceMs: null,
      readyMs: null,
      asOfMs: 0,
      service: null,
    };
  }

  get station(): string {
    return this.#station.id;
  }

  /** The points of its zones, each once. */
  get points(): string[] {
    const { zones } = this.#station;
    const points = zones.flatMap(({ upper, lower, air }) => [upper, lower, air]);
    return [...new Set(points.filter((point) => point !== null))];
  }

  /** @param last newest readings of the station's zones; empty where none is fresh */
  next(loaded: boolean, last: Reading[], nowMs: number): StationNow {
    const condition = this.#conditionOf(loaded, last);
    const same = condition === this.#now.condition;
    const sinceMs = same ? this.#now.sinceMs : nowMs;
    this.#now = { ...this.#now, condition, sinceMs, asOfMs: nowMs };
    return this.#now;
  }

  #conditionOf(loaded: boolean, last: Reading[]): StationNow['condition'] {
    if (loaded) return 'loaded';
    if (last.length === 0) return 'no-readings';
    const { readyC } = this.#station;
    if (readyC === null) return 'empty';
    const meanC = last.reduce((sum, { v }) => sum + v, 0) / last.length;
    const changeK = meanC - (this.#meanC ?? meanC);
    if (this.#meanC === null || Math.abs(changeK) > noticedK) {
      this.#meanC = meanC;
      this.#rising = changeK > 0;
    }
    if (Math.min(...last.map(({ v }) => v)) >= readyC) return 'empty';
    return this.#rising ? 'heating' : 'cold';
  }
}
