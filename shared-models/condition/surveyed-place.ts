import type { Recipe, Tolerance } from '../plant/recipe-schema.ts';
import type { PlaceApproved, SurveyedPlace } from '../record/bodies.ts';
import type { Entry } from '../record/entry.ts';

/** A survey's place uncertainty that somebody has taken over for a station. */
export interface ApprovedPlace extends PlaceApproved {
  by: string;
  /** Entry that says so, and when [ms]: it counts for loads that start later. */
  n: number;
  atMs: number;
}

/** Approvals of what surveys say of a place, by station; the newest one counts. */
export class SurveyedPlaces {
  readonly #approved = new Map<string, ApprovedPlace[]>();

  take({ n, by, at, body }: Entry): void {
    const place = { ...(body as PlaceApproved), by, n, atMs: at };
    this.#approved.set(place.station, [...(this.#approved.get(place.station) ?? []), place]);
  }

  /** What counted at a time [ms]; null: no survey's did. */
  at(station: string | null, atMs: number): ApprovedPlace | null {
    const approved = this.#approved.get(station ?? '') ?? [];
    return approved.filter((each) => each.atMs <= atMs).at(-1) ?? null;
  }
}

/** What a recipe's author says of a place, the least of all its pieces [K]; null: nothing. */
export function placeOfRecipe(recipe: Recipe): number | null {
  const { kind } = recipe;
  const pieces =
    kind === 'press'
      ? [recipe.layup, ...(recipe.places ?? []).map(({ layup }) => layup)]
      : [recipe.part, ...(kind === 'oven' ? (recipe.places ?? []) : []).map(({ part }) => part)];
  const said = pieces.flatMap((piece) => piece?.tolerance?.placeK ?? []);
  return said.length === 0 ? null : Math.min(...said);
}

/** What a load keeps of it. */
export function keptPlace({ survey, placeK, by, n }: ApprovedPlace): SurveyedPlace {
  return { survey, placeK, by, n };
}

/**
 * A recipe as a load is scored by it where a survey says how far a place may be from its zone's points:
 * the larger of the two half-widths counts, so that a survey never narrows what the recipe's author said.
 */
export function withSurveyedPlace(recipe: Recipe, placeK: number): Recipe {
  const { kind } = recipe;
  const widened = <T extends { tolerance?: Tolerance | undefined }>(piece: T): T => {
    const least = Math.max(piece.tolerance?.placeK ?? 0, placeK);
    return { ...piece, tolerance: { ...piece.tolerance, placeK: least } };
  };
  if (kind === 'press') {
    const { layup, places } = recipe;
    return {
      ...recipe,
      ...(layup && { layup: widened(layup) }),
      ...(places && { places: places.map((at) => ({ ...at, layup: widened(at.layup) })) }),
    };
  }
  const parted = { ...recipe, ...(recipe.part && { part: widened(recipe.part) }) };
  if (parted.kind !== 'oven' || parted.places === undefined) return parted;
  return { ...parted, places: parted.places.map((at) => ({ ...at, part: widened(at.part) })) };
}
