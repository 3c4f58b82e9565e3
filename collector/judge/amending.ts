import type { AmendedBecause, LoadAmended, LoadSealed } from '@setwell/shared-models/record/bodies';
import { canonicalJson } from '@setwell/shared-models/record/canonical';
import type { Entry } from '@setwell/shared-models/record/entry';
import type { ScoreResult } from '@setwell/shared-models/score/shape';
import type { JournalReader, Reading, StationEvent } from '../journal/shape.ts';
import { leafHash } from '../ledger/ledger.ts';
import type { CarriedCoats } from './carried-coats.ts';
import type { JudgedLoad } from './judged-load.ts';
import { eventsBetween, hearAgain, isLateEvidence } from './late-evidence.ts';
import { amendableMs, type RecentLoad } from './load-accounts.ts';
import type { LoadsInWork } from './loads-in-work.ts';
import type { Model } from './model.ts';
import { bracketMs, faultedModel, sealOrFault } from './sealed-record.ts';
import type { ReadSpan } from './score-input.ts';

/** So long nothing more has come [ms]. */
const quietMs = 10 * 60_000;
/** Or the first came so long ago, though more keeps coming [ms]. */
const mostWaitMs = 60 * 60_000;
/** A load is amended by itself at most so often [ms]: an old record is not stirred by a gateway that chatters. */
const betweenMs = 60 * 60_000;

/** What came for a sealed load, by receipt time. */
interface Touched {
  firstMs: number;
  lastMs: number;
  /** Something was said of it, beside what was read. */
  said: boolean;
}

/** Where readings of a point still matter to a sealed load. */
interface Span {
  load: string;
  fromMs: number;
  lastMs: number;
  /** Nothing of the point was known at the end: its first reading after it matters too. */
  open: boolean;
}

export interface Amended {
  load: JudgedLoad;
  body: LoadAmended;
  result: ScoreResult;
  blobs: Buffer[];
  before: Entry<LoadSealed>;
}

/**
 * Sealed loads for which readings or evidence come late, or readings contradict each other.
 *
 * By themselves they are judged again after 10 min without a further reading or 60 min after the first,
 * at most once an hour, for readings that came within 72 h of the seal. A person may ask at any time.
 */
export class Amending {
  readonly #recent: ReadonlyMap<string, RecentLoad>;
  readonly #loads: LoadsInWork;
  readonly #journal: JournalReader;
  readonly #model: Model;
  readonly #spans = new Map<string, Span[]>();
  /** By point: after it nothing matters to any sealed load. */
  readonly #until = new Map<string, number>();
  readonly #touched = new Map<string, Touched>();
  readonly #tooLate = new Set<string>();
  /** Loads of which an earlier bake has another account. */
  readonly #upstream = new Set<string>();
  readonly #coats: CarriedCoats;

  constructor(
    recent: ReadonlyMap<string, RecentLoad>,
    loads: LoadsInWork,
    parts: { journal: JournalReader; model: Model; coats: CarriedCoats },
  ) {
    this.#recent = recent;
    this.#loads = loads;
    this.#journal = parts.journal;
    this.#model = parts.model;
    this.#coats = parts.coats;
  }

