import type { CoatStack } from './coat-shown.ts';
import type { Effect } from '../condition/impact.ts';
import type { LimitKey } from '../condition/proposal.ts';
import type { FoundBy } from '../condition/closing.ts';
import type { RepairEvidence } from '../condition/repair.ts';
import type { SurveyEvidence } from '../condition/survey-evidence.ts';
import type { SurveyedBy, SurveyGrid } from '../condition/survey-figures.ts';
import type { Survey } from '../condition/survey.ts';
import type {
  CarriedFace,
  Marks,
  ScoreResult,
  Side,
  Verdict,
  Weights,
  ScoredEvent,
} from '../score/shape.ts';

export type * from './act-bodies.ts';
export type * from './call-bodies.ts';
export type * from './instrument-bodies.ts';

/** Where in the journal something came in: batch number and place in the batch. */
export interface JournalPlace {
  seq: number;
  index: number;
}

export interface RecipeRef {
  id: string;
  revision: number;
  sha256: string;
}

/** A log begins. */
export interface LogStarted {
  /** The verifier key of its checkpoints; absent in ledgers from before they were signed. */
  key?: string;
}

/** The next life of a log: it goes on behind what the earlier one still has. */
export interface LogContinued {
  /** Where the earlier life ends here; root hex. */
  from: { log: string; size: number; root: string };
  /** How far the earlier life was seen elsewhere: what lies between is lost here. */
  seenOutside: { size: number; root: string } | null;
  because: 'restored' | 'copy-found';
  key: string | null;
}

export interface KeyChanged {
  from: string | null;
  to: string;
  /** `first`: the log was begun before checkpoints were signed. `missing`: the private key is not here. */
  because: 'first' | 'missing';
}

/** A full UTC hour of the journal, bound into the ledger. */
export interface JournalClosed {
  /** Start of the hour after the last batch's receipt [ms]. */
  beforeMs: number;
  fromSeq: number;
  toSeq: number;
  /** Chained hash of the last batch, hex. */
  lastHash: string;
  readings: number;
  conflicts: number;
  rejects: number;
}

export interface PlantRevised {
  sha256: string;
  bytes: number;
}

export interface RecipeProposed {
  recipe: RecipeRef;
  title: string;
  bytes: number;
}

export interface RecipeApproved {
  recipe: RecipeRef;
  reason: string;
}

/** A load begins: everything that was resolved at its start, fixed here. */
export interface LoadOpened {
  load: string;
  station: string;
  opening: string | null;
  zones: string[];
  lot: string;
  parts: string[];
  /** Null: no approved recipe; readings are kept, nothing is judged. */
  recipe: RecipeRef | null;
  plantSha256: string;
  marks: Marks;
  plannedEndMs: number | null;
  event: JournalPlace;
  /** The act that asked for it, where a person did. */
  act: string | null;
  /** The closing whose clock it has, where somebody named one that the readings had shown; else absent. */
  closing?: { foundMs: number; foundBy: FoundBy };
  weights: Weights[] | null;
  /** One-sided heating: what the closing before left of its tools. */
  carried?: CarriedFace[];
  /** What was said of it before it began; absent: nothing. */
  events?: ScoredEvent[];
  /** Noise of points before the load, where plant.yaml does not say it [K]; absent in old entries. */
  noiseK?: Record<string, number>;
  /** What a survey says of a place, taken over for the station; absent: the recipe's alone counts. */
  place?: SurveyedPlace;
  model: { number: number | null; sha256: string | null };
}

export type Say = 'wait' | 'proven' | 'too-long' | 'ask' | 'none';

export interface AdviceChanged {
  say: Say;
  verdict: Verdict;
  side: Side | null;
  provenAtMs: number | null;
  overAtMs: number | null;
}

export interface LoadEnded {
  load: string;
  marks: Marks;
  endMs: number;
  event: JournalPlace;
  act: string | null;
  verdict: Verdict;
  side: Side | null;
  /** One-sided heating: what it leaves to the next closing. */
  carried?: CarriedFace[];
  /** What was said of it beside its marks; absent: nothing. */
  events?: ScoredEvent[];
}

export interface LoadSealed {
  revision: number;
  sealedBy: 'complete' | 'deadline';
  silent: string[];
  startMs: number;
  endMs: number;
  model: { number: number | null; sha256: string | null };
  input: { sha256: string; bytes: number };
  readings: { sha256: string; bytes: number; count: number; journalUpTo: number };
  result: { sha256: string; bytes: number };
  /** Readings that were taken out, with the reason; absent where there are none. */
  doubtful?: { sha256: string; bytes: number; count: number };
  verdict: Verdict;
  side: Side | null;
  worst: ScoreResult['worst'];
  /** Breaches of the recipe's limits; null: this model has not looked for them. */
  deviations: number | null;
  quality: { readings: number; doubtful: number; conflicts: number; gaps: number };
  /** No model has judged it, and why: then the result holds that reason and nothing computed. */
  unjudged?: 'no-recipe' | 'faulted';
}

/**
 * Why a sealed load has another account: late or conflicting readings, evidence that came late, another
 * account of an earlier bake of its coats, or an act of a person.
 */
export type AmendedBecause =
  'late' | 'conflict' | 'evidence' | 'upstream' | { act: { n: number; by: string } };

/** The whole new account, never a patch: the earlier one stays readable beside it. */
export interface LoadAmended extends LoadSealed {
  /** Leaf of the account it follows, hex. */
  amends: string;
  because: AmendedBecause;
}

