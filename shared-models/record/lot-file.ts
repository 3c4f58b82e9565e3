import { shownCoat, type CoatShown, type CoatStack } from './coat-shown.ts';
import type { Call } from '../call/call.ts';
import { nextCall } from '../call/call.ts';
import type { JudgedPlace, Reason, RequirementResult, ScoreResult } from '../score/shape.ts';
import type { BudgetRow, Deviation, Marks, Side, Verdict, Window } from '../score/shape.ts';
import type { AdviceChanged, LoadAmended, LoadEnded, LoadOpened, LoadSealed } from './bodies.ts';
import type { LoadCorrected } from './bodies.ts';
import type { Disposition, LotFiled, RecipeRef, SurveyedPlace } from './bodies.ts';
import type { Entry } from './entry.ts';
import { nextDecisions, undecided, type LoadDecisions } from './decisions.ts';
import { lotCoats } from './lot-coats.ts';
import { Openings } from './openings.ts';

/** One account of a load; the last one counts, the earlier ones stay readable beside it. */
export interface LotRevision {
  /** Its entry. */
  n: number;
  atMs: number;
  revision: number;
  because: LoadAmended['because'] | null;
  /** As it counted then; absent in files of format 1. */
  recipe?: RecipeRef | null;
  verdict: Verdict;
  side: Side | null;
  worst: LoadSealed['worst'];
  model: LoadSealed['model'];
  input: string;
  readings: string;
  result: string;
}

/** One load of a lot as its file tells it. */
export interface LotLoad {
  load: string;
  station: string;
  opening: string | null;
  zones: string[];
  parts: string[];
  recipe: RecipeRef | null;
  /** What a survey said of a place as it began; absent: the recipe's alone counts. */
  place?: SurveyedPlace;
  startMs: number;
  endMs: number | null;
  marks: Marks;
  state: 'open' | 'ended' | 'sealed';
  verdict: Verdict;
  side: Side | null;
  /** Of the sealed account; null while there is none. */
  revision: number | null;
  sealedBy: LoadSealed['sealedBy'] | null;
  measure: ScoreResult['measure'] | null;
  unit: ScoreResult['unit'] | null;
  window: Window | null;
  worst: LoadSealed['worst'];
  places: JudgedPlace[];
  /** Each coat of its parts after this bake; empty where it bakes none. */
  coats: CoatShown[];
  requirements: RequirementResult[];
  budget: BudgetRow[];
  reasons: Reason[];
  /** Breaches that are no verdict; absent while nothing is sealed. */
  deviations?: Deviation[];
  quality: LoadSealed['quality'] | null;
  /** Digests of the documents that the verdict follows from. */
  input: string | null;
  readings: { sha256: string; count: number } | null;
  result: string | null;
  model: LoadSealed['model'] | null;
  /** Oldest first. */
  revisions: LotRevision[];
  dispositions: { n: number; by: string; atMs: number; body: unknown }[];
  calls: Call[];
}

/** A start that was taken back. */
export interface TakenBack {
  load: string;
  station: string;
  startMs: number;
  n: number;
  by: string;
  atMs: number;
  reason: string | null;
}

/** Everything that is recorded of a lot. Its RFC 8785 bytes are `lot.json`. */
export interface LotFile {
  /** 1: loads as they were opened; 2: as people have put them right since. */
  format: 1 | 2;
  log: string;
  site: { id: string; title: string; timeZone: string; demo: boolean };
  lot: string;
  /** `release-questioned`: an account has changed since the release. */
  state: 'in-work' | 'held' | 'released' | 'release-questioned' | 'scrapped';
  /** By start, station, load. */
  loads: LotLoad[];
  /** Starts that were taken back: there never were such loads. Absent: none. */
  takenBack?: TakenBack[];
  /** Coats of its parts as they lie, by the last sealed bake of each. */
  coats: CoatStack[];
  /** Each time the lot's file was fixed: at its release, and anew at every change after it. */
  filed: { n: number; atMs: number; revision: number; because: LotFiled['because'] }[];
  /** What people decided of the lot as a whole. */
  dispositions: LotLoad['dispositions'];
  /** The lot's entries as they stand in the ledger. */
  entries: Entry[];
}

/**
 * The state of a lot before its first load's entry is an empty file.
 *
 * @param entries of the lot, those of loads that came to it or left it among them, in their order
 * @param format of a file that is told again as it was written
 */
