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
import type { RecipeDocuments } from './recipe-documents.ts';

/** What begins and ends a load, decides of it, or puts a decision in question. */
const telling = [
  'load-opened',
  'load-ended',
  'load-sealed',
  'load-amended',
  'disposition',
] as const;
/** Shown of a part: its newest. What may be done with it rests on all. */
const mostLoads = 200;
const mostSteps = 1_000;

/** A part of a lot: what it has been through, and what may be done with it. */
export function partOperations(sources: Sources, documents: RecipeDocuments): Operation[] {
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
  const loads = view.loadsOfPart(lot, part);
  const last = loads.at(-1);
  if (last === undefined || !loads.some(({ parts }) => parts.includes(part))) {
    throw new Problem(404, 'not-found', `No part "${part}" of lot "${lot}" is known.`);
  }
  const all = loads.map((load) => ({ load, entries: view.loadEntriesOfKinds(load.id, telling) }));
  const steps: PartStep[] = [];
  const bakes: BakeTold[] = [];
  const said: { load: string; events: ScoredEvent[] }[] = [];
  for (const { load, entries } of all.slice(-mostLoads)) {
    const { result } = await sealedResult(follower, load);
    const coats = coatsOf(result, follower.judgement(load.id));
    bakes.push({ load: load.id, parts: [part], coats });
    said.push({ load: load.id, events: eventsOf(entries, part) });
    steps.push(...stepsOf(sources, load, entries, part, result));
  }
  const recipe = last.recipe === null ? null : await documents.of(last.recipe.sha256);
  const known = all.map(({ load, entries }) => {
    return { ...load, load: load.id, decisions: decisionsOfPart(entries, part) };
  });
  const next = partNext(known, recipe?.recipe ?? null);
  // What was said of it stands before the load that begins with it.
  const inOrder = [...saidSteps(said), ...steps].sort((a, b) => a.atMs - b.atMs);
  return {
    lot,
    part,
    steps: inOrder.slice(-mostSteps),
    isCut: loads.length > mostLoads || inOrder.length > mostSteps,
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
