// Longer than the limit because it is one list: every shape that a verdict is made of and says.
import type { Measure, MeasureUnit } from '../cure/law.ts';
import type { PlatenMetal } from '../heat/slab.ts';
import type { TemperatureSignal } from '../metrology/signal.ts';
import type { Heating, OtherSignal, StationKind } from '../plant/plant-schema.ts';
import type { Recipe } from '../plant/recipe-schema.ts';
import type { EventKind } from '../plant/station-event.ts';
import type { CarriedCoat, CoatResult } from './coat-shape.ts';

export type * from './coat-shape.ts';

/** An instant known between two times; equal where it is known exactly. */
export interface Mark {
  earliestMs: number;
  latestMs: number;
  /** The event did not come: it is taken from another one, and the record says so. */
  assumed?: boolean;
}

export interface Marks {
  contact: Mark | null;
  /** Press: cure is credited from here. Elsewhere the load's start. */
  pressureOn: Mark;
  /** Press: cure is credited up to here. Elsewhere the load's end. Null while the load is open. */
  releaseStart: Mark | null;
  open: Mark | null;
}

export interface ScoredZone {
  id: string;
  upper: string | null;
  lower: string | null;
  air: string | null;
  /** Metal between the point and the face, by value; absent: the point is at the face. */
  upperMetal?: PlatenMetal;
  lowerMetal?: PlatenMetal;
  /** A conveyor oven, all its zones: the part is where the belt has brought it. */
  belt?: ScoredBelt;
  /** The place of the piece that is judged, where a recipe names several. */
  place?: string;
}

/** A belt through an oven's zones. */
export interface ScoredBelt {
  /** The point of its speed, one of the input's signals [m/min]. */
  speed: string;
  /** How often that is read [s]. */
  everyS: number;
  /** In the order they are met, metres from where a part comes on. */
  zones: { air: string; fromM: number; toM: number }[];
}

/** An instrument at a point as of the load: its corrections by value, so that the record needs no other file. */
export interface FittedSensor {
  signal: string;
  /**
   * How raw values become temperatures. Absent: they are °C. A signal other than °C without it proves
   * nothing: none of its readings counts.
   */
  conversion?: TemperatureSignal;
  /** Row i applies between its temperature and the next; linear, no extrapolation. */
  corrections: { atC: number; correctionK: number }[];
  /** Expanded uncertainty (k = 2) of a corrected reading [K], seat and tolerance included. */
  expandedK: number;
  resolutionK: number;
  /**
   * Standard deviation of its stream [K]: declared, or of what it read before the load, and fixed when
   * that opened. Taken from the load's own readings it would shrink as they go missing. Absent: not known.
   */
  noiseK?: number;
  plausible: { minC: number; maxC: number; maxRateKPerMin: number };
  /** Range of its certificate [°C]; a reading outside counts as a gap. Null: not calibrated. */
  calibratedC: [number, number] | null;
  /** It reports when it has moved so far, and at a heartbeat; absent: on its own clock. */
  onChange?: OnChange;
  /** What is fitted and what vouches for it, for the record's reader: nothing is computed from them. */
  instrument?: string;
  certificate?: string;
  /** Its readings prove nothing, and count as a gap. */
  unproven?: UnprovenBecause;
  /** Stands in by approval: the point whose readings these are, its offset being a correction. */
  readsFrom?: string;
}

/** Between two reports that follow each other a point has moved by less than what it reports at. */
export interface OnChange {
  withinK: number;
  heartbeatMs: number;
  /**
   * Reports next to each other between which another may be missing: their times [ms]. Null: the device
   * does not number its reports, so that nobody can tell.
   */
  holes: [afterMs: number, beforeMs: number][] | null;
}

/** Its certificate is overdue by more days than the plant allows. */
export type UnprovenBecause = 'grace-over';

/** A point as of the load. */
export interface ScoredSensor extends FittedSensor {
  /** What was fitted there later in the load, by time; each until the next. Null: nothing was. */
  changes?: { fromMs: number; sensor: FittedSensor | null }[];
  /** When a fault was found in its readings: they count as a gap. Both ends inclusive; null: it lasts. */
  doubted?: { fromMs: number; toMs: number | null; rule: string }[];
}

/** A point that measures no temperature, as of the load. Its readings stand among the others. */
export interface ScoredSignal {
  signal: OtherSignal;
  plausible: { min: number; max: number };
  /** Expanded uncertainty (k = 2) of a reading, in the signal's unit. */
  expanded: number;
  /** Of all rams together, where it is the pressure of the oil in them [cm²]; null: not known. */
  ramAreaCm2: number | null;
  /** Longest silence of a point that is well [ms]; absent: it does not say how often it speaks. */
  silentAfterMs?: number;
}

