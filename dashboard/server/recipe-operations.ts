import { z } from 'zod';
import type {
  RecipeAct,
  RecipeCut,
  RecipeDetail,
  RecipeRevision,
  RecipeRow,
} from '@setwell/shared-models/api/recipe';
import { createLaw } from '@setwell/shared-models/cure/create-law';
import { heldWindow } from '@setwell/shared-models/cure/held-window';
import { cutSlab } from '@setwell/shared-models/heat/slab';
import { recipeChanges } from '@setwell/shared-models/plant/recipe-changes';
import type { Layer, Part, Recipe } from '@setwell/shared-models/plant/recipe-schema';
import type { RecipeApproved, RecipeProposed } from '@setwell/shared-models/record/bodies';
import type { Entry, EntryKind } from '@setwell/shared-models/record/entry';
import { judgedWindow } from '@setwell/shared-models/score/window';
import { operation, type Operation } from './operation.ts';
import { Problem } from './problem.ts';
import type { Sources } from './reading-operations.ts';
import type { RecipeDocuments } from './recipe-documents.ts';

const recipeKinds: EntryKind[] = ['recipe-proposed', 'recipe-approved', 'recipe-withdrawn'];
/** Recipes are set some times a day: of thirty years. */
const mostEntries = 50_000;
/** What recipes say, and who has set which revision of them. */
export function recipeOperations(sources: Sources, documents: RecipeDocuments): Operation[] {
  return [
    operation({
      method: 'get',
      path: '/recipes',
      summary: 'Each recipe with its newest revision, and whether it may be started now',
      answer: 'recipes, revisions',
      handle: async () => {
        const entries = recipeEntries(sources);
        const ids = [...new Set(entries.map((entry) => recipeOf(entry).id))];
        const rows = ids.map((id) => rowOf(id, entries, startableOf(sources, id), documents));
        const recipes = await Promise.all(rows);
        return {
          recipes: recipes.sort((a, b) => (a.id < b.id ? -1 : 1)),
          revisions: sources.view.recipes(),
        };
      },
    }),
    operation({
      method: 'get',
      path: '/recipes/{id}',
      summary: 'One recipe: its revisions, and what one of them says',
      query: z.strictObject({ revision: z.coerce.number().int().min(1).max(1e6).optional() }),
      answer: 'RecipeDetail',
      handle: ({ params, query }) =>
        detailOf(sources, documents, params['id'] ?? '', query.revision),
    }),
  ];
}

const recipeOf = ({ body }: Entry) => (body as RecipeApproved).recipe;

function recipeEntries({ view, follower }: Sources): Entry[] {
  return view.entriesOfKinds(recipeKinds, 0, follower.nowMs(), mostEntries).rows;
}

function actOf({ n, at, by, body }: Entry): RecipeAct {
  const { reason = '' } = body as Partial<RecipeApproved>;
  return { n, atMs: at, by, reason };
}

/** Newest first; what it says differently comes later. */
function revisionsOf(entries: readonly Entry[], id: string): RecipeRevision[] {
  const revisions = new Map<number, RecipeRevision>();
  for (const entry of entries) {
    const { id: named, revision, sha256 } = recipeOf(entry);
    if (named !== id) continue;
    const known = revisions.get(revision);
    const nothing = { proposed: null, approved: null, withdrawn: null, changes: null };
    const own = known ?? { revision, sha256, ...nothing };
    if (entry.kind === 'recipe-proposed') own.proposed = actOf(entry);
    if (entry.kind === 'recipe-approved') own.approved = actOf(entry);
    if (entry.kind === 'recipe-withdrawn') own.withdrawn = actOf(entry);
    revisions.set(revision, own);
  }
  return [...revisions.values()].sort((a, b) => b.revision - a.revision);
}

function startableOf({ feed }: Sources, id: string): number | null {
  const recipes = feed.state.site?.recipes ?? [];
  return recipes.find((recipe) => recipe.id === id)?.revision ?? null;
}

