import type {
  LoadAmended,
  LoadCorrected,
  LoadOpened,
  LoadSealed,
} from '@setwell/shared-models/record/bodies';
import { canonicalJson } from '@setwell/shared-models/record/canonical';
import type { Citation, Entry } from '@setwell/shared-models/record/entry';
import { isAccount } from '@setwell/shared-models/record/lot-file';
import type { PartsOfLoad } from '@setwell/shared-models/record/part-histories';
import type { Recipe } from '@setwell/shared-models/plant/recipe-schema';
import { leafHash } from '../ledger/ledger.ts';
import { unnamedLot } from '@setwell/shared-models/record/unnamed-lot';

/** One load that bakes a coat, as the ledger tells it. */
export interface CoatBake extends PartsOfLoad {
  lot: string;
  startMs: number;
  /** Its recipe's; null: none was named, or one that bakes no coat. */
  coat: number | null;
  /** The account that counts; null: it is not sealed yet. */
  account: BakeAccount | null;
}

export interface BakeAccount {
  /** Its entry; null: it is proposed, and not in the ledger yet. */
  cited: Citation | null;
  input: string;
  readings: string;
  /** No model could follow it. */
  unjudged: boolean;
}

/** A lot whose last bake is older has long gone; what is asked of it then comes from its file [ms]. */
export const bakedMs = 400 * 86_400_000;

/**
 * Which loads have baked the coats of each lot: a fold of the ledger. It keeps what it takes to find a
 * bake's documents, and none of them.
 */
export class CoatBakes {
  readonly #lots = new Map<string, Map<string, CoatBake>>();
  readonly #lotOf = new Map<string, string>();
  readonly #recipe: (sha256: string) => Recipe | null;

  /** @param recipe of a digest that an entry names; null: it is not known here */
  constructor(recipe: (sha256: string) => Recipe | null) {
    this.#recipe = recipe;
  }

  take(entry: Entry): void {
    const load = entry.about.load ?? '';
    if (entry.kind === 'load-opened') this.open(entry.body as LoadOpened);
    else if (entry.kind === 'load-corrected') this.#correct(load, entry.body as LoadCorrected);
    else if (isAccount(entry)) this.#account(load, entry);
  }

  /** What was taken before the writer had numbered it gets its number. */
  number(entry: Entry): void {
    if (isAccount(entry)) this.#account(entry.about.load ?? '', entry);
  }

  get(load: string): CoatBake | null {
    return this.#lots.get(this.#lotOf.get(load) ?? '')?.get(load) ?? null;
  }

  /** Bakes of a lot, by start. */
  of(lot: string): CoatBake[] {
    if (lot === unnamedLot) return [];
    const bakes = [...(this.#lots.get(lot)?.values() ?? [])].filter(({ coat }) => coat !== null);
    return bakes.sort((a, b) => a.startMs - b.startMs || (a.load < b.load ? -1 : 1));
  }

  /** Bakes that its parts may have been in before a load; none for a load that bakes no coat. */
  before(load: string): CoatBake[] {
    const own = this.get(load);
    if (own?.coat == null) return [];
    const bakes = this.of(own.lot);
    return bakes.slice(0, bakes.indexOf(own)).filter((bake) => sharesParts(bake, own));
  }

  /** Loads that bake again what a load has baked. */
  after(load: string): string[] {
    const own = this.get(load);
    if (own?.coat == null) return [];
    const bakes = this.of(own.lot);
    return bakes.slice(bakes.indexOf(own) + 1).map((bake) => bake.load);
  }

  /** A load begins; its entry may come later. */
  open({ load, lot, parts, recipe, marks }: LoadOpened): void {
    const coat = this.#coatOf(recipe);
    // Of another kind of station: it never bakes a coat.
    if (coat === undefined) return;
    const startMs = marks.pressureOn.earliestMs;
    if (!this.#lots.has(lot)) this.#forget(startMs);
    this.#put({ load, lot, parts, startMs, coat, account: null });
  }

  /** Undefined: a recipe of another kind of station. */
  #coatOf(recipe: LoadOpened['recipe']): number | null | undefined {
    if (recipe === null) return null;
    const read = this.#recipe(recipe.sha256);
    if (read === null) return null;
    return read.kind === 'oven' ? (read.coat ?? null) : undefined;
  }

  #put(bake: CoatBake): void {
    const ofLot = this.#lots.get(bake.lot) ?? new Map<string, CoatBake>();
    ofLot.set(bake.load, bake);
    this.#lots.set(bake.lot, ofLot);
    this.#lotOf.set(bake.load, bake.lot);
  }

  #remove({ load, lot }: CoatBake): void {
    this.#lots.get(lot)?.delete(load);
    this.#lotOf.delete(load);
  }

  #correct(load: string, { change }: LoadCorrected): void {
    const bake = this.get(load);
    if (bake === null) return;
    this.#remove(bake);
    if (change.what === 'void') return;
    if (change.what === 'lot') this.#put({ ...bake, lot: change.lot, parts: change.parts });
    else if (change.what === 'recipe') {
      this.#put({ ...bake, coat: this.#coatOf(change.recipe) ?? null });
    } else if (change.what === 'marks') {
      const startMs = change.marks.pressureOn?.earliestMs ?? bake.startMs;
      this.#put({ ...bake, startMs });
    } else this.#put(bake);
  }

  #account(load: string, entry: Entry<LoadSealed | LoadAmended>): void {
    const bake = this.get(load);
    if (bake === null) return;
    const { log, n, body } = entry;
    const leaf = () => leafHash(Buffer.from(canonicalJson(entry))).toString('hex');
    bake.account = {
      cited: n < 0 ? null : { log, n, leaf: leaf() },
      input: body.input.sha256,
      readings: body.readings.sha256,
      unjudged: body.unjudged !== undefined,
    };
    bake.startMs = body.startMs;
  }

  #forget(nowMs: number): void {
    for (const [lot, bakes] of this.#lots) {
      const all = [...bakes.values()];
      const isOld = ({ startMs }: CoatBake) => startMs < nowMs - bakedMs;
      const gone = lot === unnamedLot || all.every(isOld) ? all.filter(isOld) : [];
      for (const bake of gone) this.#remove(bake);
      if (bakes.size === 0) this.#lots.delete(lot);
    }
  }
}

function sharesParts(a: CoatBake, b: CoatBake): boolean {
  if (a.parts.length === 0 || b.parts.length === 0) return true;
  return a.parts.some((part) => b.parts.includes(part));
}
