import type { LawSpec } from '../cure/law-spec.ts';
import type { CureInterval, Side, Verdict, Window } from './shape.ts';

/** An earlier bake of a coat that this load bakes again. */
export interface CarriedCoat {
  coat: number;
  low: number;
  nominal: number;
  high: number;
  /** When that bake ended [ms]; absent: not known. */
  endMs?: number;
  /** What its own bake was: under stays under, whatever came later. */
  step?: Verdict;
  /** How it stands and goes on; absent: it adds up by this bake's own law and window. */
  own?: CoatResult;
}

/** An interval with what a window says of it. */
export interface JudgedSum extends CureInterval {
  window: Window;
  verdict: Verdict;
  side: Side | null;
}

/** What a coat has been through. */
export interface CoatResult {
  /** Numbered from the first. */
  coat: number;
  /** The load of its own bake; null: it never had one. */
  load: string | null;
  /** Its own bake; nothing of it where it never had one. */
  step: JudgedSum;
  /** All bakes since it was laid; null: its recipe has no such window. */
  total: JudgedSum | null;
  /** All bakes, at the worst place. */
  sum: CureInterval;
  verdict: Verdict;
  /** When its last bake ended [ms]; null: it has had none. */
  endMs: number | null;
  /** Parts of the load with this history; absent: all. */
  parts?: string[];
  /** Loads that baked it and that nobody could follow: their heat is not in its sums. */
  unjudged?: string[];
  law: LawSpec;
  /** Where each place stands: the next bake goes on from here. */
  states: CoatState[];
}

/** State of a coat's law at one place, in each run. */
export interface CoatState {
  zone: string;
  /** Number of the place in the zone, from 0. */
  spot: number;
  /** Boards slower and boards faster, as in the load's own runs. */
  lows: number[];
  nominal: number;
  highs: number[];
}
