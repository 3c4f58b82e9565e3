import type { Charge, UsualRecovery } from '../condition/charge.ts';
import type { CauseHint } from '../condition/causes.ts';
import type { FeatureName } from '../condition/feature.ts';
import type { Outlook } from '../condition/outlook.ts';
import type { Proposal } from '../condition/proposal.ts';
import type { RepairEvidence } from '../condition/repair.ts';
import type { SurveyEvidence } from '../condition/survey-evidence.ts';
import type { ApprovedPlace } from '../condition/surveyed-place.ts';
import type { SurveyComparison } from '../condition/survey-figures.ts';
import type { Survey } from '../condition/survey.ts';
import type { FeatureCondition } from '../condition/zone-condition.ts';
import type { SurveyTaken, WorkClosed, WorkDone, WorkPlanned } from '../record/bodies.ts';

/** `GET /heat-ups`: a line a station. */
export interface StationHeat {
  station: string;
  title: string;
  kind: string;
  readyC: number | null;
  heating: HeatedNow;
  /** The worst of its faces. */
  worst: FaceCell['state'] | null;
}

/** The heat-up of now, or the last one. */
export interface HeatedNow {
  startMs: number | null;
  startC: number | null;
  /** When the last face was ready; null while it is not. */
  readyMs: number | null;
  /** When it usually would have been, after like starts; null while too few are known. */
  usuallyReadyMs: number | null;
  /** While it heats up: when it will be, at today's pace; null where too few are known to tell. */
  expectedReadyMs: number | null;
  /** The face that was last, or is. */
  lastPoint: string | null;
  /** Way of the coldest face to ready, 0 to 1, while it heats up. */
  share: number | null;
  interrupted: string | null;
}

/** One face of the platens as they lie. */
export interface FaceCell {
  point: string;
  /** Column of its zone, and row from the top, from 0. */
  zone: string;
  row: number;
  rows: number;
  role: 'control' | 'watch';
  nowC: number | null;
  silentSinceMs: number | null;
  /** Minutes of the newest heat-up; null while it is not ready. */
  minutes: number | null;
  minutesUsual: { low: number; high: number } | null;
  /** Where it holds, and where it usually does [°C]. */
  holdC: number | null;
  holdUsual: { low: number; high: number } | null;
  /** The worst of its features. */
  state: FeatureCondition['state'] | 'silent';
  /** The feature that says so, and since when. */
  because: FeatureName | null;
  sinceMs: number | null;
  cycles: number;
  baselineSinceMs: number | null;
  baselineCycles: number;
}

/** What goes next, and what it costs. */
export interface GoesNext {
  point: string;
  condition: FeatureCondition;
  /** When the planned time stops proving at this pace; null where no recipe tells. */
  cost: { recipe: string; plannedMin: number; limitC: number; outlook: Outlook | null } | null;
}

export interface WorkItem {
  planned: WorkPlanned | null;
  plannedN: number | null;
  done: WorkDone | null;
  doneN: number | null;
  closed: WorkClosed | null;
  /** Cycles after it against those before it. */
  evidence: RepairEvidence[];
  /** A survey after it beside the last one before; null where none was taken before. */
  survey: SurveyEvidence | null;
  /** `proven` once the whole interval says better and nothing says worse. */
  says: 'proven' | 'not-proven' | 'wait' | null;
}

/** A proposed limit beside what counts now. */
export interface ProposedLimit extends Proposal {
  /** Null: nothing says so yet. */
  inForce: number | null;
  /** Who took the one in force over from the plant's data, and when; null: it stands in a file. */
  approved: { by: string; atMs: number } | null;
  /** Recipes of the station's kind that say something else, with what they say; of phases alone. */
  recipes: { title: string; value: number | null }[];
}

/** `GET /heat-ups/{station}` */
export interface HeatUpReport {
  station: string;
  title: string;
  kind: string;
  nowMs: number;
  readyC: number | null;
  newest: HeatedNow;
  heatUps: number;
  faces: FaceCell[];
  /** Of all faces together: spread, overshoot, recovery, output. */
  figures: FeatureCondition[];
  goesNext: GoesNext | null;
  causes: CauseHint[];
  work: WorkItem[];
  proposals: ProposedLimit[];
  /** Newest first. */
  excluded: { point: string; startMs: number; because: string }[];
  closings: { startMs: number; startLatestMs: number; endMs: number | null; foundBy: string }[];
  /** Certificates that end soon, or have. */
  due: { point: string; certificate: string; due: string }[];
  /** Share of the journal that has been looked through; below 1 while the past is being read again. */
  readUpTo: number;
}

/** `GET /heat-ups/{station}/{point}?feature=` */
export interface FaceHistory {
  station: string;
  point: string;
  readyC: number | null;
  newest: { startMs: number; startC: number; curveC: (number | null)[] } | null;
  /** 8 of 10 heat-ups of like start, by minute from the start [°C]. */
  usual: {
    lowC: number[];
    highC: number[];
    heatUps: number;
    startLowC: number;
    startHighC: number;
  } | null;
  /** The newest charge over the usual way back; null before there was one. */
  recovery: { newest: Charge; usual: UsualRecovery | null } | null;
  feature: FeatureName;
  condition: FeatureCondition | null;
  /** One a cycle (a day of charges), as told for like starts. */
  dots: { atMs: number; value: number }[];
  /** Work done on it, and by whom. */
  marks: { atMs: number; what: string; note: string; by: string }[];
}

/** A survey as the screen shows it. */
export interface SurveyShown extends SurveyTaken {
  n: number;
  person: string;
  /** Beside the last one of the same points; null: there is none. */
  comparison: (SurveyComparison & { survey: string; atMs: number }) | null;
  /** What it says of a place in its zone, as a half-width [K]; as found, and in tenths, never less. */
  placeK: number;
  offeredK: number;
  /** Recipes of the station's kind with what they say of it; null: nothing. */
  recipes: { title: string; placeK: number | null }[];
}

/** `GET /surveys/{station}`: newest first. */
export interface StationSurveys {
  station: string;
  nowMs: number;
  /** Points that a survey of its own can be taken with: faces first, and how many of them are faces. */
  points: string[];
  faces: number;
  /** How the faces lie, rows x columns; empty where they lie in no grid. */
  grid: string;
  /** The survey whose place counts for what starts now; null: none was taken over. */
  place: ApprovedPlace | null;
  surveys: SurveyShown[];
}

/** `GET /surveys/{station}/soak`: how a survey that runs stands. */
export interface SoakNow {
  figures: Survey | null;
  samples: number;
  /** Why there is no figure, or none of a point yet. */
  trouble: string | null;
}