/** What was said of a load beside its marks: spread, mixed, weighed, tested. */
export interface ScoredEvent {
  event: EventKind;
  earliestMs: number;
  latestMs: number;
  /** Numbers by their names, units last: `tempC`, `pct`, `gPerM2`; times in ms. */
  numbers: Record<string, number>;
  /** Names: `mix`, `method`, `unit`. */
  names: Record<string, string>;
}

/** The tool at a face that nothing heats, as the closing before left it [°C]. */
export interface CarriedFace {
  zone: string;
  lowC: number;
  nominalC: number;
  highC: number;
  /** When that was [ms]. */
  atMs: number;
}

/** Which share of each input's bound moves the low and high runs; found once, on the planned cycle. */
export interface Weights {
  zone: string;
  terms: {
    term: BudgetTerm;
    /** Of the low run. */
    weight: number;
    /** Of the high run, whose deciding place is another; absent: the same. */
    weightUp?: number;
  }[];
}

/** All that a verdict follows from, beside the readings. RFC 8785 bytes of it are kept with the record. */
export interface ScoreInput {
  format: 1;
  load: string;
  station: {
    id: string;
    kind: StationKind;
    heating: Heating;
    maxHeatingKPerMin: number;
    maxCoolingKPerMin: number;
    loadingDropKPerMin: number | null;
    supplyMaxC: number;
    surroundingsMinC: number;
  };
  /** The load's zones, in plant order. */
  zones: ScoredZone[];
  startMs: number;
  endMs: number | null;
  /** The clock of a live verdict; `endMs` once the load has ended. */
  asOfMs: number;
  marks: Marks;
  /** End of the plan [ms]; null where the recipe plans none. */
  plannedEndMs: number | null;
  recipe: Recipe;
  sensors: Record<string, ScoredSensor>;
  /** Points of the requirements beside heat; absent: none. */
  signals?: Record<string, ScoredSignal>;
  /** By time; absent: nothing was said. */
  events?: ScoredEvent[];
  /** SHA-256 of the canonical readings, hex; empty while the load is open. */
  readingsSha256: string;
  coats: CarriedCoat[];
  weights: Weights[] | null;
  /** One-sided heating: what the closing before left; absent: nobody knows of one. */
  carried?: CarriedFace[];
}

export type LoadState = 'open' | 'ended';
export type Verdict = 'in-window' | 'under' | 'over' | 'unproven';
export type Side = 'short' | 'long' | 'both';

export interface CureInterval {
  low: number;
  nominal: number;
  high: number;
}

/** Where cure is judged: a zone and a glue line (or coat) in it. */
export interface JudgedPlace extends CureInterval {
  zone: string;
  /** Numbered from the top, from 1; null where there is none. */
  glueLine: number | null;
  /** From the upper face of the first layer [mm]; null where there is no lay-up. */
  depthMm: number | null;
  verdict: Verdict;
  side: Side | null;
}

export type BudgetTerm =
  | 'sensor'
  | 'place'
  | 'diffusivity'
  | 'contact'
  | 'law'
  | 'water'
  | 'initial'
  /** Whole, beside the root of the squares of those above: */
  | 'gap'
  | 'marks'
  | 'range';

/** What one doubt costs at the worst place, in the measure's unit. */
export interface BudgetRow {
  term: BudgetTerm;
  down: number;
  up: number;
  unit: MeasureUnit;
}

export interface Forecast {
  /** When low is expected to reach the least, if things go on as now; null if never. */
  provenAtMs: number | null;
  /** Its range while the station has not recovered; equal to `provenAtMs` after. */
  provenEarliestMs: number | null;
  provenLatestMs: number | null;
  /** When high is expected to pass the most; null if never or no most. */
  overAtMs: number | null;
  /** False: low cannot reach the least before high passes the most. */
  waitingHelps: boolean;
  /** Low and verdict expected at the planned end; null without a plan. */
  atPlan: { low: number; high: number; verdict: Verdict } | null;
}

/** Why a verdict is what it is: data, so that every language can say it. */
export type Reason =
  | { code: 'low-misses-least'; by: number; zone: string; glueLine: number | null }
  | { code: 'high-passes-most'; by: number; zone: string; glueLine: number | null }
  | { code: 'gap'; point: string; fromMs: number; toMs: number; cost: number }
  | { code: 'no-reading'; zone: string; point: string | null }
  /** The start temperature rests on a reading of long before the load. */
  | { code: 'start-stale'; zone: string; point: string; ageMs: number }
  | { code: 'unproven-instrument'; point: string; because: UnprovenBecause }
  | { code: 'fault'; point: string; rule: string; fromMs: number; toMs: number | null }
  | { code: 'marks-assumed' }
  | { code: 'refused'; what: string; because: string }
  | { code: 'requirement'; kind: string; verdict: Verdict };

