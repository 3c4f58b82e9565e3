import type { Calibration, Instrument } from '../plant/plant-schema.ts';
import type { JournalPlace } from './bodies.ts';

/** How it was proven that a wire ends where the drawing says. */
export interface WireProof {
  how: 'warmed-by-hand' | 'pulled' | 'continuity' | 'other';
  note: string;
}

/** An instrument is put at a point. What was there ends then, and so does where it was before. */
export interface InstrumentFitted {
  point: string;
  /** When it began to read there [ms]. */
  atMs: number;
  instrument: Instrument;
  proof: WireProof | null;
  event: JournalPlace;
  act: string | null;
}

export interface InstrumentRemoved {
  point: string;
  /** When it was taken out [ms]: its readings count up to then. */
  atMs: number;
  /** What was there; null where nothing was known to be. */
  instrument: string | null;
  reason: string;
  event: JournalPlace;
  act: string | null;
}

/** A certificate of an instrument, with what it was found to do before it was adjusted. */
export interface InstrumentCalibrated {
  instrument: string;
  calibration: Calibration;
}

/** Nobody is called for the point until then: it is being worked on. */
export interface PointWithdrawn {
  point: string;
  untilMs: number | null;
  reason: string;
}

export interface PointRestored {
  point: string;
}

export interface WireProven {
  point: string;
  atMs: number;
  proof: WireProof;
}

/** Another point stands in, for a time, with what it differs by and how far that may be wrong. */
export interface FallbackApproved {
  point: string;
  standsIn: string;
  fromMs: number;
  untilMs: number;
  /** Added to what the other point reads [K]. */
  offsetK: number;
  /** Of the offset, at k = 2 [K]. */
  expandedK: number;
  reason: string;
}

/** What is wrong with a point's readings, found by a rule. */
export interface FaultFound {
  /** The rule, such as `stuck`. */
  rule: string;
  point: string;
  /** Others that it takes to see it: the second of two swapped ones, a neighbour. */
  others: string[];
  /** From which reading on [ms]: what is doubted begins here, not where it was noticed. */
  fromMs: number;
  /** When it was noticed [ms]. */
  seenMs: number;
  /** Its readings from then on count as a gap. False: they still count, and somebody should look. */
  doubts: boolean;
  /** Numbers and names the sentence needs; sentences live in the message files. */
  evidence: Record<string, string | number | null>;
}

export interface FaultOver {
  rule: string;
  point: string;
  fromMs: number;
  /** The last reading that is doubted [ms]. */
  toMs: number;
}