export function lotFile(
  lot: string,
  site: LotFile['site'],
  log: string,
  entries: Entry[],
  resultOf: (sha256: string) => ScoreResult | null,
  format: LotFile['format'] = 2,
): LotFile {
  const heard = format === 1 ? entries.filter(({ kind }) => kind !== 'load-corrected') : entries;
  const { loads, takenBack, isIn } = loadsTold(lot, heard, resultOf);
  const inOrder = [...loads.values()].sort(byStart);
  const ofLot = ({ about: { load } }: Entry) => format === 1 || load === undefined || isIn(load);
  const partsOf = (load: string) => loads.get(load)?.parts ?? [];
  return {
    ...{ format, log, site, lot },
    state: lotState(entries.filter(ofLot), format === 1 ? null : partsOf),
    loads: inOrder,
    ...(takenBack.length > 0 && { takenBack }),
    coats: lotCoats(inOrder),
    filed: entries
      .filter(({ kind }) => kind === 'lot-filed')
      .map((entry) => {
        const { revision, because } = entry.body as LotFiled;
        return { n: entry.n, atMs: entry.at, revision, because };
      }),
    dispositions: entries
      .filter(({ kind, about }) => kind === 'disposition' && about.load === undefined)
      .map(dispositionOf),
    entries,
  };
}

/** The loads that are in the lot at the end of its entries, and the starts that were taken back in it. */
function loadsTold(
  lot: string,
  entries: readonly Entry[],
  resultOf: (sha256: string) => ScoreResult | null,
) {
  const openings = new Openings();
  const loads = new Map<string, LotLoad>();
  const calls = new Map<string, Call>();
  const takenBack: TakenBack[] = [];
  for (const entry of entries) {
    const load = entry.about.load ?? '';
    const before = openings.get(load);
    openings.take(entry);
    const opened = openings.get(load);
    if (entry.kind === 'load-opened') loads.set(load, openedLoad(entry.body as LoadOpened));
    const known = loads.get(load);
    if (known && opened) tell(known, entry, opened, resultOf);
    if (known && before && !opened) {
      loads.delete(load);
      if (before.lot === lot) takenBack.push(takenBackOf(known, entry as Entry<LoadCorrected>));
    }
    const call = entry.about.call;
    if (call !== undefined) {
      const next = nextCall(calls.get(call), entry);
      if (next) calls.set(call, next);
    }
  }
  const isIn = (load: string) => openings.get(load)?.lot === lot;
  for (const load of loads.keys()) if (!isIn(load)) loads.delete(load);
  for (const call of calls.values()) loads.get(call.raised.load ?? '')?.calls.push(call);
  return { loads, takenBack, isIn };
}

function takenBackOf(
  { load, station, startMs }: LotLoad,
  { n, by, at, body }: Entry<LoadCorrected>,
): TakenBack {
  return { load, station, startMs, n, by, atMs: at, reason: body.reason };
}

/**
 * By what was decided last of the lot or a load of it, and whether an account has changed since. A decision
 * about some parts of a load says nothing of the lot until it is said of all of them.
 *
 * @param partsOf of a load, by name; null: files of format 1 took part for all
 */
function lotState(
  entries: Entry[],
  partsOf: ((load: string) => readonly string[]) | null,
): LotFile['state'] {
  let state: LotFile['state'] = 'in-work';
  const decided = new Map<string, LoadDecisions>();
  for (const entry of entries) {
    if (entry.kind === 'load-amended' && state === 'released') state = 'release-questioned';
    if (entry.kind !== 'disposition') continue;
    const { load = '' } = entry.about;
    const next = nextDecisions(decided.get(load) ?? undecided, entry, null, partsOf?.(load) ?? []);
    decided.set(load, next);
    const { decision } = entry.body as Partial<Disposition>;
    if (decision === 'hold') state = 'held';
    else if (decision === 're-press' || decision === 'rework') state = 'in-work';
    else if (partsOf !== null && next.gone.length > 0) continue;
    else if (isRelease(entry)) state = 'released';
    else if (decision === 'scrap') state = 'scrapped';
  }
  return state;
}

/** Whether somebody sets parts free with it; one that waits for a second person does not yet. */
export function isRelease({ kind, body }: Entry): boolean {
  if (kind !== 'disposition') return false;
  const { decision, needsSecond, seconds } = body as Partial<Disposition>;
  if (needsSecond === true && (seconds ?? null) === null) return false;
  return decision === 'release' || decision === 'concession';
}

