import type { CoatShown } from '../record/coat-shown.ts';
import type { About, Entry } from '../record/entry.ts';
import type { RecipeRef, Say, StationSet } from '../record/bodies.ts';
import type {
  BudgetRow,
  Deviation,
  Forecast,
  JudgedPlace,
  LoadState,
  Quality,
  Reason,
  Repress,
  RequirementResult,
  Side,
  Verdict,
  Window,
} from '../score/shape.ts';
import type { Measure, MeasureUnit } from '../cure/law.ts';
import type { Plant } from '../plant/plant.ts';
import type { ClockSetting } from './clock.ts';

/**
 * The collector's one small interface. Newline-delimited JSON for what is followed, JSON for the rest.
 *
 * | request | answer |
 * |---|---|
 * | `GET /hello` | {@link Hello} |
 * | `GET /follow/ledger?after=n` | every entry with a greater n, exact bytes, one a line; then as they come |
 * | `GET /follow/readings` | {@link ReadingFrame}, of each point at most five a second |
 * | `GET /follow/judgements` | {@link Judgement} of each open load and {@link StationNow}, as they change |
 * | `GET /readings?point=&from=&to=&points=` | {@link ReadingSeries} |
 * | `GET /trace/{load}?zone=&glueLine=&from=&to=&points=` | `LoadTrace` of a place and a time; without them the place that decides, the whole load |
 * | `GET /heat-ups`, `/heat-ups/{station}`, `/heat-ups/{station}/{point}?feature=` | `StationHeat[]`, `HeatUpReport`, `FaceHistory` |
 * | `GET /records/{lot}` | the lot's file as JSON |
 * | `GET /blob/{sha256}` | the document |
 * | `GET /rejects?limit=` | {@link Reject}, newest first |
 * | `GET /points?beside=` | {@link PointNow} of all points, or of one and the others of its station |
 * | `POST /acts` | an {@link Act} → {@link ActAnswer} |
 * | `GET /health/live`, `/health/ready`, `/metrics` | |
 */
export interface Hello {
  version: string;
  collector: string;
  log: string;
  /** Entries of its ledger as this was said. */
  entries?: number;
  site: Plant['site'];
  clock: ClockSetting;
  nowMs: number;
  stations: {
    id: string;
    title: string;
    kind: string;
    hall: string | null;
    zones: {
      id: string;
      opening: string | null;
      upper: string | null;
      lower: string | null;
      air: string | null;
    }[];
  }[];
  /** Recipes that may be started now. */
  recipes: {
    id: string;
    revision: number;
    title: string;
    kind: string;
    plannedMin: number | null;
  }[];
  broker: { connected: boolean; sinceMs: number | null; url: string };
  /** The shift that runs, or ran last; null where plant.yaml names none. */
  shift?: { id: string; fromMs: number; toMs: number } | null;
  /** The greatest number that a person has had on the record: none is given twice. */
  lastPerson?: number;
  /** Since when the judge has not been at the journal's end [ms of plant time]. */
  judgeBehindMs?: number;
}

/** The newest value of each point that changed since the last frame. */
export interface ReadingFrame {
  asOfMs: number;
  points: Record<string, { t: number; v: number; quality: ReadingQuality; station: string | null }>;
}

export type ReadingQuality =
  'good' | 'doubtful' | 'missing' | 'late' | 'stuck' | 'outside-calibration' | 'retained-old';

