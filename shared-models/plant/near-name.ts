/** Names differ by these and are the same to whoever types them. */
const separators = /[\s._/-]+/g;

const bare = (name: string): string => name.toLowerCase().replaceAll(separators, '');

/**
 * Whether two names are one slip apart: a character too many, too few, another one, or two that changed
 * places (the four errors of Damerau 1964). Capitals and separators do not count.
 */
export function isNearName(asked: string, known: string): boolean {
  const [a, b] = [bare(asked), bare(known)];
  if (a === b) return true;
  const [short, long] = a.length <= b.length ? [a, b] : [b, a];
  if (long.length - short.length > 1) return false;
  let at = 0;
  while (at < short.length && short[at] === long[at]) at += 1;
  if (long.length > short.length) return short.slice(at) === long.slice(at + 1);
  if (short.slice(at + 1) === long.slice(at + 1)) return true;
  const swapped = short[at] === long[at + 1] && short[at + 1] === long[at];
  return swapped && short.slice(at + 2) === long.slice(at + 2);
}
