import { canonicalJson } from './canonical.ts';

/** One load that parts of a lot were in. */
export interface PartsOfLoad {
  load: string;
  /** Empty: whatever is in the lot. */
  parts: readonly string[];
}

/** Parts with one history, and the loads that they were in. Null: the whole of the lot. */
export interface PartHistory<Load extends PartsOfLoad> {
  parts: string[] | null;
  loads: Load[];
}

/**
 * The parts that some loads name, by the loads that they were in. A load that names none has all of them.
 *
 * @param of the parts that are asked of; empty: all that the loads name
 */
export function historiesOf<Load extends PartsOfLoad>(
  loads: readonly Load[],
  of: readonly string[] = [],
): PartHistory<Load>[] {
  const parts = of.length > 0 ? of : [...new Set(loads.flatMap((load) => load.parts))].sort();
  if (parts.length === 0) return [{ parts: null, loads: [...loads] }];
  const histories = new Map<string, PartHistory<Load>>();
  for (const part of parts) {
    const own = loads.filter((load) => load.parts.length === 0 || load.parts.includes(part));
    const key = canonicalJson(own.map(({ load }) => load));
    const known = histories.get(key);
    if (known?.parts) known.parts.push(part);
    else histories.set(key, { parts: [part], loads: own });
  }
  return [...histories.values()];
}
