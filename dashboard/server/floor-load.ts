import type { Judgement } from '@setwell/shared-models/api/collector';
import type { FloorLoad } from '@setwell/shared-models/api/floor';
import { undecided } from '@setwell/shared-models/record/decisions';
import type { JudgedPlace, ScoreResult } from '@setwell/shared-models/score/shape';
import type { LoadView } from './load-view.ts';

/** Reasons a floor row can use; the rest is on the load's own screen. */
const reasonsShown = 4;
/** What falls silent within so long of each other has fallen silent together [ms]. */
const togetherMs = 60_000;

/** A load as screens see it: the judge's newest word, corrected by what the ledger has said since. */
export function floorLoad(
  view: LoadView | null,
  judgement: Judgement | null,
  result: ScoreResult | null,
  title: string,
): FloorLoad | null {
  const state = stateOf(view, judgement);
  if (view !== null && (judgement === null || view.revisions.length > 0)) {
    return ofRecord(view, judgement, result, state, title);
  }
  if (judgement === null) return null;
  const recipe = judgement.recipe;
  return {
    load: judgement.load,
    station: judgement.station,
    opening: judgement.opening,
    zones: judgement.zones,
    lot: judgement.lot,
    partCount: judgement.parts.length,
    recipe:
      recipe === null ? null : { id: recipe.id, revision: recipe.revision, title: recipe.title },
    state,
    startMs: judgement.startMs,
    endMs: judgement.endMs,
    plannedEndMs: judgement.plannedEndMs,
    asOfMs: judgement.asOfMs,
    verdict: judgement.verdict,
    side: judgement.side,
    unit: judgement.unit,
    window: judgement.window,
    worst: judgement.places[0] ?? null,
    placeCount: judgement.places.length,
    forecast: judgement.forecast,
    say: judgement.say,
    reasons: judgement.reasons.slice(0, reasonsShown),
    blindSinceMs: state === 'open' ? judgement.blindSinceMs : null,
    silentPoints: silentPoints(judgement),
    gapCount: judgement.quality.gaps.length,
    provenSinceMs: view?.provenSinceMs ?? null,
    overSinceMs: view?.overSinceMs ?? null,
    changed: changedOf(view),
    decisions: view?.decisions ?? undecided,
  };
}

/** Of the points without a reading at the end of the data those that make the load blind. */
function silentPoints({ quality, blindSinceMs }: Judgement): string[] {
  const latestMs = (blindSinceMs ?? 0) + togetherMs;
  return quality.silent
    .filter(({ sinceMs }) => sinceMs === null || sinceMs <= latestMs)
    .map(({ point }) => point);
}

function stateOf(view: LoadView | null, judgement: Judgement | null): FloorLoad['state'] {
  if (view !== null && view.state !== 'open') return view.state;
  return judgement?.state ?? 'open';
}

function ofRecord(
  view: LoadView,
  judgement: Judgement | null,
  result: ScoreResult | null,
  state: FloorLoad['state'],
  title: string,
): FloorLoad {
  const places = result === null ? (judgement?.places ?? []) : worstFirst(result);
  const recipe = view.recipe;
  return {
    load: view.id,
    station: view.station,
    opening: view.opening,
    zones: view.zones,
    lot: view.lot,
    partCount: view.parts.length,
    recipe: recipe === null ? null : { id: recipe.id, revision: recipe.revision, title },
    state,
    startMs: view.startMs,
    endMs: view.endMs,
    plannedEndMs: view.plannedEndMs,
    asOfMs: view.endMs ?? view.startMs,
    verdict: view.verdict,
    side: view.side,
    unit: result?.unit ?? judgement?.unit ?? null,
    window: result?.window ?? judgement?.window ?? null,
    worst: places[0] ?? null,
    placeCount: places.length,
    forecast: null,
    say: view.say,
    reasons: (result?.reasons ?? []).slice(0, reasonsShown),
    blindSinceMs: null,
    silentPoints: result?.quality.silent.map((silent) => silent.point) ?? [],
    gapCount: result?.quality.gaps.length ?? 0,
    provenSinceMs: view.provenSinceMs,
    overSinceMs: view.overSinceMs,
    changed: changedOf(view),
    decisions: view.decisions,
  };
}

/** Said once where a later revision gives another verdict than the one before it. */
function changedOf(view: LoadView | null): FloorLoad['changed'] {
  const revisions = view?.revisions ?? [];
  const now = revisions[revisions.length - 1];
  const before = revisions[revisions.length - 2];
  if (now === undefined || before === undefined || now.verdict === before.verdict) return null;
  return { atMs: now.atMs, because: now.because ?? 'late', from: before.verdict };
}

/** Places by margin, the least first; ties stay in plant order. */
export function worstFirst(result: ScoreResult): JudgedPlace[] {
  const { least, most } = result.window;
  const margin = (place: JudgedPlace): number =>
    Math.min(place.low - least, most === null ? Infinity : most - place.high);
  return result.places
    .map((place, index) => ({ place, index, margin: margin(place) }))
    .sort((a, b) => a.margin - b.margin || a.index - b.index)
    .map(({ place }) => place);
}
