import type { Marks } from '../score/shape.ts';
import type { RecipeRef } from './bodies.ts';

export type Decision =
  'hold' | 'release' | 'extend' | 're-press' | 'rework' | 'scrap' | 'concession';

/** What is decided over a load, or over parts of it. */
export interface Disposition {
  decision: Decision;
  reason: string;
  /** The sealed account it was taken on; null while nothing is sealed. */
  onRevision: number | null;
  /** Names of the parts it is about; empty: all of the load. */
  parts: string[];
  /** `extend`: kept closed until then. */
  untilMs: number | null;
  /** `hold` that nobody decided: the rule that put it on. */
  rule: 'short' | 'over' | 'unproven' | null;
  /** Release of a short load and a concession need two people: counts once another has said the same. */
  needsSecond: boolean;
  /** The decision of the first person [entry number], where this is the second's. */
  seconds: number | null;
}

/** A person puts right what was said of a load. What was said stays readable. */
export interface LoadCorrected {
  load: string;
  /** Null where a start is taken back within a minute of it. */
  reason: string | null;
  change:
    /** There never was such a load. */
    | { what: 'void' }
    | { what: 'marks'; marks: Partial<Marks>; endMs: number | null }
    | { what: 'recipe'; recipe: RecipeRef }
    | { what: 'lot'; lot: string; parts: string[] }
    /** Readings that came more than 72 h after the seal count as well. */
    | { what: 'readings' };
}

/** What a person saw and wants kept with a load: it decides nothing. */
export interface LoadNoted {
  note: string;
}

/** Nothing of a lot may be deleted until it is lifted, whatever its age; its lifting says the same. */
export interface LegalHoldSet {
  reason: string;
}

/** A lot's documents are deleted. Its entries stay, with the digests of what is gone. */
export interface LotFileDropped {
  lot: string;
  because: 'age';
  /** How long they were kept [years of 365.2425 d]. */
  years: number;
  documents: number;
  bytes: number;
}

/** A station, taken out of service or put into it. */
export interface StationSet {
  state: 'in-service' | 'out-of-service' | 'cleaning' | 'planned-stop';
  reason: string;
  /** Null: until somebody puts it back. */
  untilMs: number | null;
}

/** A closing that the readings show and that held nothing. */
export interface ClosingVoided {
  /** What the closing is called by [ms]. */
  foundMs: number;
  reason: string;
}

/** Somebody of the coming shift has read what the going one leaves. */
export interface HandoverRead {
  shift: string | null;
  /** The handover as it stood: number of the last entry it was folded from. */
  upToN: number;
  note: string | null;
}
