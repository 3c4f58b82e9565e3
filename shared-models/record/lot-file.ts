import type { Call } from '../call/call.ts';
import { nextCall } from '../call/call.ts';
import type { JudgedPlace, Reason, RequirementResult, ScoreResult } from '../score/shape.ts';
import type { Side, Verdict, Window } from '../score/shape.ts';
import type { AdviceChanged, LoadEnded, LoadOpened, LoadSealed, RecipeRef } from './bodies.ts';
import type { Entry } from './entry.ts';

/** One load of a lot as its file tells it. */
export interface LotLoad {
  load: string;
  station: string;
  opening: string | null;
  zones: string[];
  parts: string[];
  recipe: RecipeRef | null;
  startMs: number;
  endMs: number | null;
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
  requirements: RequirementResult[];
  reasons: Reason[];
  quality: LoadSealed['quality'] | null;
  /** Digests of the documents that the verdict follows from. */
  input: string | null;
  readings: { sha256: string; count: number } | null;
  result: string | null;
  model: LoadSealed['model'] | null;
  dispositions: { n: number; by: string; atMs: number; body: unknown }[];
  calls: Call[];
}

/** Everything that is recorded of a lot. Its RFC 8785 bytes are `lot.json`. */
export interface LotFile {
  format: 1;
  log: string;
  site: { id: string; title: string; timeZone: string; demo: boolean };
  lot: string;
  /** By start, station, load. */
  loads: LotLoad[];
  /** The lot's entries as they stand in the ledger. */
  entries: Entry[];
}

/** The state of a lot before its first load's entry is an empty file. */
export function lotFile(
  lot: string,
  site: LotFile['site'],
  log: string,
  entries: Entry[],
  resultOf: (sha256: string) => ScoreResult | null,
): LotFile {
  const loads = new Map<string, LotLoad>();
  const calls = new Map<string, Call>();
  for (const entry of entries) {
    const load = entry.about.load ?? '';
    if (entry.kind === 'load-opened') {
      const opened = entry.body as LoadOpened;
      if (opened.lot === lot) loads.set(load, openedLoad(opened));
    }
    const known = loads.get(load);
    if (known) tell(known, entry, resultOf);
    const call = entry.about.call;
    if (call !== undefined) {
      const next = nextCall(calls.get(call), entry);
      if (next) calls.set(call, next);
    }
  }
  for (const call of calls.values()) loads.get(call.raised.load ?? '')?.calls.push(call);
  return { format: 1, log, site, lot, loads: [...loads.values()].sort(byStart), entries };
}

function openedLoad(opened: LoadOpened): LotLoad {
  const { load, station, opening, zones, parts, recipe, marks, model } = opened;
  return {
    load,
    station,
    opening,
    zones,
    parts,
    recipe,
    startMs: marks.pressureOn.earliestMs,
    endMs: null,
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
    requirements: [],
    reasons: [],
    quality: null,
    input: null,
    readings: null,
    result: null,
    model,
    dispositions: [],
    calls: [],
  };
}

/** The load after one of its entries. */
function tell(load: LotLoad, entry: Entry, resultOf: (sha256: string) => ScoreResult | null): void {
  if (entry.kind === 'advice-changed') {
    const { verdict, side } = entry.body as AdviceChanged;
    Object.assign(load, { verdict, side });
  } else if (entry.kind === 'load-ended') {
    const { endMs, verdict, side } = entry.body as LoadEnded;
    Object.assign(load, { state: 'ended', endMs, verdict, side });
  } else if (entry.kind === 'load-sealed' || entry.kind === 'load-amended') {
    Object.assign(load, sealedPart(entry.body as LoadSealed, resultOf));
  } else if (entry.kind === 'disposition') {
    load.dispositions.push({ n: entry.n, by: entry.by, atMs: entry.at, body: entry.body });
  }
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
    requirements: result?.requirements ?? [],
    reasons: result?.reasons ?? [],
  };
}

function byStart(a: LotLoad, b: LotLoad): number {
  return a.startMs - b.startMs || compare(a.station, b.station) || compare(a.load, b.load);
}

function compare(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0;
}
