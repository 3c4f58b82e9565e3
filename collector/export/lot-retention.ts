import type { LotFileDropped } from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';
import { isAccount } from '@setwell/shared-models/record/lot-file';
import { RetentionFold, usualLotFileYears, yearMs } from '@setwell/shared-models/record/retention';
import { unnamedLot } from '@setwell/shared-models/record/unnamed-lot';
import { surelyMs } from '../journal/sure-time.ts';
import type { Collected, Part } from '../part.ts';
import { unknown } from '../serve/refused.ts';
import type { Route } from '../serve/route.ts';
import { json } from '../serve/server.ts';

/** Lots are kept for years: an hour is soon enough [ms of wall time]. */
const lookEveryMs = 3_600_000;
/** Between two slices of the ledger, so that intake has its turn [ms of wall time]. */
const stepEveryMs = 5;
const slice = 1000;
/** Lots that go at a time; the next look takes the next ones. */
const mostLots = 100;

/**
 * Deletes the documents of lots whose time is over and that no legal hold keeps: inputs, readings as
 * scored, results. Entries stay for ever, and each deletion is one, written in the same transaction.
 */
export class LotRetention implements Part {
  readonly #collected: Collected;
  #cancel: (() => void) | null = null;

  constructor(collected: Collected) {
    this.#collected = collected;
  }

  routes(): Route[] {
    return [
      {
        method: 'GET',
        path: '/records/{lot}/retention',
        answer: (asked) => {
          const lot = asked.name('lot');
          const fold = this.#foldOf(lot);
          if (!fold) throw unknown('lot', lot, 'a lot with at least one entry');
          return json(fold.now(this.#years()));
        },
      },
    ];
  }

  start(): void {
    this.#again();
  }

  stop(): void {
    this.#cancel?.();
    this.#cancel = null;
  }

  #years(): number {
    return this.#collected.plant.keep?.lotFilesY ?? usualLotFileYears;
  }

  #again(): void {
    this.#after(lookEveryMs, () => this.#look());
  }

  #after(wallMs: number, then: () => void): void {
    const { clock, clockSetting } = this.#collected;
    this.#cancel = clock.after(wallMs * clockSetting.rate, then);
  }

  #look(): void {
    const years = this.#years();
    const nowMs = surelyMs(this.#collected);
    const lots = this.#over(years, nowMs);
    if (lots.length === 0) {
      this.#again();
      return;
    }
    const steps = this.#drop(lots, years, nowMs);
    const step = () => {
      if (steps.next().done) this.#again();
      else this.#after(stepEveryMs, step);
    };
    step();
  }

  /** A lot's retention as it stands; null where nothing is told of it. */
  #foldOf(lot: string): RetentionFold | null {
    const { ledger, lots } = this.#collected;
    const entries = lot === unnamedLot ? [] : lots.entriesOf(lot);
    if (entries.length === 0) return null;
    const fold = new RetentionFold();
    for (const n of entries) {
      const entry = ledger.entry(n);
      if (entry) fold.take(entry);
    }
    return fold;
  }

  #over(years: number, nowMs: number): string[] {
    const over: string[] = [];
    for (const lot of this.#collected.lots.silentSince(nowMs - years * yearMs)) {
      if (this.#foldOf(lot)?.isOver(years, nowMs)) over.push(lot);
      if (over.length === mostLots) break;
    }
    return over;
  }

  /** Whether no lot that a load is in, or was in, keeps its documents. */
  #mayGo(
    { about }: Entry,
    going: ReadonlySet<string>,
    foldOf: (lot: string) => RetentionFold | null,
    [years, nowMs]: [number, number],
  ): boolean {
    return this.#collected.lots.lotsOf(about.load ?? '').every((lot) => {
      const fold = foldOf(lot);
      if (!fold) return true;
      const { untilMs } = fold.now(years);
      return untilMs !== null && untilMs <= nowMs && (going.has(lot) || !fold.isOver(years, nowMs));
    });
  }

  /** What another lot's account names too stays: equal documents are kept once. */
  *#drop(lots: string[], years: number, nowMs: number): Generator<void> {
    const { ledger, lots: index, append } = this.#collected;
    const going = new Set(lots);
    const folds = new Map<string, RetentionFold | null>();
    const foldOf = (lot: string) => {
      const known = folds.has(lot) ? (folds.get(lot) ?? null) : this.#foldOf(lot);
      folds.set(lot, known);
      return known;
    };
    const mayGo = (entry: Entry) => this.#mayGo(entry, going, foldOf, [years, nowMs]);
    const own = new Set(lots.flatMap((lot) => index.entriesOfLoads(lot)));
    const elsewhere = new Set<string>();
    for (let after = -1; ;) {
      const stored = ledger.entriesAfter(after, slice);
      for (const { n, bytes } of stored) {
        const entry = entryOf(bytes);
        if (own.has(n) && mayGo(entry)) continue;
        for (const sha256 of documentsOf(entry)) elsewhere.add(sha256);
      }
      if (stored.length < slice) break;
      after = stored.at(-1)?.n ?? after;
      yield;
    }
    for (const lot of lots) {
      // A hold may have been set meanwhile.
      folds.clear();
      if (this.#foldOf(lot)?.now(years).hold) continue;
      const entries = index.entriesOfLoads(lot).flatMap((n) => ledger.entry(n) ?? []);
      const named = new Set(entries.filter(mayGo).flatMap(documentsOf));
      const found = [...named].flatMap((sha256) => {
        const bytes = elsewhere.has(sha256) ? null : ledger.blob(sha256);
        return bytes ? [{ sha256, bytes: bytes.length }] : [];
      });
      const bytes = found.reduce((sum, each) => sum + each.bytes, 0);
      const body: LotFileDropped = { lot, because: 'age', years, documents: found.length, bytes };
      const drops = found.map(({ sha256 }) => sha256);
      const about = { lots: [lot] };
      append([{ kind: 'lot-file-dropped', by: 'collector', about, body, drops }]);
      yield;
    }
  }
}

function entryOf(bytes: Buffer): Entry {
  return JSON.parse(bytes.toString('utf8')) as Entry;
}

/** The documents that an account alone names; recipes and plant files are everybody's. */
function documentsOf(entry: Entry): string[] {
  if (!isAccount(entry)) return [];
  const { input, readings, result, doubtful } = entry.body;
  return [input, readings, result, ...(doubtful ? [doubtful] : [])].map(({ sha256 }) => sha256);
}
