import type { Side, Verdict } from '../score/shape.ts';
import type { StationSet } from '../record/bodies.ts';
import type { FloorCall, FloorLoad } from './floor.ts';

/** A station that is not in service, or a point that is out. */
export interface OutOfService {
  station: string | null;
  point: string | null;
  state: StationSet['state'];
  by: string;
  sinceMs: number;
  untilMs: number | null;
  reason: string;
}

/** Parts that nobody may use before somebody has decided. */
export interface HeldLoad {
  load: string;
  lot: string;
  station: string;
  /** Empty: all of the load. */
  parts: string[];
  verdict: Verdict;
  side: Side | null;
  sinceMs: number;
  by: string;
  /** The rule that put the hold on; null where a person did. */
  rule: 'short' | 'over' | 'unproven' | null;
  reason: string;
  /** A first person has decided and a second must agree; null where nobody waits. */
  waitsFor: { decision: string; by: string; n: number } | null;
  /** Released before, and a later account is worse. */
  questioned: boolean;
}

/** A closing that a press went through and that nobody has named. */
export interface UnnamedClosing {
  id: string;
  station: string;
  opening: string | null;
  zones: string[];
  startEarliestMs: number;
  startLatestMs: number;
  /** Null while it lasts. */
  endEarliestMs: number | null;
  endLatestMs: number | null;
  foundBy: string;
}

/** A point that another one reads for. */
export interface StandIn {
  point: string;
  station: string | null;
  standsIn: string;
  untilMs: number;
  reason: string;
}

/** "Kept closed until 14:33": somebody has said so, and the time is still to come. */
export interface Promised {
  load: string;
  lot: string;
  station: string;
  untilMs: number;
  by: string;
  atMs: number;
}

/**
 * `GET /handover`: what one shift leaves to the next, on one sheet. It writes itself: a fold of what was
 * recorded and of what runs, with nothing to fill in but who has read it.
 */
export interface Handover {
  site: { id: string; title: string; timeZone: string; demo: boolean };
  atMs: number;
  /** The shift that goes, by the plant's calendar; null where the plant has none. */
  shift: { id: string; fromMs: number; toMs: number } | null;
  /** In the stations now, each with its plan and its proof as clock times. */
  inStations: FloorLoad[];
  held: HeldLoad[];
  unnamed: UnnamedClosing[];
  /** Most urgent first, those put aside not among them. */
  calls: FloorCall[];
  shelved: FloorCall[];
  outOfService: OutOfService[];
  /** Null: the collector does not answer, and points that are out are not among those above either. */
  standIns: StandIn[] | null;
  /** Loads that go on without a point they need: since when, and which. */
  silent: { station: string; load: string; point: string; sinceMs: number | null }[];
  promises: Promised[];
  /** Loads whose recipe asks for a test whose outcome nobody has entered. */
  dueTests: { load: string; lot: string; station: string; method: string; sinceMs: number }[];
  /** Decisions since the shift began, or of 12 h where the plant has no calendar, and those against the verdict. */
  decisions: { sinceMs: number; total: number; againstVerdict: number };
  readBy: { by: string; atMs: number; n: number }[];
  /** Number of the last entry this was folded from; who has read it names it. */
  upToN: number;
}
