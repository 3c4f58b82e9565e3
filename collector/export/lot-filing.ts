import type { CoatStack } from '@setwell/shared-models/record/coat-shown';
import type { LoadCorrected, LotFiled } from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';
import { isRelease } from '@setwell/shared-models/record/lot-file';
import { LotsOfEntries } from '@setwell/shared-models/record/lots-of-entries';
import type { CoatResult } from '@setwell/shared-models/score/shape';
import { CoatBakes, type BakeAccount } from '../judge/coat-bakes.ts';
import type { Proposal } from '../ledger/shape.ts';
import type { Collected, Part } from '../part.ts';
import { ModelPool } from '../verify/model-pool.ts';
import { releasedModels, type ReleasedModel } from '../verify/released-models.ts';
import { coatStacks, type BakeDocuments } from './coat-stacks.ts';
import { listed, lotListing } from './lot-listing.ts';

interface Filed {
  revision: number;
  n: number;
}

interface Due {
  because: LotFiled['because'];
  after: number;
}

/** A lot that could not be filed waits so long, or until more is said of it [ms]. */
const againAfterMs = 600_000;

/**
 * Fixes a lot's file at its release, and anew whenever a load that it cites has another account: which
 * accounts were released, every entry of the lot up to then, and the coats of its parts over all their
 * bakes, stand in an entry of their own.
 *
 * Coats are computed by the newest released model in a process beside; a lot of which more was said
 * meanwhile is computed again.
 */
export class LotFiling implements Part {
  readonly #collected: Collected;
  readonly #bakes: CoatBakes;
  readonly #lotsOf = new LotsOfEntries();
  readonly #filed = new Map<string, Filed>();
  readonly #due = new Map<string, Due>();
  readonly #computing = new Set<string>();
  /** When a lot that could not be filed is tried again [ms of the monotonic clock]. */
  readonly #againMs = new Map<string, number>();
  #stopped = false;

  constructor(collected: Collected) {
    this.#collected = collected;
    this.#bakes = new CoatBakes((sha256) => collected.documents.recipe(sha256));
  }

  hear(entries: Entry[]): void {
    for (const entry of entries) {
      this.#bakes.take(entry);
      const { kind, n, body } = entry;
      for (const lot of this.#lotsOf.take(entry)) {
        this.#againMs.delete(lot);
        if (kind === 'lot-filed') {
          this.#filed.set(lot, { revision: (body as LotFiled).revision, n });
          this.#due.delete(lot);
        } else if (isRelease(entry)) {
          this.#due.set(lot, { because: 'released', after: n });
        } else if (changesLoad(entry) && this.#filed.has(lot)) {
          this.#due.set(lot, { because: 'load-changed', after: n });
        }
      }
    }
  }

  /** Filed by the entry's own turn, not within it: every follower hears entries in one order. */
  look(): void {
    const proposals: Proposal[] = [];
    const nowMs = this.#collected.clock.monotonicMs();
    for (const [lot, due] of this.#due) {
      if (this.#computing.has(lot) || nowMs < (this.#againMs.get(lot) ?? 0)) continue;
      const isCoated = this.#bakes.of(lot).some(({ account }) => account !== null);
      if (isCoated) void this.#compute(lot);
      else proposals.push(this.#file(lot, due, {}));
    }
    if (proposals.length > 0) this.#collected.append(proposals);
  }

  stop(): void {
    this.#stopped = true;
  }

  #file(lot: string, due: Due, coats: Pick<LotFiled, 'coats' | 'coatsBy'>): Proposal {
    const { ledger, lots } = this.#collected;
    const revision = (this.#filed.get(lot)?.revision ?? 0) + 1;
    const listing = { ...lotListing(ledger, lots, lot), ...coats };
    const { body, blobs } = listed<LotFiled>({ lot, revision, ...due, ...listing });
    return { kind: 'lot-filed', by: 'collector', about: { lots: [lot] }, body, blobs };
  }

  async #compute(lot: string): Promise<void> {
    this.#computing.add(lot);
    const { clock, log, lots, append } = this.#collected;
    const known = lots.entriesOf(lot).length;
    const model = [...releasedModels().values()].sort((a, b) => b.number - a.number)[0];
    const pool = new ModelPool();
    try {
      const coats = model === undefined ? [] : await this.#coatsOf(lot, pool, model);
      const due = this.#due.get(lot);
      const isStill = lots.entriesOf(lot).length === known;
      if (this.#stopped || due === undefined || model === undefined || !isStill) return;
      const coatsBy = { number: model.number, sha256: model.sha256 };
      append([this.#file(lot, due, { coats, coatsBy })]);
    } catch (error) {
      // The release stands, its file is not fixed yet.
      this.#againMs.set(lot, clock.monotonicMs() + againAfterMs);
      log(`lot ${lot} could not be filed: ${String(error)}`);
    } finally {
      await pool.end();
      this.#computing.delete(lot);
    }
  }

  #coatsOf(lot: string, pool: ModelPool, model: ReleasedModel): Promise<CoatStack[]> {
    const scoreCoats = async (bakes: BakeDocuments[]) => {
      const answer = await pool.run(model, { ask: 'scoreCoats', input: bakes });
      if ('fault' in answer) throw new Error(answer.fault);
      return answer.result as CoatResult[];
    };
    return coatStacks(this.#bakes.of(lot), (account) => this.#documents(account), scoreCoats);
  }

  #documents({ input, readings, unjudged }: BakeAccount): BakeDocuments {
    const text = (sha256: string) => this.#collected.ledger.blob(sha256)?.toString('utf8') ?? '';
    return { input: JSON.parse(text(input)), readingsCsv: text(readings), unjudged };
  }
}

/** Another account, or another lot: what was filed is not what counts now. */
function changesLoad({ kind, body }: Entry): boolean {
  if (kind === 'load-amended') return true;
  return kind === 'load-corrected' && (body as LoadCorrected).change.what === 'lot';
}
