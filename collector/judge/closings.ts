import {
  callsOfClosings,
  type FoundClosing,
  type NamingLoad,
} from '@setwell/shared-models/call/closing-calls';
import type { Wish } from '@setwell/shared-models/call/wish';
import type { Call } from '@setwell/shared-models/call/call';
import {
  between,
  coldChargeOf,
  type Between,
  type Closing,
  type ColdCharge,
  type FoundBy,
} from '@setwell/shared-models/condition/closing';
import { ClosingFinder } from '@setwell/shared-models/condition/closing-finder';
import { CyclePoint } from '@setwell/shared-models/condition/cycle-point';
import { finderSettingOf } from '@setwell/shared-models/condition/station-edges';
import type { Plant, Station } from '@setwell/shared-models/plant/plant';
import type { JournalReader, Reading } from '../journal/shape.ts';
import type { LedgerFold } from './ledger-fold.ts';

/** After a restart so much is read again: longer than a press cycle [ms]. */
const readBackMs = 45 * 60_000;
/** Nobody is called for what is older than this: the shift that knew it is gone [ms]. */
const calledWithinMs = 24 * 3_600_000;
/** Read again, a closing may be found a little apart from where it was found first [ms]. */
const sameWithinMs = 3 * 60_000;

interface Watched {
  station: string;
  finder: ClosingFinder;
  faces: ReadonlySet<string>;
  /** Newest reading of a face [ms]. */
  heardMs: number;
}

/** A closing as a load takes its clock from it. */
export interface NamedClosing {
  foundMs: number;
  foundBy: FoundBy;
  start: Between;
  end: Between | null;
}

/** The closings of the plant's presses and of what else says by a signal when it is closed. */
export class Closings {
  readonly #fold: LedgerFold;
  readonly #watched: Watched[];
  readonly #points = new Map<string, { watched: Watched; course: CyclePoint }>();
  /** Found while their station was taken out. */
  readonly #outOfService = new WeakSet<Closing>();
  #opened: { station: string; closing: NamedClosing }[] = [];

  constructor(plant: Plant, journal: JournalReader, fold: LedgerFold, nowMs: number) {
    this.#fold = fold;
    this.#watched = plant.stations.filter(closes).map((station) => this.#watch(station, plant));
    this.#readBack(journal, nowMs);
  }

