// Longer than the limit because a load's life, from its start to its last account, is read in one go.
import type { Judgement, StationNow } from '@setwell/shared-models/api/collector';
import type {
  Disposition,
  JournalPlace,
  LoadCorrected,
  LoadOpened,
  StationSet,
} from '@setwell/shared-models/record/bodies';
import { cutText } from '@setwell/shared-models/record/well-formed';
import { isAccount } from '@setwell/shared-models/record/lot-file';
import { settlesLoad } from '@setwell/shared-models/record/decisions';
import type { Entry } from '@setwell/shared-models/record/entry';
import type { Plant } from '@setwell/shared-models/plant/plant';
import type { Recipe } from '@setwell/shared-models/plant/recipe-schema';
import { canonicalReadings } from '@setwell/shared-models/score/readings';
import type { LoadTrace, Mark, ScoreInput, ScoreResult } from '@setwell/shared-models/score/shape';
import type { JournalReader, StationEvent } from '../journal/shape.ts';
import type { Proposal } from '../ledger/shape.ts';
import {
  admitEnd,
  admitStart,
  tooMuchEvidence,
  type Ending,
  type Opening,
  type Refusal,
  type Scene,
} from './admission.ts';
import { Amending, type Amended } from './amending.ts';
import { clocksKeptMs } from '@setwell/shared-models/call/lot-clocks';
import { CallRound } from './call-round.ts';
import { Closings, type NamedClosing } from './closings.ts';
import { Caller } from './caller.ts';
import { CarriedCoats } from './carried-coats.ts';
import { CoatBakes } from './coat-bakes.ts';
import { admitFitting } from './fitting-events.ts';
import { Fittings } from './fittings.ts';
import type { Documents } from './documents.ts';
import { drawTrace } from './drawing.ts';
import { JournalCursor } from './journal-cursor.ts';
import { PointFaults } from './point-faults.ts';
import { aboutLoad, type JudgedLoad } from './judged-load.ts';
import { isAfter, LedgerFold, type LoadAccount } from './ledger-fold.ts';
import type { OlderLoads } from './load-accounts.ts';
import type { TraceWanted } from './judging.ts';
import type { Model } from './model.ts';
import { LoadsInWork } from './loads-in-work.ts';
import { authorOf } from './opened.ts';
import { ruleHold } from './rule-hold.ts';
import { adviceOf, isNewAdvice } from './say.ts';
import { readSpans } from './score-input.ts';
import { sealOrFault } from './sealed-record.ts';
import { sealNow } from './sealing.ts';
import { contactBeforeMs } from './station-marks.ts';
import { StationWatch } from './station-watch.ts';

export interface JudgeOptions {
  journal: JournalReader;
  documents: Documents;
  model: Model;
  /** A document of a sealed account, by its digest. */
  record: (sha256: string) => Buffer | null;
  /** What the ledger tells of loads sealed long ago. */
  older?: OlderLoads;
  /** Judging at most so often a load [ms of plant time]. */
  judgeEveryMs: number;
  /** Looking ahead at most so often [ms of plant time]. */
  forecastEveryMs: number;
}

/** What one step has found. Nothing of it is said before the one writer has it on the disk. */
export interface JudgeStep {
  proposals: Proposal[];
  judgements: Judgement[];
  stations: StationNow[];
  /** Events that were not believed, each with the act that asked for it. */
  refusals: { event: string; station: string; act: string | null; refusal: Refusal }[];
  /** Acts whose event was known already, each with its load. */
  repeated: { act: string; load: string }[];
  /** False while there is more in the journal: what is said now may be of yesterday. */
  reachedHead: boolean;
}

/**
 * Follows the journal, opens, judges, ends and seals loads, and proposes what is to be said.
 *
 * The same journal, the same entries of people and the same clock give the same proposals. It starts
 * from the ledger's entries ({@link hear}), then {@link resume}, then {@link step} again and again;
 * each group of its proposals comes back numbered ({@link numbered}).
 */