  /** Loads for which readings came after the last moment at which they count by themselves; told once. */
  takeTooLate(): string[] {
    const loads = [...this.#tooLate];
    this.#tooLate.clear();
    return loads;
  }

  /** An earlier bake of these loads' coats counts otherwise from now on. */
  upstream(loads: readonly string[]): void {
    for (const load of loads) this.#upstream.add(load);
  }

  /** A new account rests on what counts now. */
  answered(load: string): void {
    this.#upstream.delete(load);
  }

  /** A load has been sealed, or is known from before a restart. */
  watch(name: string, spans: ReadonlyMap<string, ReadSpan>): void {
    const recent = this.#recent.get(name);
    if (!recent) return;
    const { endMs, silent } = recent.effective.body;
    for (const [point, { fromMs, toMs }] of spans) {
      const open = silent.includes(point);
      const own = (this.#spans.get(point) ?? []).filter(({ load }) => this.#recent.has(load));
      const lastMs = Math.min(toMs, endMs);
      own.push({ load: name, fromMs, lastMs, open });
      this.#spans.set(point, own);
      const untilMs = lastMs + (open ? bracketMs : 0);
      this.#until.set(point, Math.max(this.#until.get(point) ?? 0, untilMs));
    }
  }

  /** What came up to a batch while nobody looked: asked of the journal once, after a restart. */
  resume(untilSeq: number, spansOf: (recent: RecentLoad) => ReadonlyMap<string, ReadSpan>): void {
    for (const [name, recent] of this.#recent) {
      const spans = spansOf(recent);
      this.watch(name, spans);
      const { endMs, silent, readings } = recent.effective.body;
      for (const [point, { fromMs, toMs }] of spans) {
        const came = (from: number, to: number) =>
          this.#journal.arrivedAfter(readings.journalUpTo, point, from, to);
        const late = came(fromMs, Math.min(toMs, endMs));
        if (late) {
          this.#touch(name, late.firstMs);
          this.#touch(name, late.lastMs);
        }
        const after = silent.includes(point) ? came(endMs + 1, endMs + bracketMs) : null;
        if (after) this.#touch(name, after.firstMs);
      }
    }
    const newestMs = Math.max(0, ...[...this.#recent.values()].map((each) => each.sealedAtMs));
    const unsettled = [...this.#recent.values()].filter(
      ({ sealedAtMs }) => sealedAtMs + amendableMs >= newestMs,
    );
    const fromSeq = Math.min(
      ...unsettled.map(({ effective }) => effective.body.readings.journalUpTo),
    );
    if (unsettled.length === 0) return;
    for (const { seq, receivedMs, events } of eventsBetween(this.#journal, fromSeq, untilSeq)) {
      for (const { event } of events) this.hear(event, seq, receivedMs);
    }
  }

  /** What is said of the loads that are sealed, after their last account. */
  hear(event: StationEvent, seq: number, receivedMs: number): void {
    for (const [name, { account, effective }] of this.#recent) {
      const { readings, endMs } = effective.body;
      if (seq <= readings.journalUpTo) continue;
      if (isLateEvidence(event, account.opened, endMs)) this.#touch(name, receivedMs, true);
    }
  }

  take({ point, t }: Reading, receivedMs: number): void {
    if (t > (this.#until.get(point) ?? -Infinity)) return;
    for (const span of this.#spans.get(point) ?? []) {
      if (t < span.fromMs || t > span.lastMs + (span.open ? bracketMs : 0)) continue;
      if (t >= span.lastMs) span.open = false;
      this.#touch(span.load, receivedMs);
    }
  }

  #touch(name: string, receivedMs: number, said = false): void {
    const recent = this.#recent.get(name);
    if (!recent) return;
    if (receivedMs > recent.sealedAtMs + amendableMs) {
      this.#tooLate.add(name);
      return;
    }
    const known = this.#touched.get(name) ?? { firstMs: receivedMs, lastMs: receivedMs, said };
    this.#touched.set(name, {
      firstMs: Math.min(known.firstMs, receivedMs),
      lastMs: Math.max(known.lastMs, receivedMs),
      said: known.said || said,
    });
  }

  /** What is to be amended now. */
  *due(nowMs: number, journalUpTo: number): Generator<Amended> {
    for (const [name, { firstMs, lastMs, said }] of this.#touched) {
      const recent = this.#recent.get(name);
      const { amendedAtMs = null } = recent ?? {};
      const settled = nowMs >= lastMs + quietMs || nowMs >= firstMs + mostWaitMs;
      const tooSoon = amendedAtMs !== null && nowMs < amendedAtMs + betweenMs;
      if (!settled || tooSoon) continue;
      if (!recent || this.#isBeingSaid(name, recent)) continue;
      this.#touched.delete(name);
      const amended = this.#again(recent, said ? 'evidence' : null, journalUpTo);
      if (amended) yield amended;
    }
    for (const [name, recent] of this.#recent) {
      const { unanswered } = recent;
      if (!unanswered || this.#isBeingSaid(name, recent)) continue;
      this.#touched.delete(name);
      const amended = this.#again(recent, { act: unanswered }, journalUpTo);
      if (amended) yield amended;
    }
    for (const load of this.#upstream) {
      const recent = this.#recent.get(load);
      if (recent && this.#isBeingSaid(load, recent)) continue;
      // What is not sealed yet carries what counts then.
      this.#upstream.delete(load);
      const amended = recent && this.#again(recent, 'upstream', journalUpTo);
      if (amended) yield amended;
    }
  }

  /** Its account, or one that it rests on, is not in the ledger yet: it is looked at the next time. */
  #isBeingSaid(name: string, { effective }: RecentLoad): boolean {
    return effective.n < 0 || this.#coats.waits(name);
  }

  /**
   * The whole new account; null where it would say what the one before says.
   *
   * @param asked an act of a person, which is answered in any case, evidence, or another account of an
   *   earlier bake; null: only readings came
   */
  #again(
    recent: RecentLoad,
    asked: Exclude<AmendedBecause, 'late' | 'conflict'> | null,
    journalUpTo: number,
  ): Amended | null {
    const { account, effective } = recent;
    const act = typeof asked === 'object' ? asked : null;
    const { opened, fault } = this.#reopened(recent, act !== null);
    const load = this.#loads.judged({ ...account, opened });
    const { endMs } = load;
    if (endMs === null) throw new Error(`load ${opened.load} is sealed and has not ended`);
    hearAgain(load, recent, this.#journal, journalUpTo, act !== null);
    const silent = [...load.newest()].filter(([, t]) => t === null || t < endMs);
    const how = {
      sealedBy: silent.length === 0 ? ('complete' as const) : ('deadline' as const),
      silent: silent.map(([point]) => point),
    };
    const model = fault === null ? this.#model : faultedModel(this.#model, fault);
    const record = sealOrFault(load, this.#journal, model, how, journalUpTo);
    if (fault !== null) record.body.unjudged ??= 'faulted';
    load.faulted = fault !== null || record.fault !== null;
    const before = effective.body;
    const same = record.body.readings.sha256 === before.readings.sha256;
    const sameConflicts = record.body.quality.conflicts === before.quality.conflicts;
    const sameReadings = same && sameConflicts;
    const sameResult = record.body.result.sha256 === before.result.sha256;
    if (act === null && sameReadings && (asked === null || sameResult)) return null;
    const ofReadings = sameConflicts ? 'late' : 'conflict';
    const because = sameReadings && asked !== null ? asked : (act ?? ofReadings);
    const body: LoadAmended = {
      ...record.body,
      revision: before.revision + 1,
      amends: leafHash(Buffer.from(canonicalJson(effective))).toString('hex'),
      because,
    };
    return { load, body, result: record.result, blobs: record.blobs, before: effective };
  }

  /** Late readings change nothing of what was resolved at the start; a person's correction may. */
  #reopened({ account }: RecentLoad, byAct: boolean) {
    if (!byAct) return { opened: account.opened, fault: null };
    return this.#loads.weighedAgain(account.opened);
  }
}
