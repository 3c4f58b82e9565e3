import type { PartDetail, PartStep } from '@setwell/shared-models/api/part';
import { canonicalJson } from '@setwell/shared-models/record/canonical';
import type { Disposition, LoadEnded, LoadOpened } from '@setwell/shared-models/record/bodies';
import { decidedOf, decisionsOfPart } from '@setwell/shared-models/record/decisions';
import { lotCoats, type BakeTold } from '@setwell/shared-models/record/lot-coats';
import type { Entry } from '@setwell/shared-models/record/entry';
import { partNext } from '@setwell/shared-models/record/part-next';
import type { ScoredEvent } from '@setwell/shared-models/score/shape';
import { floorLoad } from './floor-load.ts';
import type { LoadView } from './load-view.ts';
import { operation, type Operation } from './operation.ts';
import { Problem } from './problem.ts';
import { coatsOf, sealedResult, type Sources } from './reading-operations.ts';
import { RecipeDocuments } from './recipe-documents.ts';

/** What decides of a load, or puts a decision in question. */
const deciding = ['load-sealed', 'load-amended', 'disposition'] as const;
/** More loads than a lot has. */
const mostLoads = 200;

/** A part of a lot: what it has been through, and what may be done with it. */
export function partOperations(sources: Sources): Operation[] {
  const documents = new RecipeDocuments(sources);
  return [
    operation({
      method: 'get',
      path: '/lots/{id}/parts/{part}',
      summary: 'One part of a lot: what it has been through in order, and what it may do next',
      answer: 'PartDetail',
      handle: ({ params }) =>
        partDetail(sources, documents, params['id'] ?? '', params['part'] ?? ''),
    }),
  ];
}

async function partDetail(
  sources: Sources,
  documents: RecipeDocuments,
  lot: string,
  part: string,
): Promise<PartDetail> {
  const { view, follower } = sources;
  const all = view.loads({ lot, limit: mostLoads }).reverse();
  const loads = all.filter(({ parts }) => parts.length === 0 || parts.includes(part));
  const last = loads.at(-1);
  if (last === undefined || !loads.some(({ parts }) => parts.includes(part))) {
    throw new Problem(404, 'not-found', `No part "${part}" of lot "${lot}" is known.`);
  }
  const steps: PartStep[] = [];
  const bakes: BakeTold[] = [];
  const said: { load: string; events: ScoredEvent[] }[] = [];
  for (const load of loads) {
    const { result } = await sealedResult(follower, load);
    const coats = coatsOf(result, follower.judgement(load.id));
    const entries = view.entriesOfLoad(load.id);
    bakes.push({ load: load.id, parts: [part], coats });
    said.push({ load: load.id, events: eventsOf(entries, part) });
    steps.push(...stepsOf(sources, load, entries, part, result));
  }
  const recipe = last.recipe === null ? null : await documents.of(last.recipe.sha256);
  const known = loads.map((load) => {
    const decisions = decisionsOfPart(view.loadEntriesOfKinds(load.id, deciding), part);
    return { ...load, load: load.id, decisions };
  });
  const next = partNext(known, recipe?.recipe ?? null);
  return {
    lot,
    part,
    // What was said of it stands before the load that begins with it.
    steps: [...saidSteps(said), ...steps].sort((a, b) => a.atMs - b.atMs),
    coats: lotCoats(bakes)[0]?.coats ?? [],
    next: next ?? { what: 'free', load: last.id },
  };
}

function stepsOf(
  { follower, feed }: Sources,
  load: LoadView,
  entries: readonly Entry[],
  part: string,
  result: Parameters<typeof floorLoad>[2],
): PartStep[] {
  const { id, station, startMs, parts, revisions } = load;
  const title = follower.recipeTitle(load.recipe?.id);
  const shown = floorLoad(load, follower.judgement(id), result, title);
  const kind = feed.state.site?.stations.find((each) => each.id === station)?.kind ?? null;
  const steps = decisionsOf(entries, id, part);
  if (shown !== null) {
    steps.push({ what: 'load', atMs: startMs, load: id, shown, kind, together: parts.length });
  }
  revisions.forEach(({ atMs, verdict, side, because, n }, i) => {
    const before = revisions[i - 1]?.verdict;
    if (before === undefined || before === verdict) return;
    steps.push({ what: 'amended', atMs, load: id, before, verdict, side, because, n });
  });
  return steps;
}

/** What people have decided of the part, of one load's entries. */
function decisionsOf(entries: readonly Entry[], load: string, part: string): PartStep[] {
  return entries.flatMap((entry): PartStep[] => {
    if (entry.kind !== 'disposition') return [];
    const decided = decidedOf(entry as Entry<Disposition>);
    const isOfPart = decided.parts.length === 0 || decided.parts.includes(part);
    return isOfPart ? [{ what: 'decided', atMs: entry.at, load, decided }] : [];
  });
}

/** What was said of a load, its lot or its parts; all of it stands with its end. */
function eventsOf(entries: readonly Entry[], part: string): ScoredEvent[] {
  const ended = entries.find(({ kind }) => kind === 'load-ended');
  const opened = entries.find(({ kind }) => kind === 'load-opened');
  const told = (ended?.body as LoadEnded | undefined)?.events;
  const events = told ?? (opened?.body as LoadOpened | undefined)?.events ?? [];
  return events.filter(({ names }) => (names['part'] ?? part) === part);
}

/** Of a lot's events each once: what was said of the lot stands with each of its loads. */
function saidSteps(loads: readonly { load: string; events: ScoredEvent[] }[]): PartStep[] {
  const known = new Set<string>();
  return loads.flatMap(({ load, events }) =>
    events.flatMap((event): PartStep[] => {
      const key = canonicalJson(event);
      if (known.has(key)) return [];
      known.add(key);
      return [{ what: 'said', atMs: event.earliestMs, load, event }];
    }),
  );
}
