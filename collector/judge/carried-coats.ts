import type { LoadOpened } from '@setwell/shared-models/record/bodies';
import type { Citation } from '@setwell/shared-models/record/entry';
import { historiesOf, type PartHistory } from '@setwell/shared-models/record/part-histories';
import type { Bake } from '@setwell/shared-models/score/coats';
import type { CarriedCoat, ScoreInput } from '@setwell/shared-models/score/shape';
import type { CoatBake, CoatBakes } from './coat-bakes.ts';
import type { Model } from './model.ts';

/** A load whose parts have more histories than this was named wrongly. */
const mostHistories = 100;

/** More loads than are between start and seal at one time; another is computed again. */
const mostKept = 2000;

/** What a load that is not sealed yet is scored by, without its coats. */
export type InputOf = (load: string) => ScoreInput | null;

interface Kept {
  key: string;
  coats: CarriedCoat[];
}

/**
 * What a load carries of earlier bakes: computed from the readings of their records, whole, and again
 * when one of those has another account.
 */
export class CarriedCoats {
  readonly #bakes: CoatBakes;
  readonly #record: (sha256: string) => Buffer | null;
  readonly #model: Pick<Model, 'carried'>;
  readonly #kept = new Map<string, Kept>();

  /** @param record a document of a sealed account */
  constructor(
    bakes: CoatBakes,
    record: (sha256: string) => Buffer | null,
    model: Pick<Model, 'carried'>,
  ) {
    this.#bakes = bakes;
    this.#record = record;
    this.#model = model;
  }

  /** The accounts that it rests on. */
  cites(load: string): Citation[] {
    return this.#bakes.before(load).flatMap(({ account }) => account?.cited ?? []);
  }

  /** An account that it rests on is proposed and not in the ledger yet. */
  waits(load: string): boolean {
    return this.#bakes.before(load).some(({ account }) => account?.cited === null);
  }

  /**
   * @throws RangeError where parts have too many histories, Error where a document is missing: the
   *   load cannot be judged then
   */
  of({ load, parts, recipe }: LoadOpened, input: ScoreInput, inputOf: InputOf): CarriedCoat[] {
    const bakes = this.#bakes.before(load);
    if (bakes.length === 0 && !(this.#bakes.get(load)?.coat ?? 0)) return [];
    const histories = historiesOf(bakes, parts);
    const key = [recipe?.sha256, ...histories.map((each) => keyOf(each, inputOf))].join('\n');
    const known = this.#kept.get(load);
    if (known?.key === key) return known.coats;
    if (histories.length > mostHistories) {
      const found = String(histories.length);
      throw new RangeError(
        `parts of ${found} different bakes, expected at most ${String(mostHistories)}`,
      );
    }
    const coats = histories.flatMap(({ parts: own, loads: of }) => {
      const carried = this.#model.carried(input, this.#documents(of, inputOf));
      return histories.length === 1 || own === null
        ? carried
        : carried.map((coat) => ofParts(coat, own));
    });
    this.#kept.delete(load);
    this.#kept.set(load, { key, coats });
    for (const oldest of this.#kept.keys()) {
      if (this.#kept.size <= mostKept) break;
      this.#kept.delete(oldest);
    }
    return coats;
  }

  #documents(bakes: readonly CoatBake[], inputOf: InputOf): Bake[] {
    return bakes.flatMap((bake): Bake[] => {
      const { account } = bake;
      if (account?.cited == null) {
        const input = inputOf(bake.load);
        return input === null ? [] : [{ input, readingsCsv: '', unjudged: true }];
      }
      const input = JSON.parse(this.#text(account.input)) as ScoreInput;
      const readingsCsv = this.#text(account.readings);
      return [{ input, readingsCsv, ...(account.unjudged ? { unjudged: true } : {}) }];
    });
  }

  #text(sha256: string): string {
    const bytes = this.#record(sha256);
    if (bytes === null)
      throw new Error(`document ${sha256} of an earlier bake is not in the ledger`);
    return bytes.toString('utf8');
  }
}

function keyOf({ parts, loads }: PartHistory<CoatBake>, inputOf: InputOf): string {
  const of = loads.map(({ load, account }) => {
    if (account?.cited) return account.cited.leaf;
    return `${load} ${String(inputOf(load)?.endMs ?? null)}`;
  });
  return [...(parts ?? []), ...of].join(' ');
}

/** A coat that only these parts of a load carry. */
export function ofParts(coat: CarriedCoat, parts: string[]): CarriedCoat {
  return coat.own === undefined ? coat : { ...coat, own: { ...coat.own, parts } };
}
