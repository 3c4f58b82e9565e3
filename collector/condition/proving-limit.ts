import { provable } from '@setwell/shared-models/forecast/provable';
import { meets } from '@setwell/shared-models/condition/outlook';
import { keptPlace } from '@setwell/shared-models/condition/surveyed-place';
import type { Plant, Station } from '@setwell/shared-models/plant/plant';
import type { Recipe } from '@setwell/shared-models/plant/recipe-schema';
import type { LoadOpened } from '@setwell/shared-models/record/bodies';
import { plannedC } from '@setwell/shared-models/score/weigh';
import type { Documents } from '../judge/documents.ts';
import { Fittings } from '../judge/fittings.ts';
import { scoreInput } from '../judge/score-input.ts';
import type { LedgerFold, RecipeRevision } from '../judge/ledger-fold.ts';

/** How far a face may hold below the plan, as tried [K]. */
const triedK = [0, 4, 8, 12, 16, 24];
/** Limits that are kept: recipes times weakening faces. */
const mostKept = 500;

interface Limit {
  recipe: string;
  plannedMin: number;
  plannedC: number;
  /** Minutes until proven, by how far the face holds below the plan; null: not at all. */
  tried: { x: number; y: number | null }[];
}

/**
 * At which level of one face a recipe's planned time stops proving. Each try is a whole forecast, some
 * 50 ms of it: one is made at a time, when asked again and again, so that nothing waits for it.
 */
export class ProvingLimits {
  readonly #plant: Plant;
  readonly #fold: LedgerFold;
  readonly #documents: Documents;
  readonly #fittings: Fittings;
  readonly #limits = new Map<string, Limit>();
  readonly #wanted = new Set<string>();

  constructor(plant: Plant, fold: LedgerFold, documents: Documents) {
    this.#plant = plant;
    this.#fold = fold;
    this.#fittings = new Fittings(fold);
    this.#documents = documents;
  }

  /** @returns null where no recipe tells, or not yet */
  limitOf(
    station: Station,
    point: string,
  ): { recipe: string; plannedMin: number; limitC: number } | null {
    const recipe = this.#recipeOf(station);
    if (recipe === null) return null;
    const place = this.#fittings.places.at(station.id, Infinity);
    const key = `${recipe.sha256} ${station.id} ${point} ${String(place?.n ?? '')}`;
    const limit = this.#limits.get(key);
    if (limit === undefined || limit.tried.length < triedK.length) {
      this.#wanted.add(key);
      return null;
    }
    const offK = meets(limit.tried, limit.plannedMin);
    if (offK === null || offK <= 0) return null;
    return {
      recipe: limit.recipe,
      plannedMin: limit.plannedMin,
      limitC: limit.plannedC - offK,
    };
  }

  /** Makes one try that somebody waits for. */
  work(nowMs: number): void {
    const [key] = this.#wanted;
    if (key === undefined) return;
    const [sha256 = '', id, point = ''] = key.split(' ');
    const station = this.#plant.stations.find((each) => each.id === id);
    const recipe = this.#documents.recipe(sha256);
    if (station === undefined || recipe.plannedMin === undefined) {
      this.#wanted.delete(key);
      return;
    }
    const input = this.#input(station, point, recipe, nowMs);
    const limit = this.#limits.get(key) ?? {
      recipe: recipe.title,
      plannedMin: recipe.plannedMin,
      plannedC: plannedC(input),
      tried: [],
    };
    const x = triedK[limit.tried.length];
    if (x === undefined) this.#wanted.delete(key);
    else {
      const y = provable(input, new Map([[point, -x]])).provenAtMin;
      limit.tried.push({ x, y });
      this.#limits.set(key, limit);
      const [oldest] = this.#limits.keys();
      if (this.#limits.size > mostKept && oldest !== undefined) this.#limits.delete(oldest);
    }
  }

  /** What is pressed there now, or was last; else the first approved recipe for such a station. */
  #recipeOf(station: Station): { sha256: string } | null {
    const used = [...this.#fold.loads.values()].filter(
      ({ opened }) => opened.station === station.id && opened.recipe !== null,
    );
    const [sha256] = used.map(({ opened }) => opened.recipe?.sha256 ?? '').sort();
    return sha256 === undefined ? (this.#approved(station)[0]?.ref ?? null) : { sha256 };
  }

  /** Newest approved revisions of recipes for such a station, by name. */
  recipesOf(station: Station): Recipe[] {
    return this.#approved(station).map(({ ref }) => this.#documents.recipe(ref.sha256));
  }

  #approved(station: Station): RecipeRevision[] {
    return [...this.#fold.recipes.keys()].sort().flatMap((id) => {
      const approved = this.#fold.approvedRecipe(id, null);
      const fits =
        approved !== null && this.#documents.recipe(approved.ref.sha256).kind === station.kind;
      return fits ? [approved] : [];
    });
  }

  #input(station: Station, point: string, recipe: Recipe, nowMs: number) {
    const zone = station.zones.find(({ upper, lower, air }) => [upper, lower, air].includes(point));
    const place = this.#fittings.places.at(station.id, Infinity);
    const mark = { earliestMs: nowMs, latestMs: nowMs };
    const marks = { contact: null, pressureOn: mark, releaseStart: null, open: null };
    const opened: LoadOpened = {
      load: 'plan',
      station: station.id,
      opening: zone?.opening ?? null,
      zones: zone === undefined ? [] : [zone.id],
      lot: '',
      parts: [],
      recipe: null,
      plantSha256: '',
      marks,
      plannedEndMs: nowMs + (recipe.plannedMin ?? 0) * 60_000,
      event: { seq: 0, index: 0 },
      act: null,
      weights: null,
      ...(place && { place: keptPlace(place) }),
      model: { number: null, sha256: null },
    };
    return scoreInput(this.#fittings.fit(this.#plant), opened, recipe, marks, null, nowMs);
  }
}
