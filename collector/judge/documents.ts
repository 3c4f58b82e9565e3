import type { Plant } from '@setwell/shared-models/plant/plant';
import type { Recipe } from '@setwell/shared-models/plant/recipe-schema';
import { sha256Hex } from '../ledger/sha256.ts';

/** Reads a document's text into its shape; what does not parse was refused before it was recorded. */
export interface Parsers {
  plant(text: string): Plant;
  recipe(text: string): Recipe;
}

/** A plant as it was read from its file, and what the ledger names it by. */
export interface ReadPlant {
  sha256: string;
  plant: Plant;
}

/** The plants and recipes that the ledger names by their digest, parsed once. */
export class Documents {
  readonly #texts = new Map<string, string>();
  readonly #plants = new Map<string, Plant>();
  readonly #recipes = new Map<string, Recipe>();
  readonly #parsers: Parsers;

  /** @param present the plant of now: thousands of points take seconds to parse */
  constructor(parsers: Parsers, present?: ReadPlant) {
    this.#parsers = parsers;
    if (present !== undefined) this.#plants.set(present.sha256, present.plant);
  }

  add(bytes: Uint8Array): void {
    const sha256 = sha256Hex(bytes);
    this.#texts.set(sha256, Buffer.from(bytes).toString('utf8'));
  }

  plant(sha256: string): Plant {
    return this.#parsed(this.#plants, sha256, (text) => this.#parsers.plant(text));
  }

  recipe(sha256: string): Recipe {
    return this.#parsed(this.#recipes, sha256, (text) => this.#parsers.recipe(text));
  }

  #parsed<T>(parsed: Map<string, T>, sha256: string, parse: (text: string) => T): T {
    const known = parsed.get(sha256);
    if (known) return known;
    const text = this.#texts.get(sha256);
    // The ledger keeps every document it names, so that this is a bug or a damaged file.
    if (text === undefined) throw new Error(`document ${sha256} is not in the ledger`);
    const document = parse(text);
    parsed.set(sha256, document);
    return document;
  }
}
