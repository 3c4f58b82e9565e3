import { distance } from 'fastest-levenshtein';

/**
 * The name that was probably meant: the nearest of `names` to what was written, capitals aside; else
 * the one that begins alike, as a quantity in another unit does.
 *
 * @returns null where none is near, so that a message never proposes nonsense
 */
export function nearestName(written: string, names: Iterable<string>): string | null {
  // Longer input is no typing slip of any name here.
  if (written.length > 100) return null;
  const mostSlips = Math.max(1, Math.min(3, Math.floor(written.length / 3)));
  const ranked = [...names].map((name) => ({
    name,
    slips: distance(written.toLowerCase(), name.toLowerCase()),
    shared: sharedStart(written, name),
  }));
  const [nearest] = ranked
    .filter(({ slips }) => slips <= mostSlips)
    .sort((a, b) => a.slips - b.slips);
  if (nearest !== undefined) return nearest.name;
  const [alike] = ranked
    .filter(({ shared }) => shared >= 4 && shared >= written.length / 2)
    .sort((a, b) => b.shared - a.shared || a.slips - b.slips);
  return alike?.name ?? null;
}

function sharedStart(a: string, b: string): number {
  let length = 0;
  while (length < a.length && a[length] === b[length]) length += 1;
  return length;
}
