/**
 * Chance that is the same every time: a number in [0, 1) that follows from a name alone.
 *
 * A demo started twice must show the same plant, and one that is restarted must go on where it was;
 * so nothing here keeps a state.
 */
export function chance(seed: number, ...name: (string | number)[]): number {
  let h = 0x811c9dc5 ^ seed;
  for (const char of name.join('/')) h = Math.imul(h ^ char.charCodeAt(0), 0x01000193);
  h = Math.imul(h ^ (h >>> 16), 0x21f0aaad);
  h = Math.imul(h ^ (h >>> 15), 0x735a2d97);
  return ((h ^ (h >>> 15)) >>> 0) / 2 ** 32;
}

/** The same, spread evenly over −halfWidth … +halfWidth. */
export function scatter(halfWidth: number, seed: number, ...name: (string | number)[]): number {
  return (2 * chance(seed, ...name) - 1) * halfWidth;
}
