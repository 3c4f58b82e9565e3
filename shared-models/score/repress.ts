import type { Recipe } from '../plant/recipe-schema.ts';
import type { JudgedPlace, Repress } from './shape.ts';
import { EQUAL_MARGIN_SHARE } from './window.ts';

/**
 * Whether an opened load may go into the press again: its lines must have been through less than the
 * recipe's `noReturn`, or a half-cured line is pressed and holds nothing.
 *
 * @returns null where the recipe has no such bound
 */
export function repressOf({ window }: Recipe, places: readonly JudgedPlace[]): Repress | null {
  const noReturn = 'noReturn' in window ? window.noReturn : undefined;
  if (noReturn === undefined) return null;
  const equal = EQUAL_MARGIN_SHARE * noReturn;
  let furthest: JudgedPlace | null = null;
  for (const place of places) {
    if (furthest === null || place.high - furthest.high > equal) furthest = place;
  }
  if (furthest === null) return null;
  const { zone, glueLine, high } = furthest;
  const low = places.reduce((most, place) => Math.max(most, place.low), 0);
  const answer = high <= noReturn ? 'allowed' : low > noReturn ? 'refused' : 'unproven';
  return { noReturn, zone, glueLine, low, high, answer };
}