/** One bound of a requirement, and what is known of it. */
export interface RequirementCheck {
  what: string;
  least: number | null;
  most: number | null;
  unit: string;
  /** Null: nothing was measured, entered or sampled. */
  low: number | null;
  high: number | null;
  /** When it was at its worst; null: always, or not known. */
  atMs: number | null;
  verdict: Verdict;
  side: Side | null;
}

export interface RequirementResult {
  kind: string;
  coveredBy: 'measured' | 'entered' | 'sampled' | 'not-monitored';
  /** The procedure that covers it, where nothing here does. */
  procedure: string | null;
  verdict: Verdict | 'not-monitored';
  side: Side | null;
  checks: RequirementCheck[];
  /** Breaches of a side whose severity is a deviation. */
  deviations: Deviation[];
  /** The checks in a line. */
  evidence: string | null;
}

/** A breach on the record that is no verdict: of a limit of the recipe, or of a requirement's mild side. */
export interface Deviation {
  phase: 'before-load' | 'recovery' | 'hold' | 'requirement';
  zone: string | null;
  /** The point, or the requirement. */
  what: string;
  side: 'short' | 'long';
  /** At its worst. */
  by: number;
  unit: string;
  /** When it began; null: not known. */
  atMs: number | null;
}

export interface Gap {
  point: string;
  fromMs: number;
  /** Null while it lasts. */
  toMs: number | null;
}

/** A change of what is fitted at a point; null: nothing, from then or until then. */
export interface Seam {
  point: string;
  atMs: number;
  before: SeamSide | null;
  after: SeamSide | null;
}

/** What was fitted on one side of a seam; null where the record does not name it. */
export interface SeamSide {
  instrument: string | null;
  certificate: string | null;
}

export interface Quality {
  readings: number;
  doubtful: number;
  conflicts: number;
  duplicates: number;
  gaps: Gap[];
  /** Points of the load's zones without a reading at the end of the data, and since when. */
  silent: { point: string; sinceMs: number | null }[];
  /** Where an instrument was changed in mid-load; absent where none was. */
  seams?: Seam[];
}

export interface Window {
  least: number;
  most: number | null;
}

/** Whether what is opened now may be pressed again: not where a line has been through more than the bound. */
export interface Repress {
  noReturn: number;
  /** Of the line that has been through most. */
  zone: string;
  glueLine: number | null;
  low: number;
  high: number;
  /** `unproven`: perhaps past the bound, so that it is not to be pressed again either. */
  answer: 'allowed' | 'refused' | 'unproven';
}

/** A verdict with all that it says. No time of its own, no version, no model. */
export interface ScoreResult {
  format: 1;
  state: LoadState;
  verdict: Verdict;
  side: Side | null;
  measure: Measure;
  unit: MeasureUnit;
  window: Window;
  /** Null where nothing can be judged: no lay-up, refused heating, no readings at all. */
  worst: { zone: string; glueLine: number | null; depthMm: number | null; margin: number } | null;
  /** In plant order of zones, then from the top. */
  places: JudgedPlace[];
  /** Oven: each coat of the part after this bake, lowest first; absent: the recipe names no coat. */
  coats?: CoatResult[];
  /** Null: the recipe has no such bound, or nothing can be judged. */
  repress: Repress | null;
  requirements: RequirementResult[];
  /** Breaches of the recipe's limits; null: the model threw and nobody has looked for them. */
  deviations: Deviation[] | null;
  budget: BudgetRow[];
  quality: Quality;
  reasons: Reason[];
}

/** Pictures of a load: what its faces, lines and sum did, on one clock. */
export interface LoadTrace {
  timesMs: number[];
  /** Measured faces or air by point, corrected [°C]; null where nothing good was read. */
  measuredC: {
    point: string;
    zone: string;
    face: 'upper' | 'lower' | 'air';
    valuesC: (number | null)[];
    /** What it may least and at most have been, by its readings; absent: drawn by an older model. */
    lowC?: number[];
    highC?: number[];
  }[];
  /** Computed temperature of each glue line (or the coat), worst zone [°C]. */
  lines: {
    zone: string;
    glueLine: number | null;
    lowC: number[];
    nominalC: number[];
    highC: number[];
  }[];
  /** Nominal temperature through the depth in the worst zone: one row a time, one value a depth [°C]. */
  section: { zone: string; depthsMm: number[]; tempC: number[][] } | null;
  /** Growth of the measure at the worst place. */
  cure: { zone: string; glueLine: number | null; low: number[]; nominal: number[]; high: number[] };
  gaps: Gap[];
}
