/** Sizes of the groups of equal values, those of one member left out. */
export function tieGroups(values: readonly number[]): number[] {
  const counts = new Map<number, number>();
  for (const value of values) counts.set(value, (counts.get(value) ?? 0) + 1);
  return [...counts.values()].filter((size) => size > 1);
}