async function rowOf(
  id: string,
  entries: readonly Entry[],
  startable: number | null,
  documents: RecipeDocuments,
): Promise<RecipeRow> {
  const revisions = revisionsOf(entries, id);
  const shown = revisions.find(({ revision }) => revision === startable) ?? revisions[0];
  const recipe = shown === undefined ? null : ((await documents.of(shown.sha256))?.recipe ?? null);
  const proposal = [...entries]
    .reverse()
    .find((entry) => entry.kind === 'recipe-proposed' && recipeOf(entry).id === id);
  return {
    id,
    title: recipe?.title ?? (proposal?.body as RecipeProposed | undefined)?.title ?? id,
    kind: recipe?.kind ?? null,
    revision: shown?.revision ?? 0,
    startable: startable !== null,
    approvedMs: shown?.approved?.atMs ?? null,
    approvedBy: shown?.approved?.by ?? null,
    plannedMin: recipe?.plannedMin ?? null,
    window: recipe === null ? null : windowOf(recipe),
  };
}

function windowOf(recipe: Recipe): RecipeRow['window'] {
  const { window, unit } = judgedWindow(recipe, createLaw(recipe.law).unit);
  return { ...window, unit };
}

async function detailOf(
  sources: Sources,
  documents: RecipeDocuments,
  id: string,
  wanted: number | undefined,
): Promise<RecipeDetail> {
  const revisions = revisionsOf(recipeEntries(sources), id);
  const startable = startableOf(sources, id);
  const revision = wanted ?? startable ?? revisions[0]?.revision;
  const shown = revisions.find((each) => each.revision === revision);
  if (shown === undefined) {
    const what = wanted === undefined ? '' : `, revision ${String(wanted)},`;
    throw new Problem(404, 'not-found', `No recipe "${id}"${what} is known.`);
  }
  const said = await Promise.all(revisions.map(({ sha256 }) => documents.of(sha256)));
  const told = revisions.map((each, i): RecipeRevision => {
    const [after, before] = [said[i]?.recipe, said[i + 1]?.recipe];
    return { ...each, changes: after && before ? recipeChanges(before, after) : null };
  });
  const { recipe = null, text = '' } = said[revisions.indexOf(shown)] ?? {};
  return {
    id,
    startable,
    revisions: told,
    revision: shown.revision,
    said: recipe === null ? null : { recipe, text, ...heldOf(recipe), cuts: cutsOf(recipe) },
  };
}

/** Times at held temperatures, of the window in the law's own unit. */
function heldOf(recipe: Recipe): Pick<NonNullable<RecipeDetail['said']>, 'unit' | 'held'> {
  const { window, unit, perLawUnit } = judgedWindow(recipe, createLaw(recipe.law).unit);
  const inLawUnit = (value: number) => value / perLawUnit;
  const held = heldWindow(recipe.law, {
    least: inLawUnit(window.least),
    most: window.most === null ? null : inLawUnit(window.most),
  });
  return { unit, held };
}

/** Whatever has layers: the lay-up of a press, of each of its places, or a part that is warmed through. */
function cutsOf(recipe: Recipe): RecipeCut[] {
  const cut = (layers: Layer[], place: string | null = null, zones: string[] = []): RecipeCut => {
    const { thicknessMm, depthsMm, glueLineNodes } = cutSlab(layers);
    const linesMm = glueLineNodes.map((node) => depthsMm[node] ?? 0);
    return { place, zones, layers, thicknessMm, linesMm };
  };
  const ofPart = (part: Part | undefined, place: string | null = null): RecipeCut[] =>
    part !== undefined && 'layers' in part ? [cut(part.layers, place)] : [];
  if (recipe.kind === 'press') {
    const places = recipe.places ?? [];
    const whole = recipe.layup === undefined ? [] : [cut(recipe.layup.layers)];
    return [...whole, ...places.map(({ id, zones, layup }) => cut(layup.layers, id, zones))];
  }
  if (recipe.kind === 'oven') {
    const places = recipe.places ?? [];
    return [...ofPart(recipe.part), ...places.flatMap(({ id, part }) => ofPart(part, id))];
  }
  return ofPart(recipe.part);
}
