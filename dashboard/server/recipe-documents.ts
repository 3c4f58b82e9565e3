import { readRecipe } from '@setwell/shared-models/plant/read-recipe';
import type { Recipe } from '@setwell/shared-models/plant/recipe-schema';
import { CollectorError } from './collector-client.ts';
import type { Sources } from './reading-operations.ts';

/** Recipes read and kept by their digest: more than a plant has. */
const mostKept = 1_000;

interface Said {
  text: string;
  /** Null where this version does not read it. */
  recipe: Recipe | null;
}

/** Texts of recipes by their digest, each fetched and read once. */
export class RecipeDocuments {
  readonly #sources: Sources;
  readonly #kept = new Map<string, Said>();

  constructor(sources: Sources) {
    this.#sources = sources;
  }

  /** Null where the collector does not have it, or does not answer. */
  async of(sha256: string): Promise<Said | null> {
    const kept = this.#kept.get(sha256);
    if (kept !== undefined) return kept;
    const text = await this.#textOf(sha256);
    if (text === null) return null;
    const read = readRecipe(text, 'recipe.yaml');
    const said = { text, recipe: read.ok ? read.value : null };
    if (this.#kept.size >= mostKept) this.#kept.clear();
    this.#kept.set(sha256, said);
    return said;
  }

  async #textOf(sha256: string): Promise<string | null> {
    const { view, client } = this.#sources;
    const kept = view.blob(sha256);
    if (kept !== null) return kept.toString('utf8');
    try {
      const { body } = await client.fetch(`/blob/${sha256}`);
      view.keepBlob(sha256, body);
      return body.toString('utf8');
    } catch (error) {
      if (error instanceof CollectorError) return null;
      throw error;
    }
  }
}
