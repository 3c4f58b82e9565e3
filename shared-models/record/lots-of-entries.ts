import type { LoadCorrected, LoadOpened } from './bodies.ts';
import type { Entry } from './entry.ts';

/** Which lots entries tell of: those they name, and the one their load is in. */
export class LotsOfEntries {
  readonly #lotOf = new Map<string, string>();

  /** The lots of the next entry; one that puts a load into another lot tells of both. */
  take(entry: Entry): string[] {
    const { load, lots = [] } = entry.about;
    if (load === undefined) return [...new Set(lots)];
    const before = this.#lotOf.get(load);
    const lot = lotSaid(entry, before !== undefined);
    if (lot !== null) this.#lotOf.set(load, lot);
    const own = [before, this.#lotOf.get(load)].filter((each) => each !== undefined);
    return [...new Set([...lots, ...own])];
  }

  /** Where a load is by now; undefined for one whose start is not known. */
  lotOf(load: string): string | undefined {
    return this.#lotOf.get(load);
  }
}

/** The lot that an entry puts its load into; null for most. */
function lotSaid({ kind, body }: Entry, isKnown: boolean): string | null {
  if (kind === 'load-opened') return (body as LoadOpened).lot;
  if (kind !== 'load-corrected' || !isKnown) return null;
  const { change } = body as LoadCorrected;
  return change.what === 'lot' ? change.lot : null;
}
