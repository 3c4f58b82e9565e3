import type { Entry } from '@setwell/shared-models/record/entry';
import type {
  AdviceChanged,
  LoadCorrected,
  LoadEnded,
  LoadFaulted,
  LoadOpened,
  LoadSealed,
  RecipeRef,
  Say,
} from '@setwell/shared-models/record/bodies';
import {
  nextDecisions,
  undecided,
  type LoadDecisions,
} from '@setwell/shared-models/record/decisions';
import type { ScoreResult, Side, Verdict } from '@setwell/shared-models/score/shape';

/** One sealed account of a load; the highest revision counts, earlier ones stay readable. */
export interface SealedRevision {
  revision: number;
  n: number;
  atMs: number;
  because: string | null;
  verdict: Verdict;
  side: Side | null;
  worst: ScoreResult['worst'];
  result: { sha256: string; bytes: number };
  input: { sha256: string; bytes: number };
  quality: LoadSealed['quality'];
  sealedBy: LoadSealed['sealedBy'];
}

/** What the ledger says of a load: a fold, never a conclusion of its own. */
export interface LoadView {
  id: string;
  station: string;
  opening: string | null;
  zones: string[];
  lot: string;
  parts: string[];
  recipe: RecipeRef | null;
  startMs: number;
  endMs: number | null;
  plannedEndMs: number | null;
  state: 'open' | 'ended' | 'sealed';
  verdict: Verdict;
  side: Side | null;
  say: Say;
  provenSinceMs: number | null;
  /** When it was first said to be past the most. */
  overSinceMs: number | null;
  startedBy: string;
  endedBy: string | null;
  /** Entry that opened it. */
  n: number;
  revisions: SealedRevision[];
  fault: string | null;
  decisions: LoadDecisions;
  /** Taken back: there never was such a load. */
  voided: { by: string; atMs: number; reason: string | null } | null;
}

/** A load-opened entry's load. */
export function openedLoad(entry: Entry<LoadOpened>): LoadView {
  const body = entry.body;
  return {
    id: body.load,
    station: body.station,
    opening: body.opening,
    zones: body.zones,
    lot: body.lot,
    parts: body.parts,
    recipe: body.recipe,
    startMs: body.marks.pressureOn.earliestMs,
    endMs: null,
    plannedEndMs: body.plannedEndMs,
    state: 'open',
    verdict: 'under',
    side: 'short',
    say: 'none',
    provenSinceMs: null,
    overSinceMs: null,
    startedBy: entry.by,
    endedBy: null,
    n: entry.n,
    revisions: [],
    fault: null,
    decisions: undecided,
    voided: null,
  };
}

/** The load after a later entry about it; unchanged by kinds that say nothing of it. */
export function nextLoad(load: LoadView, entry: Entry): LoadView {
  switch (entry.kind) {
    case 'advice-changed': {
      const body = entry.body as AdviceChanged;
      const proven = body.say === 'proven';
      return {
        ...load,
        say: body.say,
        verdict: body.verdict,
        side: body.side,
        provenSinceMs: proven ? (load.provenSinceMs ?? entry.at) : load.provenSinceMs,
        overSinceMs: body.verdict === 'over' ? (load.overSinceMs ?? entry.at) : null,
      };
    }
    case 'load-ended': {
      const body = entry.body as LoadEnded;
      const { endMs, verdict, side } = body;
      const state = load.state === 'sealed' ? 'sealed' : 'ended';
      return { ...load, state, endMs, verdict, side, endedBy: entry.by };
    }
    case 'load-sealed':
    case 'load-amended': {
      const body = entry.body as LoadSealed & { because?: unknown };
      const revision: SealedRevision = {
        revision: body.revision,
        n: entry.n,
        atMs: entry.at,
        because: body.because === undefined ? null : reasonText(body.because),
        verdict: body.verdict,
        side: body.side,
        worst: body.worst,
        result: body.result,
        input: body.input,
        quality: body.quality,
        sealedBy: body.sealedBy,
      };
      const revisions = [...load.revisions, revision].sort((a, b) => a.revision - b.revision);
      const effective = revisions[revisions.length - 1] ?? revision;
      const before = load.revisions.length === 0 ? null : load.verdict;
      return {
        ...load,
        decisions: nextDecisions(load.decisions, entry, before, load.parts),
        state: 'sealed',
        startMs: body.startMs,
        endMs: body.endMs,
        verdict: effective.verdict,
        side: effective.side,
        revisions,
      };
    }
    case 'load-corrected':
      return corrected(load, entry as Entry<LoadCorrected>);
    case 'disposition':
      return {
        ...load,
        decisions: nextDecisions(load.decisions, entry, load.verdict, load.parts),
      };
    case 'load-faulted':
      return { ...load, verdict: 'unproven', fault: (entry.body as LoadFaulted).because };
    default:
      return load;
  }
}

function reasonText(because: unknown): string {
  if (typeof because === 'string') return because;
  return typeof because === 'object' && because !== null
    ? (Object.keys(because)[0] ?? 'act')
    : 'act';
}

/** The load as a person has put it right; what its record says comes with the amended account. */
function corrected(load: LoadView, { body, by, at: atMs }: Entry<LoadCorrected>): LoadView {
  const { change, reason } = body;
  switch (change.what) {
    case 'void':
      return { ...load, state: 'ended', voided: { by, atMs, reason }, say: 'none' };
    case 'lot':
      return { ...load, lot: change.lot, parts: change.parts };
    case 'recipe':
      return { ...load, recipe: change.recipe };
    case 'marks':
    case 'readings':
      return load;
  }
}
