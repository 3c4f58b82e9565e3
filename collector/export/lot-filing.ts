import type { CoatStack } from '@setwell/shared-models/record/coat-shown';
import type { LotFiled } from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';
import type { CoatResult } from '@setwell/shared-models/score/shape';
import { CoatBakes, type BakeAccount } from '../judge/coat-bakes.ts';
import type { OwedFile } from '../ledger/ledger-index.ts';
import type { Proposal } from '../ledger/shape.ts';
import type { Collected, Part } from '../part.ts';
import { ModelPool } from '../verify/model-pool.ts';
import { releasedModels, type ReleasedModel } from '../verify/released-models.ts';
import { coatStacks, type BakeDocuments } from './coat-stacks.ts';
import { listed, lotListing } from './lot-listing.ts';

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
      if (this.#againMs.size === 0) continue;
      const { load = '', lots = [] } = entry.about;
      for (const lot of [...lots, ...this.#collected.lots.lotsOf(load)]) this.#againMs.delete(lot);
    }
  }

  /** Filed by the entry's own turn, not within it: every follower hears entries in one order. */
  look(): void {
    const proposals: Proposal[] = [];
    const nowMs = this.#collected.clock.monotonicMs();
    for (const due of this.#collected.lots.owedFiles()) {
      const { lot } = due;
      if (this.#computing.has(lot) || nowMs < (this.#againMs.get(lot) ?? 0)) continue;
      const isCoated = this.#bakes.of(lot).some(({ account }) => account !== null);
      if (isCoated) void this.#compute(lot);
      else proposals.push(this.#file(due, {}));
    }
    if (proposals.length > 0) this.#collected.append(proposals);
  }

  stop(): void {
    this.#stopped = true;
  }

  #file(due: OwedFile, coats: Pick<LotFiled, 'coats' | 'coatsBy'>): Proposal {
    const { ledger, lots } = this.#collected;
    const { lot } = due;
    const revision = lots.filedRevision(lot) + 1;
    const listing = { ...lotListing(ledger, lots, lot), ...coats };
    const { body, blobs } = listed<LotFiled>({ revision, ...due, ...listing });
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
      const due = lots.owedFiles().find((each) => each.lot === lot);
      const isStill = lots.entriesOf(lot).length === known;
      if (this.#stopped || due === undefined || model === undefined || !isStill) return;
      const coatsBy = { number: model.number, sha256: model.sha256 };
      append([this.#file(due, { coats, coatsBy })]);
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