function dispositionOf({ n, by, at, body }: Entry): LotLoad['dispositions'][number] {
  return { n, by, atMs: at, body };
}

function openedLoad(opened: LoadOpened): LotLoad {
  const { load, station, opening, zones, parts, recipe, place, marks, model } = opened;
  return {
    load,
    station,
    opening,
    zones,
    parts,
    recipe,
    ...(place && { place }),
    startMs: marks.pressureOn.earliestMs,
    endMs: null,
    marks,
    state: 'open',
    verdict: 'unproven',
    side: 'short',
    revision: null,
    sealedBy: null,
    measure: null,
    unit: null,
    window: null,
    worst: null,
    places: [],
    coats: [],
    requirements: [],
    budget: [],
    reasons: [],
    quality: null,
    input: null,
    readings: null,
    result: null,
    model,
    revisions: [],
    dispositions: [],
    calls: [],
  };
}

/** The load after one of its entries. @param opened its beginning as it counts by then */
function tell(
  load: LotLoad,
  entry: Entry,
  opened: LoadOpened,
  resultOf: (sha256: string) => ScoreResult | null,
): void {
  if (entry.kind === 'advice-changed') {
    const { verdict, side } = entry.body as AdviceChanged;
    Object.assign(load, { verdict, side });
  } else if (entry.kind === 'load-ended') {
    const { endMs, marks, verdict, side } = entry.body as LoadEnded;
    Object.assign(load, { state: 'ended', endMs, marks, verdict, side });
  } else if (isAccount(entry)) {
    Object.assign(load, sealedPart(entry.body, resultOf));
    load.revisions.push(revisionOf(entry, opened.recipe));
  } else if (entry.kind === 'load-corrected') {
    putRight(load, entry.body as LoadCorrected, opened);
  } else if (entry.kind === 'disposition') {
    load.dispositions.push(dispositionOf(entry));
  }
}

/** What its record says of it comes with the amended account. */
function putRight(load: LotLoad, { change }: LoadCorrected, opened: LoadOpened): void {
  const { parts, recipe } = opened;
  Object.assign(load, { parts, recipe });
  if (change.what !== 'marks') return;
  const marks = { ...load.marks, ...change.marks };
  const startMs = marks.pressureOn.earliestMs;
  Object.assign(load, { marks, startMs, endMs: change.endMs ?? load.endMs });
}

/** Whether an entry is a whole account of a load. */
export function isAccount(entry: Entry): entry is Entry<LoadSealed | LoadAmended> {
  return entry.kind === 'load-sealed' || entry.kind === 'load-amended';
}

function revisionOf(
  { n, at, body }: Entry<LoadSealed | LoadAmended>,
  recipe: RecipeRef | null,
): LotRevision {
  const { revision, verdict, side, worst, model, input, readings, result } = body;
  return {
    ...{ n, atMs: at, revision, recipe, verdict, side, worst, model },
    because: 'because' in body ? body.because : null,
    input: input.sha256,
    readings: readings.sha256,
    result: result.sha256,
  };
}

function sealedPart(
  sealed: LoadSealed,
  resultOf: (sha256: string) => ScoreResult | null,
): Partial<LotLoad> {
  const result = resultOf(sealed.result.sha256);
  const { revision, sealedBy, endMs, verdict, side, worst, quality, model } = sealed;
  return {
    state: 'sealed',
    revision,
    sealedBy,
    endMs,
    verdict,
    side,
    worst,
    quality,
    model,
    input: sealed.input.sha256,
    readings: { sha256: sealed.readings.sha256, count: sealed.readings.count },
    result: sealed.result.sha256,
    measure: result?.measure ?? null,
    unit: result?.unit ?? null,
    window: result?.window ?? null,
    places: result?.places ?? [],
    coats: (result?.coats ?? []).map(shownCoat),
    requirements: result?.requirements ?? [],
    budget: result?.budget ?? [],
    reasons: result?.reasons ?? [],
    deviations: result?.deviations ?? [],
  };
}

function byStart(a: LotLoad, b: LotLoad): number {
  return a.startMs - b.startMs || compare(a.station, b.station) || compare(a.load, b.load);
}

function compare(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0;
}