  take(reading: Reading): void {
    const at = this.#points.get(reading.point);
    if (at === undefined) return;
    const { watched, course } = at;
    const value = course.take(reading);
    if (value === null || value === 'broken') return;
    if (watched.faces.has(reading.point)) watched.heardMs = Math.max(watched.heardMs, reading.t);
    const { station } = watched;
    for (const { what, closing } of watched.finder.take(reading.point, reading.t, value)) {
      if (what === 'opened') this.#opened.push({ station, closing: namedOf(closing) });
      else if (this.#fold.services.has(station)) this.#outOfService.add(closing);
    }
  }

  /** Closings that have ended since, each with its end. */
  takeOpened(): { station: string; closing: NamedClosing }[] {
    const opened = this.#opened;
    this.#opened = [];
    return opened;
  }

  /** The closing that a call is about: as its readings tell it now, else as the call tells it. */
  ofCall(id: string, station: string): NamedClosing | null {
    const call = this.#fold.calls.get(id);
    if (call?.raised.kind !== 'closing-unnamed' || call.raised.station !== station) return null;
    const told = toldBy(call);
    const found = this.#watched
      .find((watched) => watched.station === station)
      ?.finder.closings.find((closing) => isSame(closing, told.foundMs));
    return found === undefined ? told : { ...namedOf(found), foundMs: told.foundMs };
  }

  /** What somebody is called for, by station. */
  wishes(nowMs: number): Wish[] {
    return this.#watched.flatMap((watched) => {
      const { station } = watched;
      const standing = [...this.#fold.calls.values()]
        .filter(({ raised }) => raised.kind === 'closing-unnamed' && raised.station === station)
        .map((call) => ({ ...toldBy(call), setAside: false }));
      const found = watched.finder.closings
        .filter(({ start }) => start.latestMs >= nowMs - calledWithinMs)
        .map((closing) => this.#found(closing, watched, standing));
      const older = standing.filter(
        ({ foundMs }) => !found.some((each) => each.foundMs === foundMs),
      );
      const closings = [...older, ...found]
        .map((each) => ({ ...each, setAside: each.setAside || this.#isVoided(station, each) }))
        .sort((a, b) => a.start.bestMs - b.start.bestMs);
      return callsOfClosings(station, closings, this.#loadsOf(station));
    });
  }

  #watch(station: Station, plant: Plant): Watched {
    const setting = finderSettingOf(station, plant);
    const faces = new Set(setting.faces.map(({ point }) => point));
    const finder = new ClosingFinder(setting);
    const watched: Watched = { station: station.id, finder, faces, heardMs: -Infinity };
    for (const { point } of [...setting.edges, ...setting.faces]) {
      const sensor = plant.sensors.get(point);
      if (sensor) this.#points.set(point, { watched, course: new CyclePoint(sensor) });
    }
    return watched;
  }

  #readBack(journal: JournalReader, nowMs: number): void {
    const back = [...this.#points.keys()].flatMap(
      (point) => journal.readings(point, nowMs - readBackMs, nowMs).readings,
    );
    // What a person has brought of the past is late, and calls nobody.
    const live = back.filter(({ quality }) => quality === 'good').sort((a, b) => a.t - b.t);
    for (const reading of live) this.take(reading);
  }

  #found(closing: Closing, { heardMs }: Watched, standing: readonly FoundClosing[]): FoundClosing {
    const told = standing.find(({ foundMs }) => isSame(closing, foundMs));
    return {
      ...namedOf(closing),
      ...(told === undefined ? {} : { foundMs: told.foundMs }),
      charge: coldChargeOf(closing, heardMs),
      setAside: this.#outOfService.has(closing),
    };
  }

  #isVoided(station: string, { foundMs }: FoundClosing): boolean {
    return this.#fold.voidedClosings.some(
      (voided) => voided.station === station && Math.abs(voided.foundMs - foundMs) <= sameWithinMs,
    );
  }

  #loadsOf(station: string): NamingLoad[] {
    const { loads, accounts } = this.#fold;
    const sealed = [...accounts.recent.values()].map(({ account }) => account);
    return [...loads.values(), ...sealed]
      .filter(({ opened }) => opened.station === station)
      .map(({ opened, ended, endMs }) => ({
        startMs: opened.marks.pressureOn.earliestMs,
        endMs: endMs ?? ended?.endMs ?? null,
        closingMs: opened.closing?.foundMs ?? null,
      }));
  }
}

/** A press shows it by its plates; whatever else by the signal that plant.yaml names. A belt never closes. */
function closes({ kind, closedBy, beltSpeed }: Station): boolean {
  const named = closedBy.pressure ?? closedBy.limitSwitch ?? closedBy.door;
  return kind === 'press' || (named !== null && beltSpeed === undefined);
}

function isSame({ foundMs }: Pick<Closing, 'foundMs'>, otherMs: number): boolean {
  return Math.abs(foundMs - otherMs) <= sameWithinMs;
}

function namedOf({ foundMs, foundBy, start, end }: Closing): NamedClosing {
  return { foundMs: Math.round(foundMs), foundBy, start, end };
}

/** A closing as the entry that called for it tells it. */
function toldBy({ raised: { values }, atMs }: Call): NamedClosing & { charge: ColdCharge } {
  const ms = (name: string): number | null => {
    const value = values[name];
    return typeof value === 'number' ? value : null;
  };
  const endEarliestMs = ms('endEarliestMs');
  const endLatestMs = ms('endLatestMs');
  const isOver = endEarliestMs !== null && endLatestMs !== null;
  return {
    foundMs: ms('foundMs') ?? atMs,
    foundBy: (values['foundBy'] ?? 'dip') as FoundBy,
    start: between(ms('startEarliestMs') ?? atMs, ms('startLatestMs') ?? atMs),
    end: isOver ? between(endEarliestMs, endLatestMs) : null,
    charge: (values['charge'] ?? 'seen') as ColdCharge,
  };
}
