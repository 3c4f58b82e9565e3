import type {
  BudgetRow,
  Deviation,
  JudgedPlace,
  Quality,
  Reason,
  Repress,
  RequirementResult,
  Side,
  Verdict,
} from '../score/shape.ts';
import type { RecipeRef } from '../record/bodies.ts';
import type { CoatShown, CoatStack } from '../record/coat-shown.ts';
import type { FloorCall, FloorLoad } from './floor.ts';

/** `GET /api/v1/loads/{id}`: everything the Load screen says in words. */
export interface LoadDetail {
  load: FloorLoad;
  /** Worst first. */
  places: JudgedPlace[];
  /** Each coat of its parts after this bake, lowest first; empty where it bakes none. */
  coats: CoatShown[];
  budget: BudgetRow[];
  requirements: RequirementResult[];
  repress: Repress | null;
  deviations: Deviation[];
  reasons: Reason[];
  quality: Quality | null;
  parts: string[];
  /** Start and end stand for pressure-on and release-start: it was assumed. */
  marksAssumed: boolean;
  startedBy: string | null;
  endedBy: string | null;
  fault: string | null;
  revisions: {
    revision: number;
    atMs: number;
    because: string | null;
    verdict: Verdict;
    side: Side | null;
    n: number;
    sealedBy: 'complete' | 'deadline';
  }[];
  calls: FloorCall[];
  /** What people wrote down of it, oldest first. */
  notes: { n: number; atMs: number; by: string; note: string }[];
  entries: { n: number; atMs: number; kind: string; by: string }[];
}

/** One load of a lot, in the order it happened. */
export interface LotStep {
  load: FloorLoad;
  kind: string | null;
  parts: string[];
  /** How many sealed accounts there are. */
  revision: number;
}

/** `GET /api/v1/lots/{id}` */
export interface LotDetail {
  lot: string;
  /** The newest of them, in order of time. */
  steps: LotStep[];
  /** There are earlier ones, which only the lot file has. */
  isCut: boolean;
  /** Coats of its parts as they lie, after the last bake of each. */
  coats: CoatStack[];
  calls: FloorCall[];
}

/** `GET /api/v1/lots`: counts of a lot's loads by verdict. */
export interface LotRow {
  lot: string;
  loads: number;
  open: number;
  firstMs: number;
  lastMs: number;
  held: number;
  under: number;
  over: number;
  unproven: number;
  inWindow: number;
  stations: string[];
}

/** A revision of a recipe that was approved, as `GET /api/v1/recipes` lists them. */
export interface ApprovedRecipe extends RecipeRef {
  approvedMs: number;
  approvedBy: string;
}
