/**
 * The index is written a part of its points at a time: to write all of a plant's thousands at once holds intake
 * up for half a second. For ever, like the tables: `indexed` counts by it.
 */
export const indexParts = 16;

/** All parts as a table, before a statement. */
export const allParts = `WITH RECURSIVE part (part) AS (
  VALUES (0) UNION ALL SELECT part + 1 FROM part WHERE part < ${indexParts - 1})`;

/** The part a point is in: FNV-1a of its name, 32 bits (Fowler, Noll, Vo; RFC 9923). */
export function partOf(point: string): number {
  let hash = 0x811c9dc5;
  for (let i = 0; i < point.length; i += 1) {
    hash = Math.imul(hash ^ point.charCodeAt(i), 0x01000193);
  }
  return (hash ^ (hash >>> 16)) & (indexParts - 1);
}
