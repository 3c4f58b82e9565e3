import type { ApprovedPlace } from '../condition/surveyed-place.ts';
import type { ReviewedLoad } from '../condition/impact.ts';
import type { UncertaintyRow } from '../metrology/budget.ts';
import type { FoundFault } from '../metrology/instrument-acts.ts';
import type { FallbackApproved, ImpactReviewed, PointWithdrawn } from '../record/bodies.ts';

/** What vouches for an instrument on a day. */
export interface CertificateNow {
  certificate: string;
  date: string;
  due: string;
  /** Negative: overdue. */
  daysLeft: number;
  state: 'in-date' | 'overdue' | 'grace-over';
}

/** A point with what is fitted there now and what is wrong with it. */
export interface PointFitted {
  point: string;
  station: string | null;
  signal: string;
  role: 'control' | 'watch';
  depthMm: number | null;
  topic: string;
  fitted: {
    instrument: string;
    serial: string | null;
    element: string | null;
    loop: string | null;
    /** Null: since ever. */
    fromMs: number | null;
    /** When its wire was last proven [ms]; null: as the file says, or never. */
    provenMs: number | null;
    proven: boolean;
    certificate: CertificateNow | null;
  } | null;
  withdrawn: (PointWithdrawn & { by: string; sinceMs: number }) | null;
  fallback: FallbackApproved | null;
  /** Those that last. */
  faults: FoundFault[];
}

/** One point, asked for by its name. */
export interface PointDetail extends PointFitted {
  nowMs: number;
  last: { t: number; v: number } | null;
  /** What its last reading is worth; null where it has none, or is no thermometer. */
  worth: PointWorth | null;
  /** Newest first. */
  history: {
    instrument: string;
    serial: string | null;
    fromMs: number | null;
    toMs: number | null;
    certificates: string[];
  }[];
  /** All that were found, newest first, at most 50. */
  found: FoundFault[];
}

export type PointWorth =
  | { kind: 'no-temperature'; raw: number }
  | { kind: 'unproven'; shownC: number; because: string }
  | {
      kind: 'bounded';
      shownC: number;
      correctedC: number;
      rows: UncertaintyRow[];
      combinedK: number;
      expandedK: number;
      k: 2;
      effectiveDegreesOfFreedom: number | null;
      /** Whose row of the budget the place is; null: no survey's was taken over. */
      place: ApprovedPlace | null;
    };

/** `GET /impact`: what an instrument that came back out of limits may have spoilt. */
export interface ImpactShown extends Omit<ImpactReviewed, 'loads'> {
  n: number;
  atMs: number;
  /** Changed verdicts first, at most 200. */
  loads: (ReviewedLoad & { station: string | null; lots: string[] })[];
  /** How many there are. */
  all: number;
}

export interface ImpactNow {
  running: { instrument: string; certificate: string } | null;
  reviews: ImpactShown[];
}