/** What the judge says of a load now. The newest replaces the one before; the ledger has what was told. */
export interface Judgement {
  type: 'judgement';
  load: string;
  station: string;
  opening: string | null;
  zones: string[];
  lot: string;
  parts: string[];
  recipe: (RecipeRef & { title: string }) | null;
  state: LoadState | 'sealed';
  startMs: number;
  endMs: number | null;
  plannedEndMs: number | null;
  asOfMs: number;
  verdict: Verdict;
  side: Side | null;
  measure: Measure | null;
  unit: MeasureUnit | null;
  window: Window | null;
  /** Worst first. */
  places: JudgedPlace[];
  /** Oven: each coat of its parts after this bake, or as if it ended now; absent: it bakes none. */
  coats?: CoatShown[];
  requirements: RequirementResult[];
  /** Null: nothing can be judged, or the recipe has no bound. */
  repress: Repress | null;
  deviations: Deviation[];
  budget: BudgetRow[];
  forecast: Forecast | null;
  say: Say;
  quality: Quality;
  reasons: Reason[];
  /** Its pressure has been let off, by its marks: it cannot be kept closed for longer. */
  released: boolean;
  /** Since when a needed point has been silent; null while all speak. */
  blindSinceMs: number | null;
  /** Up to where every needed point has been read [ms]; null while one has said nothing. */
  readUpToMs: number | null;
}

/** A station between loads, or with them. */
export interface StationNow {
  type: 'station';
  station: string;
  condition: 'cold' | 'heating' | 'empty' | 'loaded' | 'no-readings';
  sinceMs: number | null;
  /** While it heats up: when it will be ready [ms]; null where too few heat-ups are known to tell. */
  readyMs: number | null;
  asOfMs: number;
  /** Taken out of service, cleaned or standing by plan, by whom and until when; null while in service. */
  service: (StationSet & { by: string; sinceMs: number }) | null;
}

export interface ReadingSeries {
  point: string;
  fromMs: number;
  toMs: number;
  /** Per step: time, least, greatest, mean; null where nothing was read. */
  steps: { t: number; min: number | null; max: number | null; mean: number | null }[];
  /** Where the steps before `beforeMs` come from, whose readings the box has let go; null: none has. */
  older: {
    beforeMs: number;
    /** `minutes`: each step says what is known of the whole minute it lies in. */
    from: 'long-history' | 'minutes';
    /** Why the long history was not to be had, in its server's words; null where there is none, or it was. */
    because: string | null;
  } | null;
}

export interface Reject {
  receivedMs: number;
  topic: string;
  code: string;
  found: string;
  expected: string;
  /** The payload's first bytes, as text. */
  payload: string;
}

export interface PointNow {
  point: string;
  station: string | null;
  topic: string;
  signal: string;
  /** `c`: the same in °C; null where it measures no temperature, or the value cannot be one. */
  last: {
    t: number;
    v: number;
    c: number | null;
    receivedMs: number;
    quality: ReadingQuality;
  } | null;
  perMin: number;
  silentSinceMs: number | null;
}

/** The closed list of what a person can ask for. */
export const actKinds = [
  'load-start',
  'load-end',
  'load-corrected',
  'load-noted',
  'call-acknowledged',
  'call-shelved',
  'call-unshelved',
  'disposition',
  'station-set',
  'closing-voided',
  'handover-read',
  'instrument-fitted',
  'instrument-removed',
  'instrument-calibrated',
  'point-withdrawn',
  'point-restored',
  'wire-proven',
  'fallback-approved',
  'person-granted',
  'person-revoked',
  'setup-offered',
  'work-planned',
  'work-done',
  'work-closed',
  'limit-approved',
  'survey-taken',
  'place-approved',
  'legal-hold-set',
  'legal-hold-lifted',
] as const;
export type ActKind = (typeof actKinds)[number];

/** What a person asks for. The same id again gets the same answer. */
export interface Act {
  id: string;
  kind: ActKind;
  by: string;
  about: About;
  body: Record<string, unknown>;
  /** What the password was given for, where the act asked for it; kept in its entry. */
  meaning?: string;
  /** The entry it answers; 409 if that has moved on. */
  on?: { n: number };
}

export interface ActAnswer {
  n: number;
  entry: Entry;
}

/** Status 202: it is in the journal and will be judged; the same id asks again. */
export interface ActStored {
  stored: true;
}
