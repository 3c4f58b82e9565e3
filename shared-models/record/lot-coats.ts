import type { CoatShown, CoatStack } from './coat-shown.ts';
import { historiesOf, type PartsOfLoad } from './part-histories.ts';

/** A load with what its account says of coats. */
export interface BakeTold extends PartsOfLoad {
  coats: readonly CoatShown[];
}

/**
 * The coats of a lot's parts as they lie: what the last sealed bake of each part says of all bakes up to it.
 *
 * @param loads of the lot, by start
 */
export function lotCoats(loads: readonly BakeTold[]): CoatStack[] {
  const bakes = loads.filter(({ coats }) => coats.length > 0);
  if (bakes.length === 0) return [];
  return historiesOf(bakes).map(({ parts, loads: own }) => {
    const last = own.at(-1)?.coats ?? [];
    const isOwn = (named: string[]) => parts === null || named.some((part) => parts.includes(part));
    const coats = last.filter((coat) => coat.parts === undefined || isOwn(coat.parts));
    return { parts, coats: coats.map(withoutParts) };
  });
}

function withoutParts(coat: CoatShown): CoatShown {
  const { parts, ...shown } = coat;
  return parts === undefined ? coat : shown;
}
