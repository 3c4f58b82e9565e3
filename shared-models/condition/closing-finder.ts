import type { Between, Closing, Dip, FoundBy } from './closing.ts';
import { between, narrowed, near } from './closing.ts';
import { DipWatch } from './dip-watch.ts';
import { EdgeWatch } from './edge-watch.ts';
import type { Edge, EdgeLevels } from './edge-watch.ts';

/** A signal that shows when a station is closed. */
export interface EdgeSource extends EdgeLevels {
  point: string;
  by: Exclude<FoundBy, 'dip'>;
}

/** A measured face. */
export interface Face {
  point: string;
  /** Of its element under the face [mm]. */
  depthMm: number;
}

export interface FinderSetting {
  /** Best first: an edge of a later one counts only while those before it are silent. */
  edges: readonly EdgeSource[];
  faces: readonly Face[];
  /** From here on a cold charge would be seen as a dip [°C]. */
  hotC: number;
}

/** What a reading has told: a closing that is new, or one that has ended. */
export interface Told {
  what: 'closed' | 'opened';
  closing: Closing;
}

/** A source that has said nothing for so long does not decide [ms]. */
const silentMs = 5 * 60_000;
/** Faces of one charge dip together, but for a press that closes slowly and a gateway that hangs [ms]. */
const togetherMs = 90_000;
/** A charge may lie on the lower face for so long before the press is shut and its gauge says so [ms]. */
const layingMs = 3 * 60_000;
/** Closings that readings may still come for. A gateway holds readings back for minutes, not for hours. */
const keptClosings = 16;

/**
 * Finds the closings of one station in its readings, as they come.
 *
 * Readings of one point come in order of time; those of different points need not: a gateway holds them
 * back. Edges of pressure, limit switch or door decide while they are heard. Without them a closing is
 * what two faces (or all, where there are fewer) show together: a face alone is a loose element.
 */
export class ClosingFinder {
  readonly #sources: { source: EdgeSource; watch: EdgeWatch }[];
  readonly #faces = new Map<string, DipWatch>();
  readonly #hotC: number;
  readonly #closings: Closing[] = [];
  /** Dips that belong to no closing yet. */
  #alone: Dip[] = [];

  constructor({ edges, faces, hotC }: FinderSetting) {
    this.#sources = edges.map((source) => ({ source, watch: new EdgeWatch(source) }));
    for (const { point, depthMm } of faces) this.#faces.set(point, new DipWatch(point, depthMm));
    this.#hotC = hotC;
  }

  /** The newest closings, oldest first; their ends and dips may still grow. */
  get closings(): readonly Closing[] {
    return this.#closings;
  }

  /** @param value [°C] of a face, else in the signal's own unit */
  take(point: string, tMs: number, value: number): Told[] {
    const face = this.#faces.get(point);
    if (face !== undefined) {
      const dip = face.take(tMs, value);
      return dip === null ? [] : this.#takeDip(dip);
    }
    const rank = this.#sources.findIndex(({ source }) => source.point === point);
    const found = this.#sources[rank];
    if (found === undefined) return [];
    // A door is 1 while it is open.
    const closed = found.source.by === 'door' ? 1 - value : value;
    const told = found.watch.take(tMs, closed).flatMap((edge) => this.#takeEdge(edge, rank));
    return [...told, ...this.#matchAlone()];
  }

  #takeEdge(edge: Edge, rank: number): Told[] {
    const source = this.#sources[rank]?.source;
    if (source === undefined || this.#decided(edge.at, rank)) return [];
    const last = this.#closings.at(-1);
    if (edge.to === 'open') {
      if (last?.end !== null || last.foundBy === 'dip') return [];
      if (edge.at.latestMs <= last.start.earliestMs) return [];
      last.end = edge.at;
      last.endEarliestMs = edge.at.earliestMs;
      return [{ what: 'opened', closing: last }];
    }
    const same = this.#closings.find(
      ({ start, foundBy }) => foundBy === 'dip' && near(start, edge.at, layingMs),
    );
    if (same !== undefined) {
      same.foundBy = source.by;
      same.start = near(same.start, edge.at, 0) ? narrowed(same.start, edge.at) : edge.at;
      return [];
    }
    return this.#begin(edge.at, source.by, []);
  }

  /** Whether a better source is heard around a moment, so that this one has nothing to say. */
  #decided(at: Between, rank: number): boolean {
    return this.#sources
      .slice(0, rank)
      .some(({ watch }) => watch.lastMs > at.latestMs - silentMs && Number.isFinite(watch.lastMs));
  }

  #takeDip(dip: Dip): Told[] {
    if (dip.levelC < this.#hotC) return [];
    this.#alone.push(dip);
    return this.#matchAlone();
  }

  /** Gives each dip to the closing it came with, or makes one of those that came together. */
  #matchAlone(): Told[] {
    this.#alone = this.#alone.filter((dip) => {
      const closing = this.#closings
        .filter(({ start, foundBy }) =>
          near(start, dip.start, foundBy === 'dip' ? togetherMs : layingMs),
        )
        .at(-1);
      if (closing === undefined) return true;
      closing.dips.push(dip);
      if (closing.foundBy === 'dip') closing.start = narrowed(closing.start, dip.start);
      return false;
    });
    const newest = this.#alone.at(-1);
    if (newest === undefined) return [];
    if (this.#decided(newest.start, this.#sources.length)) return this.#forgetAlone(newest);
    const group = this.#alone.filter((dip) => near(dip.start, newest.start, togetherMs));
    if (group.length < Math.min(2, this.#faces.size)) return this.#forgetAlone(newest);
    this.#alone = this.#alone.filter((dip) => !group.includes(dip));
    const start = group.map((dip) => dip.start).reduce(narrowed);
    return this.#begin(start, 'dip', group);
  }

  /** What nothing has come for in time stays alone for ever. */
  #forgetAlone(newest: Dip): Told[] {
    this.#alone = this.#alone.filter(
      ({ start }) => start.latestMs > newest.start.latestMs - silentMs - layingMs,
    );
    return [];
  }

  #begin(start: Between, foundBy: FoundBy, dips: Dip[]): Told[] {
    const told: Told[] = [];
    const last = this.#closings.at(-1);
    if (last !== undefined && last.end === null) {
      last.endEarliestMs = Math.max(last.endEarliestMs, ...last.dips.map((dip) => dip.bottomMs));
      last.end = between(Math.min(last.endEarliestMs, start.latestMs), start.latestMs);
      told.push({ what: 'opened', closing: last });
    }
    const hot = [...this.#faces.values()].filter(
      ({ last: newest }) => (newest?.c ?? -Infinity) >= this.#hotC,
    );
    const closing: Closing = {
      foundMs: start.bestMs,
      start,
      end: null,
      endEarliestMs: start.latestMs,
      foundBy,
      dips,
      wouldHaveDipped: hot.length > 0,
    };
    this.#closings.push(closing);
    if (this.#closings.length > keptClosings) this.#closings.shift();
    told.push({ what: 'closed', closing });
    return told;
  }
}
