import type { LoadOpened } from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';

/** Which entries tell of a lot: a fold, kept so that a lot's file does not read the whole ledger. */
export class LotIndex {
  readonly #entries = new Map<string, number[]>();
  readonly #lotOfLoad = new Map<string, string>();
  readonly #foundation: number[] = [];

  hear(entries: Entry[]): void {
    for (const entry of entries) this.take(entry);
  }

  take(entry: Entry): void {
    if (entry.kind === 'plant-revised' || entry.kind.startsWith('recipe-')) {
      this.#foundation.push(entry.n);
    }
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

  /** Entries of plant files and recipes, which any lot may rest on. */
  foundation(): readonly number[] {
    return this.#foundation;
  }

  /** Every lot that is told of. */
  lots(): string[] {
    return [...this.#entries.keys()];
  }

  entriesOf(lot: string): number[] {
    return this.#entries.get(lot) ?? [];
  }
}
