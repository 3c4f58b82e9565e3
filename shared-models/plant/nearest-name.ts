import { distance } from 'fastest-levenshtein';

/**
 * The name that was probably meant: the nearest of `names` to what was written, capitals aside.
 *
 * @returns null where none is near, so that a message never proposes nonsense
 */
export function nearestName(written: string, names: Iterable<string>): string | null {
  // Two slips in a long name, one in a short one. Longer input is no typing slip of any name here.
  if (written.length > 100) return null;
  let best: string | null = null;
  let bestDistance = Math.max(1, Math.min(3, Math.floor(written.length / 3))) + 1;
  for (const name of names) {
    const slips = distance(written.toLowerCase(), name.toLowerCase());
    if (slips < bestDistance) [best, bestDistance] = [name, slips];
  }
  return best;
}
