import type { HeldWindow } from '../cure/held-window.ts';
import type { MeasureUnit } from '../cure/law.ts';
import type { Layer, Recipe } from '../plant/recipe-schema.ts';
import type { RecipeChange } from '../plant/recipe-changes.ts';

/** One line of `GET /api/v1/recipes`: a recipe's newest revision. */
export interface RecipeRow {
  id: string;
  title: string;
  kind: Recipe['kind'] | null;
  revision: number;
  /** Whether loads may be started by it now. */
  startable: boolean;
  approvedMs: number | null;
  approvedBy: string | null;
  plannedMin: number | null;
  /** What a load is held against; null where the document is not at hand. */
  window: { least: number; most: number | null; unit: MeasureUnit } | null;
}

/** Who did it, when, why, and which entry says so. */
export interface RecipeAct {
  n: number;
  atMs: number;
  by: string;
  /** Empty where none was given. */
  reason: string;
}

export interface RecipeRevision {
  revision: number;
  sha256: string;
  proposed: RecipeAct | null;
  approved: RecipeAct | null;
  withdrawn: RecipeAct | null;
  /** What it says differently from the one before; null for the first, or where a document is not at hand. */
  changes: RecipeChange[] | null;
}

/** What is judged, cut open: where its layers and its glue lines lie. */
export interface RecipeCut {
  /** A place of the recipe; null: it has one alone. */
  place: string | null;
  /** Zones whose pieces are made like this; empty: all. */
  zones: string[];
  layers: Layer[];
  thicknessMm: number;
  /** Depths of the glue lines from the top [mm]; the first is line 1. */
  linesMm: number[];
}

/** `GET /api/v1/recipes/{id}` */
export interface RecipeDetail {
  id: string;
  /** What loads may be started by now; null: by none of its revisions. */
  startable: number | null;
  /** Newest first. */
  revisions: RecipeRevision[];
  /** The one that is shown, and what it says; null where its document is not at hand. */
  revision: number;
  said: {
    recipe: Recipe;
    /** The file as it was set. */
    text: string;
    unit: MeasureUnit;
    held: HeldWindow;
    cuts: RecipeCut[];
  } | null;
}
