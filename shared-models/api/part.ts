import type { Decided } from '../record/decisions.ts';
import type { CoatShown } from '../record/coat-shown.ts';
import type { ScoredEvent, Side, Verdict } from '../score/shape.ts';
import type { FloorLoad } from './floor.ts';

/** One thing that a part has been through. */
export type PartStep =
  /** What was said of it, its lot or its load before the heat: spread, assembled, coated, measured. */
  | { what: 'said'; atMs: number; load: string; event: ScoredEvent }
  | {
      what: 'load';
      atMs: number;
      load: string;
      shown: FloorLoad;
      kind: string | null;
      /** How many parts were in it; 0: it names none. */
      together: number;
    }
  | { what: 'decided'; atMs: number; load: string; decided: Decided }
  /** A later account of a load, where its word is another. */
  | {
      what: 'amended';
      atMs: number;
      load: string;
      before: Verdict;
      verdict: Verdict;
      side: Side | null;
      because: string | null;
      n: number;
    };

/** What may be done with a part now, and from when. */
export type PartNext =
  /** It is in a station: its load's own row says how long. */
  | { what: 'in'; load: string }
  | { what: 'held'; load: string; decided: Decided }
  /** Out, not in its window, and nobody has decided. */
  | { what: 'undecided'; load: string; verdict: Verdict }
  | { what: 'scrapped' | 're-press' | 'rework' | 'released'; load: string; decided: Decided }
  /** By the recipe of its last load: not before, and where it says so not after [ms]. */
  | {
      what: 'recoat' | 'rest';
      load: string;
      fromMs: number;
      toMs: number | null;
      coat: number | null;
    }
  /** Nothing of its heat keeps it. */
  | { what: 'free'; load: string };

/** `GET /api/v1/lots/{id}/parts/{part}` */
export interface PartDetail {
  lot: string;
  part: string;
  /** In the order it happened. */
  steps: PartStep[];
  /** There is more than the steps and coats tell: these are the newest. */
  isCut: boolean;
  /** Of this part, lowest first. */
  coats: CoatShown[];
  next: PartNext;
}
