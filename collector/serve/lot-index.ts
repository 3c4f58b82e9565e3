import type { Entry } from '@setwell/shared-models/record/entry';
import { LotsOfEntries } from '@setwell/shared-models/record/lots-of-entries';

/** What is known of one lot. */
interface KnownLot {
  /** Entries that name it and are of none of its loads. */
  named: number[];
  /** Loads that are in it, or were: up to which entry each tells of it. */
  loads: Map<string, number>;
}

interface KnownLoad {
  entries: number[];
  /** Those it was in, the one it is in last. */
  lots: string[];
}

/**
 * Which entries tell of a lot: a fold, kept so that a lot's file does not read the whole ledger. A load that
 * is put into another lot takes all its entries along; the lot it leaves keeps those of before.
 */
export class LotIndex {
  readonly #lots = new Map<string, KnownLot>();
  readonly #loads = new Map<string, KnownLoad>();
  readonly #of = new LotsOfEntries();
  readonly #foundation: number[] = [];

  hear(entries: Entry[]): void {
    for (const entry of entries) this.take(entry);
  }

  take(entry: Entry): void {
    const { n, kind, about } = entry;
    if (kind === 'plant-revised' || kind.startsWith('recipe-')) this.#foundation.push(n);
    const told = this.#of.take(entry);
    const { load } = about;
    const lot = load === undefined ? undefined : this.#of.lotOf(load);
    if (load !== undefined && lot !== undefined) this.#takeOfLoad(load, lot, n);
    for (const each of told) {
      const known = this.#lot(each);
      if ((known.loads.get(load ?? '') ?? -1) < n) known.named.push(n);
    }
  }

  #takeOfLoad(load: string, lot: string, n: number): void {
    const known = this.#loads.get(load) ?? { entries: [], lots: [] };
    this.#loads.set(load, known);
    known.entries.push(n);
    const left = known.lots.at(-1);
    if (left === lot) return;
    if (left !== undefined) this.#lot(left).loads.set(load, n);
    known.lots = [...known.lots.filter((each) => each !== lot), lot];
    this.#lot(lot).loads.set(load, Infinity);
  }

  #lot(lot: string): KnownLot {
    const known = this.#lots.get(lot) ?? { named: [], loads: new Map() };
    this.#lots.set(lot, known);
    return known;
  }

  /** Entries of plant files and recipes, which any lot may rest on. */
  foundation(): readonly number[] {
    return this.#foundation;
  }

  /** Every lot that is told of. */
  lots(): string[] {
    return [...this.#lots.keys()];
  }

  /** The lots a load is in or was in, the one that it is in last. */
  lotsOf(load: string): readonly string[] {
    return this.#loads.get(load)?.lots ?? [];
  }

  /** In their order. */
  entriesOf(lot: string): number[] {
    const { named = [], loads = new Map<string, number>() } = this.#lots.get(lot) ?? {};
    const ofLoads = [...loads].flatMap(([load, until]) =>
      (this.#loads.get(load)?.entries ?? []).filter((n) => n <= until),
    );
    return [...new Set([...named, ...ofLoads])].sort((a, b) => a - b);
  }

  /** The same, and what was said of its loads after they had left it. */
  entriesOfLoads(lot: string): number[] {
    const loads = [...(this.#lots.get(lot)?.loads.keys() ?? [])];
    const all = loads.flatMap((load) => this.#loads.get(load)?.entries ?? []);
    return [...new Set([...this.entriesOf(lot), ...all])];
  }
}
