import type { LiveFrame } from '@setwell/shared-models/api/floor';
import { Problem } from '../problem.ts';
import { readsEveryHall, rightsOfJob } from './rights.ts';
import type { Principal } from './who.ts';

/** Where things stand, as far as it is known. */
export interface Whereabouts {
  /** Null before the collector has been met. */
  stations: () => readonly { id: string; hall: string | null }[] | null;
  /** The station of a load or of a call; null where it is about none, or none is known. */
  stationOf: (kind: 'load' | 'call', id: string) => string | null;
  /** Undefined: no such point; null: it is of no station. */
  stationOfPoint: (point: string) => Promise<string | null | undefined>;
  stationsOfLot: (lot: string) => string[];
}

/** The halls that somebody's reading is kept to; null: to none. */
export function hallsRead(principal: Principal): readonly string[] | null {
  if (principal.kind === 'device') {
    return principal.device.hall === null ? null : [principal.device.hall];
  }
  if (principal.kind !== 'person') return null;
  const { jobs, halls } = principal.person;
  return jobs.some((job) => rightsOfJob[job].includes(readsEveryHall)) ? null : halls;
}

/**
 * What somebody with halls of his own reads: the one place that every answer and every frame of the
 * stream passes. A station that is not known is not shown; what stands in no hall is everybody's.
 */
export class HallReach {
  readonly #halls: readonly string[];
  readonly #where: Whereabouts;

  constructor(halls: readonly string[], where: Whereabouts) {
    this.#halls = halls;
    this.#where = where;
  }

  /** @throws Problem 404 for what stands in another hall, as for what does not exist */
  async demand(
    path: string,
    params: Record<string, string>,
    query: Record<string, unknown>,
  ): Promise<void> {
    const { id, station, point } = params;
    const refuse = (what: string, name: string): never => {
      throw new Problem(404, 'not-found', `No ${what} "${name}" is known.`);
    };
    const text = (value: unknown) => (typeof value === 'string' ? value : undefined);
    const named = station ?? (path.startsWith('/stations/') ? id : text(query['station']));
    if (named !== undefined && !this.#sees(named)) refuse('station', named);
    if (id !== undefined && path.startsWith('/loads/') && !this.#seesLoad(id)) refuse('load', id);
    if (id !== undefined && path.startsWith('/calls/') && !this.#seesCall(id)) refuse('call', id);
    if (id !== undefined && path.startsWith('/lots/')) {
      const stations = this.#where.stationsOfLot(id);
      if (!stations.some((each) => this.#sees(each))) refuse('lot', id);
    }
    const points = text(query['points'])?.split(',') ?? [];
    const asked = [
      ...(point === undefined ? [] : [point]),
      ...(id !== undefined && path.startsWith('/points/') ? [id] : []),
      ...(text(query['point']) === undefined ? [] : [String(query['point'])]),
      ...(path.startsWith('/surveys/') ? points : []),
    ];
    for (const each of asked) {
      const of = await this.#where.stationOfPoint(each);
      // A survey's plan names a logger's columns too, which are no points.
      const isFree = of === undefined && path === '/surveys/{station}/plan';
      if (!isFree && (of === undefined || (of !== null && !this.#sees(of)))) refuse('point', each);
    }
  }

  /** The same value without what says that it is of another hall, at any depth. */
  of<T>(value: T): T {
    return this.#kept(value) as T;
  }

  /** The same for a frame of the stream, which names what is gone by its key alone. */
  frame(frame: LiveFrame): LiveFrame {
    const { loads, calls } = frame;
    const own: LiveFrame = { ...frame };
    if (loads !== undefined) own.loads = this.#withoutGone('load', loads);
    if (calls !== undefined) own.calls = this.#withoutGone('call', calls);
    return this.of(own);
  }

  #withoutGone<T>(kind: 'load' | 'call', changes: Record<string, T | null>) {
    const own = Object.entries(changes).filter(([id, value]) => {
      const station = value === null ? this.#where.stationOf(kind, id) : null;
      return station === null || this.#sees(station);
    });
    return Object.fromEntries(own);
  }

  #kept(value: unknown): unknown {
    if (Array.isArray(value)) {
      return value.filter((item) => this.#isSeen(item)).map((item) => this.#kept(item));
    }
    if (!isRecord(value)) return value;
    const entries = Object.entries(value).filter(([, item]) => this.#isSeen(item));
    return Object.fromEntries(
      entries.map(([key, item]) => [
        key,
        key === 'stations' && isNames(item)
          ? item.filter((station) => this.#sees(station))
          : this.#kept(item),
      ]),
    );
  }

  #isSeen(item: unknown): boolean {
    if (!isRecord(item)) return true;
    const { hall, station, stations, load, topic } = item;
    if (typeof hall === 'string') return this.#seesHall(hall);
    if (typeof station === 'string') return this.#sees(station);
    if (isNames(stations)) return stations.some((each) => this.#sees(each));
    if (isRecord(load)) return this.#isSeen(load);
    if (typeof load === 'string') return this.#seesLoad(load);
    // A message that was set aside is known by its topic alone, which names its station as a level.
    return typeof topic !== 'string' || station === null || this.#seesTopic(topic);
  }

  #seesTopic(topic: string): boolean {
    return this.#hasOneHall() || topic.split('/').some((level) => this.#sees(level));
  }

  #seesLoad(id: string): boolean {
    const station = this.#where.stationOf('load', id);
    return this.#hasOneHall() || (station !== null && this.#sees(station));
  }

  #seesCall(id: string): boolean {
    const station = this.#where.stationOf('call', id);
    return station === null || this.#sees(station);
  }

  #sees(station: string): boolean {
    if (this.#hasOneHall()) return true;
    const known = this.#where.stations()?.find(({ id }) => id === station);
    return known !== undefined && (known.hall === null || this.#seesHall(known.hall));
  }

  #seesHall(hall: string): boolean {
    return this.#hasOneHall() || this.#halls.includes(hall);
  }

  /** Where there is one hall, or none is named, there is nothing to keep apart. */
  #hasOneHall(): boolean {
    const stations = this.#where.stations();
    if (stations === null) return false;
    return new Set(stations.flatMap(({ hall }) => hall ?? [])).size < 2;
  }
}

function isRecord(value: unknown): value is Record<string, unknown> {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}

function isNames(value: unknown): value is string[] {
  return (
    Array.isArray(value) && value.length > 0 && value.every((each) => typeof each === 'string')
  );
}
