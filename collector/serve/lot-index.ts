import type { LoadOpened } from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';

/** Which entries tell of a lot: a fold, kept so that a lot's file does not read the whole ledger. */
export class LotIndex {
  readonly #entries = new Map<string, number[]>();
  readonly #lotOfLoad = new Map<string, string>();

  hear(entries: Entry[]): void {
    for (const entry of entries) this.take(entry);
  }

  take(entry: Entry): void {
    const { load, lots } = entry.about;
    if (entry.kind === 'load-opened' && load !== undefined) {
      this.#lotOfLoad.set(load, (entry.body as LoadOpened).lot);
    }
    const ofLoad = load === undefined ? undefined : this.#lotOfLoad.get(load);
    for (const lot of new Set([...(lots ?? []), ...(ofLoad === undefined ? [] : [ofLoad])])) {
      const known = this.#entries.get(lot);
      if (known) known.push(entry.n);
      else this.#entries.set(lot, [entry.n]);
    }
  }

  entriesOf(lot: string): number[] {
    return this.#entries.get(lot) ?? [];
  }
}