export class Judge {
  readonly #options: JudgeOptions;
  readonly #cursor: JournalCursor;
  readonly #fold: LedgerFold;
  readonly #fittings: Fittings;
  readonly #bakes: CoatBakes;
  readonly #coats: CarriedCoats;
  readonly #loads: LoadsInWork;
  readonly #amending: Amending;
  readonly #caller: Caller;
  readonly #calls: CallRound;
  /** Loads over which people have decided, until history is heard. */
  readonly #decided = new Set<string>();
  #resumed = false;
  #plant: Plant | null = null;
  #watch: StationWatch | null = null;
  #faults: PointFaults | null = null;
  #closings: Closings | null = null;
  #stationsMs = -Infinity;
  #nowMs = 0;
  /** The newest entry's time [ms]. */
  #heardMs = 0;
  #step: JudgeStep = emptyStep();

  constructor(options: JudgeOptions) {
    this.#options = options;
    this.#cursor = new JournalCursor(options.journal);
    this.#fold = new LedgerFold(options.older);
    this.#fittings = new Fittings(this.#fold);
    this.#caller = new Caller(this.#fold, (proposal) => this.#propose(proposal));
    this.#bakes = new CoatBakes((sha256) => options.documents.recipe(sha256));
    this.#coats = new CarriedCoats(this.#bakes, options.record, options.model);
    this.#loads = new LoadsInWork({ ...options, fittings: this.#fittings, coats: this.#coats });
    const coats = this.#coats;
    this.#amending = new Amending(this.#fold.accounts.recent, this.#loads, { ...options, coats });
    this.#calls = new CallRound({
      ...{ fold: this.#fold, caller: this.#caller, journal: options.journal },
      isStore: (id) => this.plant.stations.some((each) => each.id === id && each.kind === 'store'),
      recipe: (named) => this.#recipeNamed(named),
    });
  }

  /** Before any entry is heard. */
  begin(answered: JournalPlace | null): void {
    this.#fold.begin(answered);
  }

  /** An entry that the judge did not propose: history at start, acts of people later. */
  hear(entry: Entry): void {
    this.#takeBake(entry);
    this.#fold.take(entry);
    this.#heardMs = Math.max(this.#heardMs, entry.at);
    if (entry.kind === 'plant-revised') this.#plant = null;
    if (entry.kind === 'load-opened') this.#loads.heard(entry.body as LoadOpened);
    const { load, call } = entry.about;
    const decided = this.#settles(entry);
    // In history the answers follow by themselves; what is missing of them is said at the end of it.
    if (!this.#resumed) {
      if (decided && load !== undefined) this.#decided.add(load);
      return;
    }
    this.#nowMs = Math.max(this.#nowMs, entry.at);
    if (decided) this.#caller.decided(load);
    if (entry.kind === 'fallback-approved') this.#loads.refit();
    if (entry.kind === 'call-acknowledged') this.#caller.acknowledged(call);
    if (entry.kind === 'load-corrected') this.#correct(entry as Entry<LoadCorrected>);
  }

  #settles({ kind, about: { load = '' }, body }: Entry): boolean {
    if (kind !== 'disposition') return false;
    const known = this.#fold.loads.get(load) ?? this.#fold.accounts.finished(load);
    return settlesLoad(body as Partial<Disposition>, known?.decisions);
  }

  /** The judge's own proposals come back with their numbers. */
  numbered(entries: Entry[]): void {
    for (const entry of entries) {
      this.#fold.number(entry);
      this.#bakes.number(entry);
    }
  }

  /** Rebuilds the running loads from what the ledger says and the journal holds. */
  resume(): void {
    const { journal, documents } = this.#options;
    const running = [...this.#fold.loads.values()];
    // Marks that mean a running load may have come before its start was known.
    const seqs = running.map(({ opened: { station, marks, event } }) => {
      const first = journal.firstEventSeq(station, marks.pressureOn.earliestMs - contactBeforeMs);
      return Math.min(event.seq, first ?? event.seq);
    });
    // What was said of lots within the last day still runs.
    const sinceMs = this.#heardMs - clocksKeptMs;
    const told = this.#fold.plantSha256 === null ? [] : this.plant.stations;
    for (const { id } of told) seqs.push(journal.firstEventSeq(id, sinceMs) ?? Infinity);
    this.#cursor.resume(Math.min(this.#fold.cursor.seq, ...seqs));
    this.#loads.recall(this.#cursor.seq);
    for (const account of running) this.#loads.enter(this.#weighedAgain(account));
    this.#amending.resume(this.#cursor.seq, ({ account: { opened } }) => {
      const recipe = opened.recipe ? documents.recipe(opened.recipe.sha256) : null;
      return readSpans(this.#fittings.fit(documents.plant(opened.plantSha256)), opened, recipe);
    });
    this.#resumed = true;
    for (const load of this.#decided) this.#caller.decided(load);
    this.#decided.clear();
    for (const [id, { acknowledged }] of this.#fold.calls) {
      if (acknowledged) this.#caller.acknowledged(id);
    }
  }

  get plant(): Plant {
    const { plantSha256 } = this.#fold;
    if (plantSha256 === null) throw new Error('the ledger names no plant yet');
    this.#plant ??= this.#options.documents.plant(plantSha256);
    return this.#plant;
  }

  /** One look at the journal, the loads and the clock. */
  step(nowMs: number): JudgeStep {
    this.#nowMs = nowMs;
    this.#watch ??= new StationWatch(this.plant, this.#options.journal, nowMs);
    this.#faults ??= new PointFaults(this.plant, this.#fold.instruments, nowMs);
    this.#closings ??= new Closings(this.plant, this.#options.journal, this.#fold, nowMs);
    this.#readOn();
    this.#endWithClosings(this.#closings);
    for (const proposal of this.#faults.look(nowMs)) this.#propose(proposal);
    for (const load of [...this.#loads]) this.#judge(load);
    for (const amended of this.#amending.due(nowMs, this.#cursor.seq)) this.#amend(amended);
    for (const load of this.#amending.takeTooLate()) this.#calls.forReadingsTooLate(load, nowMs);
    this.#lookRound(this.#watch);
    const done = this.#step;
    this.#step = emptyStep();
    done.reachedHead = this.#cursor.wasAtHead;
    return done;
  }

  /** Pictures of a running load, or of a sealed one from its own documents; null where there are none. */
  trace(wanted: TraceWanted, told: (share: number) => void): LoadTrace | null {
    const { view } = wanted;
    if ('input' in wanted)
      return drawTrace(JSON.parse(wanted.input) as ScoreInput, wanted.readingsCsv, view, told);
    const load = this.#loads.get(wanted.load);
    if (!load?.recipe || load.faulted) return null;
    return drawTrace(load.input(wanted.nowMs), canonicalReadings(load.rows()), view, told);
  }

  #readOn(): void {
    for (const batch of this.#cursor.next()) {
      for (const reading of batch.readings) {
        this.#loads.take(reading);
        this.#amending.take(reading, batch.receivedMs);
        this.#calls.take(reading);
        this.#watch?.take(reading);
        // What a person brings of the past says nothing of how late its sensors are, and calls nobody today.
        const isBrought = batch.by !== undefined;
        this.#faults?.take(reading, isBrought ? reading.t : batch.receivedMs);
        if (!isBrought) this.#closings?.take(reading);
      }
      for (const { index, event } of batch.events) {
        this.#takeEvent(event, { seq: batch.seq, index }, batch.receivedMs);
      }
    }
  }

  #takeEvent(event: StationEvent, place: JournalPlace, receivedMs: number): void {
    this.#calls.heard(event, place, this.#fold.loads.get(event.load ?? '')?.opened ?? null);
    const answered = !isAfter(place, this.#fold.cursor);
    if (event.event === 'load-start' || event.event === 'load-end') {
      if (!answered) this.#admit(event, place, receivedMs);
    } else if (event.event === 'instrument-fitted' || event.event === 'instrument-removed') {
      if (!answered) this.#refit(event, place, receivedMs);
    } else {
      for (const { opened } of this.#loads.mark(event, place)) {
        this.#refuse(event, place, tooMuchEvidence(opened.load));
      }
      this.#amending.hear(event, place.seq, receivedMs);
    }
  }

  #admit(told: StationEvent, place: JournalPlace, receivedMs: number): void {
    const closing = this.#closingNamedBy(told);
    const event = closing === null ? told : timedBy(told, closing);
    const admission =
      event.event === 'load-start'
        ? admitStart(event, receivedMs, this.#scene(), closing?.end?.latestMs ?? null)
        : admitEnd(event, receivedMs, this.#scene());
    const { act } = event;
    switch (admission.answer) {
      case 'open':
        this.#open({ ...admission, closing }, event, place);
        if (closing !== null) this.#endWithClosing(admission.load, closing, receivedMs);
        return;
      case 'end':
        this.#end(admission, event, place, receivedMs);
        return;
      case 'repeated':
        if (act !== null) this.#step.repeated.push({ act, load: admission.load });
        return;
      case 'refused':
        this.#refuse(event, place, admission.refusal);
    }
  }

  #refuse(event: StationEvent, place: JournalPlace, refusal: Refusal): void {
    const { station, act } = event;
    this.#step.refusals.push({ event: event.event, station, act, refusal });
    this.#calls.forRefusal(event, place, refusal);
  }

  /** What is fitted has changed: the running loads are judged by it from their next look on. */
  #refit(event: StationEvent, place: JournalPlace, receivedMs: number): void {
    const admission = admitFitting(event, place, receivedMs, this.plant, this.#fittings);
    if (admission.answer === 'refused') {
      this.#refuse(event, place, admission.refusal);
      return;
    }
    const { body } = admission;
    this.#propose({
      kind: `instrument-${admission.answer}`,
      by: authorOf(event),
      about: { station: event.station, sensor: body.point },
      body,
      ...(event.act === null ? {} : { act: event.act }),
    });
  }

  #recipeNamed(named: string): Recipe | null {
    const [id = '', revision] = named.split('@');
    const known = this.#fold.approvedRecipe(id, revision === undefined ? null : Number(revision));
    return known ? this.#options.documents.recipe(known.ref.sha256) : null;
  }

  #scene(): Scene {
    const { documents } = this.#options;
    return {
      plant: this.plant,
      fold: this.#fold,
      recipe: (sha256) => documents.recipe(sha256),
    };
  }

  #open(opening: Opening, event: StationEvent, place: JournalPlace): void {
    const { plant } = this;
    const plantSha256 = this.#fold.plantSha256 ?? '';
    const carriedTo = (load: LoadOpened) => this.#fold.carriedTo(load);
    const rests = { plant, plantSha256, carriedTo };
    const { opened, fault } = this.#loads.opening(opening, event, place, rests);
    this.#bakes.open(opened);
    this.#propose({
      kind: 'load-opened',
      by: authorOf(event),
      about: aboutLoad(opened),
      cites: this.#coats.cites(opened.load),
      body: opened,
      ...(event.act === null ? {} : { act: event.act }),
    });
    const account = this.#fold.loads.get(opened.load);
    if (!account) throw new Error(`load ${opened.load} was not opened by its own entry`);
    const judged = this.#loads.enter(account);
    this.#faults?.loaded(judged.points, opened.marks.pressureOn.earliestMs);
    if (fault !== null) this.#fault(judged, fault);
    this.#calls.forLoad(judged, this.#nowMs, null);
  }

  #end({ load: name, end }: Ending, event: StationEvent, place: JournalPlace, receivedMs: number) {
    const load = this.#loads.get(name);
    if (!load) throw new Error(`load ${name} is in the ledger and not with the judge`);
    const given = load.marks.releaseStart;
    load.marks = { ...load.marks, releaseStart: given ?? { ...end, assumed: true } };
    load.endMs = end.latestMs;
    load.endReceivedMs = receivedMs;
    this.#compute(load);
    const { verdict, side } = load.verdict();
    const { marks } = load;
    const { act } = event;
    this.#propose({
      kind: 'load-ended',
      by: authorOf(event),
      about: aboutLoad(load.opened),
      body: {
        ...{ load: name, marks, endMs: end.latestMs, event: place, act, verdict, side },
        ...(load.events.length === 0 ? {} : { events: [...load.events] }),
        ...(load.carried.length === 0 ? {} : { carried: load.carried }),
      },
      ...(act === null ? {} : { act }),
    });
    this.#tell(load, null);
  }

  /** The closing that a person names, by the call for it. */
  #closingNamedBy({ event, station, more }: StationEvent): NamedClosing | null {
    const { closing } = more;
    if (event !== 'load-start' || typeof closing !== 'string') return null;
    return this.#closings?.ofCall(closing, station) ?? null;
  }

  /** A load that has the clock of a closing ends with it, whoever was away then. */
  #endWithClosings(closings: Closings): void {
    for (const { station, closing } of closings.takeOpened()) {
      for (const { opened } of [...this.#loads]) {
        const isIts = opened.station === station && opened.closing?.foundMs === closing.foundMs;
        if (isIts) this.#endWithClosing(opened.load, closing, this.#nowMs);
      }
    }
  }

  #endWithClosing(name: string, { end, foundBy }: NamedClosing, receivedMs: number): void {
    const load = this.#loads.get(name);
    // Dips tell when a press has closed, and not when it was opened.
    if (load?.state !== 'open' || end === null || foundBy === 'dip') return;
    const { station, event } = load.opened;
    this.#end({ answer: 'end', load: name, end }, endOf(station, name, end), event, receivedMs);
  }

  /** A person has put right what was said of a load. A sealed one is judged again at the next look. */
  #correct({ about }: Entry<LoadCorrected>): void {
    const name = about.load ?? '';
    const load = this.#loads.get(name);
    if (!load) return;
    this.#loads.delete(name);
    const account = this.#fold.loads.get(name);
    if (!account) {
      this.#caller.forget(name);
      // For those who look on it has ended: there is nothing more to say of it.
      this.#step.judgements.push({ ...load.judgement(this.#nowMs, null, null), state: 'sealed' });
      return;
    }
    this.#loads.enter(this.#weighedAgain(account));
  }

  /** As recorded, unless somebody has named another recipe since: then it is weighed as that one asks. */
  #weighedAgain(account: LoadAccount): LoadAccount {
    const { opened } = account;
    if (opened.weights !== null || !opened.recipe || account.faulted) return account;
    account.opened = this.#loads.weighedAgain(opened).opened;
    return account;
  }

  #judge(load: JudgedLoad): void {
    const due = this.#nowMs - load.judgedMs >= this.#options.judgeEveryMs;
    if (load.state === 'ended' && this.#seal(load)) return;
    if (!due) return;
    this.#compute(load);
    this.#tell(load, null);
  }

  #compute(load: JudgedLoad): void {
    load.judgedMs = this.#nowMs;
    // What it rests on is in the ledger from the next look on.
    if (!load.recipe || load.faulted || this.#coats.waits(load.opened.load)) return;
    try {
      load.judge(this.#nowMs, this.#options.forecastEveryMs);
    } catch (error) {
      this.#fault(load, error);
    }
  }

  #fault(load: JudgedLoad, error: unknown): void {
    if (load.faulted) return;
    load.faulted = true;
    const because = error instanceof Error ? error.message : String(error);
    const { opened } = load;
    this.#propose({
      kind: 'load-faulted',
      by: 'collector',
      about: aboutLoad(opened),
      body: { load: opened.load, because: cutText(because, 500) },
    });
  }

  /** Seals the load if it is time; answers whether it did. */
  #seal(load: JudgedLoad): boolean {
    const { journal, model } = this.#options;
    const { endMs, endReceivedMs, opened, kind } = load;
    if (endMs === null || this.#coats.waits(opened.load)) return false;
    const hasHole = (point: string, toMs: number) => load.hasHole(journal, point, toMs);
    const since = endReceivedMs ?? this.#nowMs;
    const seal = sealNow(kind, load.newest(), endMs, since, this.#nowMs, hasHole);
    if (seal.when === 'not-yet') return false;
    const how = { sealedBy: seal.sealedBy, silent: seal.silent };
    const record = sealOrFault(load, journal, model, how, this.#cursor.seq);
    if (record.fault !== null) this.#fault(load, record.fault);
    const { body, blobs } = record;
    const about = aboutLoad(opened);
    const cites = this.#coats.cites(opened.load);
    this.#propose({ kind: 'load-sealed', by: 'collector', about, cites, body, blobs });
    this.#loads.delete(opened.load);
    this.#amending.watch(opened.load, load.spans);
    this.#tell(load, record.result);
    return true;
  }

  /** A sealed load has another account: said whole, beside the one before. */
  #amend({ load, body, result, blobs, before }: Amended): void {
    const about = aboutLoad(load.opened);
    const { log, n } = before;
    const cites = [{ log, n, leaf: body.amends }, ...this.#coats.cites(load.opened.load)];
    this.#propose({ kind: 'load-amended', by: 'collector', about, cites, body, blobs });
    this.#tell(load, result);
    const decisions = this.#fold.accounts.finished(load.opened.load)?.decisions;
    if (decisions?.questioned)
      this.#calls.forQuestionedRelease(load, body, before.body, this.#nowMs);
  }

  #tell(load: JudgedLoad, sealed: ScoreResult | null): void {
    const nowMs = this.#nowMs;
    const judgement = load.judgement(nowMs, this.#blindSince(load), sealed);
    this.#step.judgements.push(judgement);
    const { opened } = load;
    const account = this.#fold.loads.get(opened.load);
    if (account && load.state === 'open' && (load.result || load.faulted || !load.recipe)) {
      const body = adviceOf(judgement);
      const about = aboutLoad(opened);
      if (isNewAdvice(account.advice, body, nowMs)) {
        this.#propose({ kind: 'advice-changed', by: 'collector', about, body });
      }
    }
    this.#calls.forLoad(load, nowMs, sealed);
    if (load.state === 'ended') this.#hold(load, sealed);
  }

  #hold(load: JudgedLoad, sealed: ScoreResult | null): void {
    const { opened } = load;
    const account = this.#fold.loads.get(opened.load);
    const finished = account ? null : this.#fold.accounts.finished(opened.load);
    const { decisions } = account ?? finished ?? {};
    const revision = finished?.sealed.revision ?? null;
    const body = decisions && ruleHold(load.verdict(sealed).verdict, decisions, revision);
    if (body) {
      this.#propose({ kind: 'disposition', by: 'collector', about: aboutLoad(opened), body });
    }
  }

  #lookRound(watch: StationWatch): void {
    const nowMs = this.#nowMs;
    if (nowMs - this.#stationsMs < this.#options.judgeEveryMs) return;
    this.#stationsMs = nowMs;
    const open = [...this.#loads].filter(({ state }) => state === 'open');
    const loaded = new Set(open.map(({ opened }) => opened.station));
    this.#endServices(nowMs);
    this.#caller.settle(this.#closings?.wishes(nowMs) ?? [], nowMs, 'decided');
    const stations = watch.look(loaded, this.#fold.services, nowMs);
    this.#step.stations.push(...stations);
    this.#calls.lookRound(this.plant, stations, this.#loads, watch, nowMs);
  }

  /** A station that was taken out until a time is back by itself. */
  #endServices(nowMs: number): void {
    for (const [station, { untilMs }] of [...this.#fold.services]) {
      if (untilMs === null || untilMs > nowMs) continue;
      const body: StationSet = { state: 'in-service', reason: 'its time is over', untilMs: null };
      this.#propose({ kind: 'station-set', by: 'collector', about: { station }, body });
    }
  }

  #blindSince(load: JudgedLoad): number | null {
    if (load.state !== 'open') return null;
    const since = (point: string) => this.#watch?.silentSince(point, this.#nowMs) ?? null;
    const silent = load.points.map(since).filter((each) => each !== null);
    return silent.length === 0 ? null : Math.min(...silent);
  }

  /** What is proposed counts at once, so that the next event of the same batch sees it. */
  #propose(proposal: Proposal): void {
    this.#step.proposals.push(proposal);
    const { kind, by, about, body } = proposal;
    const at = this.#nowMs;
    const entry: Entry = { v: 1, log: '', n: -1, at, kind, by, about, cites: [], body };
    this.#takeBake(entry);
    this.#fold.take(entry);
  }

  /** Another account of a bake, or another lot or start of it, is another history for what came after it. */
  #takeBake(entry: Entry): void {
    const { kind, about } = entry;
    const load = about.load ?? '';
    const moves = kind === 'load-corrected' || isAccount(entry);
    const before = moves ? this.#bakes.after(load) : [];
    this.#bakes.take(entry);
    if (isAccount(entry)) this.#amending.answered(load);
    if (moves) this.#amending.upstream([...before, ...this.#bakes.after(load)]);
  }
}

/** What was said at a closing counts from the closing on; when it was said stands in the journal. */
function timedBy(event: StationEvent, { start }: NamedClosing): StationEvent {
  const { earliestMs, latestMs } = start;
  return { ...event, earliestMs: Math.round(earliestMs), latestMs: Math.round(latestMs) };
}

/** The readings say that a load has ended, and no person. */
function endOf(station: string, load: string, { earliestMs, latestMs }: Mark): StationEvent {
  const nothing = { lot: null, recipe: null, zones: null, opening: null, by: null, act: null };
  return {
    ...nothing,
    station,
    event: 'load-end',
    load,
    earliestMs,
    latestMs,
    parts: [],
    more: {},
  };
}

function emptyStep(): JudgeStep {
  return {
    proposals: [],
    judgements: [],
    stations: [],
    refusals: [],
    repeated: [],
    reachedHead: false,
  };
}
