import type { Entry } from './entry.ts';
import type { LegalHoldSet, LotFileDropped } from './act-bodies.ts';

/** Years that a lot's documents are kept where plant.yaml says nothing: common practice, no source. */
export const usualLotFileYears = 10;

/** How long a lot's documents are kept, and whether they are here. */
export interface LotRetention {
  /** From its newest account or decision on; null while a legal hold stands, or nothing is there to delete [ms]. */
  untilMs: number | null;
  hold: { n: number; by: string; atMs: number; reason: string } | null;
  /** The entry that says that its documents are gone. */
  dropped: { n: number; atMs: number; documents: number } | null;
}

/** Whether an entry says something of a lot itself: a call that is cleared late must not keep it for longer. */
export function isOfLotItself({ kind }: Entry): boolean {
  return kind.startsWith('load-') || kind === 'lot-filed' || kind === 'disposition';
}

/** A lot's retention as a fold of its entries, in their order. */
export class RetentionFold {
  #newestMs = -Infinity;
  #hold: LotRetention['hold'] = null;
  #dropped: LotRetention['dropped'] = null;

  take(entry: Entry): void {
    const { n, at, kind, by, body } = entry;
    if (isOfLotItself(entry)) this.#newestMs = Math.max(this.#newestMs, at);
    if (kind === 'legal-hold-set') {
      this.#hold = { n, by, atMs: at, reason: (body as LegalHoldSet).reason };
    }
    if (kind === 'legal-hold-lifted') this.#hold = null;
    if (kind === 'lot-file-dropped') {
      this.#dropped = { n, atMs: at, documents: (body as LotFileDropped).documents };
    }
  }

  /** @param years that documents are kept */
  now(years: number): LotRetention {
    const isKept = this.#hold !== null || this.#newestMs === -Infinity;
    const untilMs = isKept ? null : this.#newestMs + years * yearMs;
    return { untilMs, hold: this.#hold, dropped: this.#dropped };
  }

  /** Whether its documents may go: their time is over, nobody holds them, and they are still here. */
  isOver(years: number, nowMs: number): boolean {
    const { untilMs, dropped } = this.now(years);
    const isHere = dropped === null || this.#newestMs > dropped.atMs;
    return untilMs !== null && untilMs <= nowMs && isHere;
  }
}

/** A year of the calendar, on average [ms]. */
export const yearMs = 365.2425 * 86_400_000;

export function retentionOf(entries: Iterable<Entry>, years: number): LotRetention {
  const fold = new RetentionFold();
  for (const entry of entries) fold.take(entry);
  return fold.now(years);
}

/** Accounts of before this entry may have no documents any more; 0 where none were deleted. */
export function droppedBefore(entries: readonly Pick<Entry, 'kind' | 'n'>[]): number {
  return entries.filter(({ kind }) => kind === 'lot-file-dropped').at(-1)?.n ?? 0;
}
