import type { LoadOpened } from '@setwell/shared-models/record/bodies';
import type { StationEvent } from '../journal/shape.ts';

const markEvents = ['contact', 'pressure-on', 'release-start', 'open'] as const;

export type MarkEvent = StationEvent & { event: (typeof markEvents)[number] };

export function isMark(event: StationEvent): event is MarkEvent {
  return markEvents.some((kind) => kind === event.event);
}

/** A load as marks see it. */
export interface MarkedLoad {
  opened: LoadOpened;
  endMs: number | null;
}

/** Where a load's start stands for its pressure-on, the piece was touched this long before at most [ms]. */
export const contactBeforeMs = 600_000;

/** More marks of one station than this are a controller that chatters: the oldest go. */
const mostMarks = 2000;

/**
 * Marks as they came, by station. A load may open after they did: in the same batch, or back in time.
 */
export class StationMarks {
  readonly #byStation = new Map<string, MarkEvent[]>();

  take(event: MarkEvent): void {
    const marks = this.#byStation.get(event.station) ?? [];
    this.#byStation.set(event.station, marks);
    marks.push(event);
    if (marks.length > mostMarks) marks.shift();
  }

  /** Those that came before the load was known and mean it, in their order. */
  before(load: MarkedLoad, others: Iterable<MarkedLoad>): MarkEvent[] {
    const known = [...others];
    const marks = this.#byStation.get(load.opened.station) ?? [];
    return marks.filter((mark) => meansLoad(mark, load, known));
  }
}

/**
 * Whether a mark means a load: by its name, or else by place and time. Of two loads that were in one
 * place one after the other, an unnamed mark means the one that was in it then.
 */
export function meansLoad(
  mark: MarkEvent,
  { opened, endMs }: MarkedLoad,
  others: Iterable<MarkedLoad>,
): boolean {
  const { station, opening, load, earliestMs, latestMs } = mark;
  const startMs = startOf(opened);
  const fromMs = mark.event === 'contact' ? startMs - contactBeforeMs : startMs;
  if (station !== opened.station || latestMs < fromMs) return false;
  if (opening !== null && opening !== opened.opening) return false;
  // What is said after the end can only be how it was opened; the end itself is the load-end's.
  if (endMs !== null && mark.event !== 'open' && earliestMs > endMs) return false;
  if (load !== null) return load === opened.load;
  for (const other of others) {
    const otherMs = startOf(other.opened);
    if (otherMs === startMs || !sharesPlace(other.opened, opened)) continue;
    const later = otherMs > startMs && otherMs <= latestMs;
    const stillIn = otherMs < startMs && (other.endMs === null || other.endMs >= latestMs);
    if (later || stillIn) return false;
  }
  return true;
}

function startOf({ marks }: LoadOpened): number {
  return marks.pressureOn.earliestMs;
}

function sharesPlace(one: LoadOpened, other: LoadOpened): boolean {
  return (
    one.station === other.station &&
    one.opening === other.opening &&
    one.zones.some((zone) => other.zones.includes(zone))
  );
}