/** The wall's clock was set, or the machine slept; receipt times after it follow the new one. */
export interface ClockStepped {
  /** What it should have said, by the monotonic clock or, at a start, by the newest receipt [ms]. */
  expectedMs: number;
  foundMs: number;
  when: 'running' | 'start';
}

/** Readings that the box keeps no more. Minutes, events and sealed records stay. */
export interface ReadingsDropped {
  because: 'space' | 'age';
  /** Readings before it; a point that an unsealed load needs keeps its own from an earlier hour on [ms]. */
  untilMs: number;
  oldestMs: number;
  readings: number;
  points: number;
  /** Batches that had not arrived at the long history by then; null where there is none. */
  unsent: number | null;
}

export interface LoadFaulted {
  load: string;
  because: string;
}

/** What a lot's file rests on at one moment; what an entry has no room for lies in a blob as `whole`. */
export interface LotListing {
  /** Each load's effective account. */
  loads: { load: string; log: string; n: number; leaf: string; revision: number }[];
  /** Numbers of every entry of the lot before this one: none can be left out unseen. */
  entries: number[];
  /** Of a lot's file: coats of its parts, computed whole from the readings of all their bakes. */
  coats?: CoatStack[];
}

/** A lot's file as it stood when it was released, or when something it rests on has changed after that. */
export interface LotFiled extends LotListing {
  lot: string;
  revision: number;
  because: 'released' | 'load-changed';
  /** The entry it follows: the release, or the account that has changed. */
  after: number;
  /** By which model its coats were computed; absent: it has none. */
  coatsBy?: LoadSealed['model'];
  whole?: { sha256: string; bytes: number };
}

export interface RecordExported extends LotListing {
  lot: string;
  as: 'json' | 'csv' | 'bundle' | 'pdf';
  /** Of `lot.json` as it went out. */
  sha256: string;
  /** Of a bundle: digest of the digests of its members outside the proof. */
  members?: string;
  whole?: { sha256: string; bytes: number };
}

/** Everything of a period went out as one bundle. */
export interface PeriodExported {
  as: 'period';
  /** From the first on, before the second [ms]. */
  fromMs: number;
  toMs: number;
  /** Of `period.json` as it went out. */
  sha256: string;
  /** Digest of the digests of its members outside the proof. */
  members: string;
}

/** What is to be done, or was done, at a station: the baseline of its zones begins anew with it. */
export const workKinds = [
  'heater',
  'oil-channel',
  'thermocouple',
  'controller',
  'seal',
  'pad',
  'cleaning',
  'survey',
  'other',
] as const;
export type WorkKind = (typeof workKinds)[number];

/** A job for the next stop. */
export interface WorkPlanned {
  work: string;
  station: string;
  /** Points of the faces it is about; none: the whole station. */
  points: string[];
  what: WorkKind;
  note: string;
  /** Evidence it rests on, in a sentence as it was shown; empty where a person knew it himself. */
  because: string;
}

/** It was done: what comes later is compared with what came before. */
export interface WorkDone {
  work: string;
  station: string;
  points: string[];
  what: WorkKind;
  note: string;
  /** When it was finished, by whoever did it [ms]. */
  doneMs: number;
}

/** A person has looked at the evidence and closes the job. */
export interface WorkClosed {
  work: string;
  /** `proven`: cycles or a survey after it show it; `not-proven`: closed all the same, with the reason in the note. */
  evidence: 'proven' | 'not-proven';
  note: string;
  /** What was compared when it was closed; absent where it was never done, and in older entries. */
  rests?: { cycles: RepairEvidence[]; survey: SurveyEvidence | null };
}

/** A limit as the plant's own data have it, taken over by a person: loads that start later count with it. */
export interface LimitApproved {
  station: string;
  key: LimitKey;
  /** In the key's own unit. */
  value: number;
  /** What was in force before; null: nothing was. */
  was: number | null;
  /** What it rests on: cycles, and the greatest (least) that was seen in them. */
  cycles: number;
  seen: number;
}

/** A temperature survey of a platen or an oven, with what it rests on; its samples lie in a blob, corrected. */
export interface SurveyTaken {
  survey: string;
  station: string;
  /** End of its soak [ms]. */
  atMs: number;
  /** From the plant's own points as they spoke, or from a logger's file of that name. */
  source: { kind: 'live' } | { kind: 'file'; name: string };
  setPointC: number;
  toleranceK: number;
  grid: SurveyGrid | null;
  soak: { fromS: number; toS: number; samples: number };
  figures: Survey;
  by: SurveyedBy[];
  samples: { sha256: string; bytes: number };
  note: string;
}

/** What a survey says of a place in its zone is taken over: it counts for loads of the station from then on. */
export interface PlaceApproved {
  station: string;
  survey: string;
  /** Half-width [K]. */
  placeK: number;
  /** What was in force before; null: nothing was. */
  was: { survey: string; placeK: number } | null;
}

/** The same as a load keeps it, by value. */
export interface SurveyedPlace {
  survey: string;
  placeK: number;
  /** Who took it over, and the entry that says so. */
  by: string;
  n: number;
}

/** What an instrument that came back out of limits may have spoilt; what it means for a load, people decide. */
export interface ImpactReviewed {
  instrument: string;
  certificate: string;
  /** Entry of the certificate that told. */
  calibrated: number;
  atC: number;
  errorK: number;
  en: number;
  lastGoodMs: number;
  lastGoodBy: string;
  foundMs: number;
  counts: Record<Effect, number>;
  /** Each load by three hypotheses, as a blob. */
  loads: { sha256: string; bytes: number };
}
