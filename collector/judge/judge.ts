import type { Judgement, StationNow } from '@setwell/shared-models/api/collector';
import type { JournalPlace } from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';
import type { Plant } from '@setwell/shared-models/plant/plant';
import { canonicalReadings } from '@setwell/shared-models/score/readings';
import { trace } from '@setwell/shared-models/score/trace';
import type {
  LoadTrace,
  Mark,
  ScoreInput,
  ScoreResult,
  Weights,
} from '@setwell/shared-models/score/shape';
import type { Batch, JournalReader, Reading, StationEvent } from '../journal/shape.ts';
import type { Proposal } from '../ledger/shape.ts';
import { admitEnd, admitStart, type Opening, type Refusal, type Scene } from './admission.ts';
import { Caller } from './caller.ts';
import type { Documents } from './documents.ts';
import { JournalCursor } from './journal-cursor.ts';
import { aboutLoad, JudgedLoad } from './judged-load.ts';
import { isAfter, LedgerFold, type LoadAccount } from './ledger-fold.ts';
import type { TraceWanted } from './judging.ts';
import type { Model } from './model.ts';
import { loadOpened } from './opened.ts';
import { adviceOf, isNewAdvice } from './say.ts';
import { noiseBefore } from './noise-before.ts';
import { scoreInput } from './score-input.ts';
import { faultedModel, sealLoad } from './sealed-record.ts';
import { sealNow } from './sealing.ts';
import { StationWatch } from './station-watch.ts';

export interface JudgeOptions {
  journal: JournalReader;
  documents: Documents;
  model: Model;
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
  readonly #fold = new LedgerFold();
  readonly #loads = new Map<string, JudgedLoad>();
  readonly #weights = new Map<string, Weights[] | null>();
  readonly #caller = new Caller(this.#fold, (proposal) => this.#propose(proposal));
  /** Loads over which people have decided. */
  readonly #decided = new Set<string>();
  #resumed = false;
  #plant: Plant | null = null;
  #watch: StationWatch | null = null;
  #stationsMs = -Infinity;
  #step: JudgeStep = emptyStep();

  constructor(options: JudgeOptions) {
    this.#options = options;
    this.#cursor = new JournalCursor(options.journal);
  }

  /** An entry that the judge did not propose: history at start, acts of people later. */
  hear(entry: Entry): void {
    this.#fold.take(entry);
    if (entry.kind === 'plant-revised') this.#plant = null;
    const { load, call } = entry.about;
    if (entry.kind === 'disposition' && load !== undefined) this.#decided.add(load);
    // In history the answers follow by themselves; what is missing of them is said at the end of it.
    if (!this.#resumed) return;
    if (entry.kind === 'disposition') this.#caller.decided(load);
    if (entry.kind === 'call-acknowledged') this.#caller.acknowledged(call);
  }

  /** The judge's own proposals come back with their numbers. */
  numbered(entries: Entry[]): void {
    for (const entry of entries) this.#fold.number(entry);
  }

  /** Rebuilds the running loads from what the ledger says and the journal holds. */
  resume(): void {
    const running = [...this.#fold.loads.values()];
    const seqs = running.map(({ opened }) => opened.event.seq);
    this.#cursor.resume(Math.min(this.#fold.cursor.seq, ...seqs));
    for (const account of running) this.#take(account);
    this.#resumed = true;
    for (const load of this.#decided) this.#caller.decided(load);
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
    this.#watch ??= new StationWatch(this.plant, this.#options.journal, nowMs);
    this.#readOn(nowMs);
    for (const load of [...this.#loads.values()]) this.#judge(load, nowMs);
    this.#lookRound(this.#watch, nowMs);
    const done = this.#step;
    this.#step = emptyStep();
    done.reachedHead = this.#cursor.isAtHead;
    return done;
  }

  /** Pictures of a running load, or of a sealed one from its own documents; null where there are none. */
  trace(wanted: TraceWanted): LoadTrace | null {
    const { view } = wanted;
    if ('input' in wanted) return trace(parsed(wanted.input), wanted.readingsCsv, view);
    const load = this.#loads.get(wanted.load);
    if (!load?.recipe || load.faulted) return null;
    return trace(load.input(wanted.nowMs), canonicalReadings(load.rows()), view);
  }

  #readOn(nowMs: number): void {
    for (const batch of this.#cursor.next()) {
      for (const reading of batch.readings) this.#takeReading(reading);
      for (const { index, event } of batch.events) {
        this.#takeEvent(event, { seq: batch.seq, index }, batch, nowMs);
      }
    }
  }

  #takeReading(reading: Reading): void {
    for (const load of this.#loads.values()) load.take(reading);
    this.#watch?.take(reading);
  }

  #takeEvent(event: StationEvent, place: JournalPlace, batch: Batch, nowMs: number): void {
    const answered = !isAfter(place, this.#fold.cursor);
    switch (event.event) {
      case 'load-start': {
        if (answered) return;
        const admission = admitStart(event, batch.receivedMs, this.#scene());
        if (admission.answer === 'open') this.#open(admission, event, place, nowMs);
        if (admission.answer === 'refused') this.#refuse(event, place, admission.refusal);
        return;
      }
      case 'load-end': {
        if (answered) return;
        const admission = admitEnd(event, batch.receivedMs, this.#scene());
        if (admission.answer === 'end') {
          this.#end(admission.load, admission.end, event, place, batch.receivedMs, nowMs);
        }
        if (admission.answer === 'refused') this.#refuse(event, place, admission.refusal);
        return;
      }
      case 'contact':
      case 'pressure-on':
      case 'release-start':
      case 'open':
        for (const load of this.#loads.values()) load.mark(event);
        return;
      default:
        // Kept in the journal; what it means comes with its own part of the program.
        return;
    }
  }

  #scene(): Scene {
    const { documents } = this.#options;
    return {
      plant: this.plant,
      fold: this.#fold,
      recipe: (sha256) => documents.recipe(sha256),
    };
  }

  #refuse(event: StationEvent, place: JournalPlace, refusal: Refusal): void {
    const { station, act } = event;
    this.#step.refusals.push({ event: event.event, station, act, refusal });
    this.#caller.forRefusal(event, place, refusal);
  }

  #open(opening: Opening, event: StationEvent, place: JournalPlace, nowMs: number): void {
    const { documents, model } = this.#options;
    const { recipe, station, start } = opening;
    const read = recipe ? documents.recipe(recipe.ref.sha256) : null;
    const opened = loadOpened(opening, event, place, {
      plannedMin: read?.plannedMin ?? null,
      plantSha256: this.#fold.plantSha256 ?? '',
      model,
    });
    const carried = this.#fold.carriedTo(opened);
    if (carried.length > 0) opened.carried = carried;
    const about = aboutLoad(opened);
    let fault: unknown = null;
    if (read) {
      try {
        const { plant } = this;
        opened.noiseK = noiseBefore(plant, opened, this.#options.journal);
        const asOfMs = opened.plannedEndMs ?? start.earliestMs;
        const planned = scoreInput(plant, opened, read, opened.marks, null, asOfMs);
        const key = `${opened.recipe?.sha256 ?? ''} ${station.id} ${opened.zones.join(' ')} ${opened.plantSha256} ${Math.floor(start.earliestMs / 86_400_000)}`;
        const known = this.#weights.get(key);
        opened.weights = known === undefined ? model.weigh(planned) : known;
        this.#weights.set(key, opened.weights);
      } catch (error) {
        fault = error;
      }
    }
    this.#propose({
      kind: 'load-opened',
      by: authorOf(event),
      about,
      body: opened,
      ...(event.act === null ? {} : { act: event.act }),
    });
    const account = this.#fold.loads.get(opened.load);
    if (!account) throw new Error(`load ${opened.load} was not opened by its own entry`);
    const judged = this.#take(account);
    if (fault !== null) this.#fault(judged, fault);
    this.#caller.forLoad(judged, nowMs, null);
  }

  #take(account: LoadAccount): JudgedLoad {
    const { documents, model, journal } = this.#options;
    const { opened } = account;
    const recipe = opened.recipe ? documents.recipe(opened.recipe.sha256) : null;
    const plant = documents.plant(opened.plantSha256);
    const judged = new JudgedLoad(account, recipe, plant, model);
    judged.readBack(journal);
    this.#loads.set(opened.load, judged);
    return judged;
  }

  #end(
    name: string,
    end: Mark,
    event: StationEvent,
    place: JournalPlace,
    receivedMs: number,
    nowMs: number,
  ): void {
    const load = this.#loads.get(name);
    if (!load) throw new Error(`load ${name} is in the ledger and not with the judge`);
    const given = load.marks.releaseStart;
    load.marks = { ...load.marks, releaseStart: given ?? { ...end, assumed: true } };
    load.endMs = end.latestMs;
    load.endReceivedMs = receivedMs;
    this.#compute(load, nowMs);
    const { verdict, side } = load.verdict();
    this.#propose({
      kind: 'load-ended',
      by: authorOf(event),
      about: aboutLoad(load.opened),
      body: {
        load: name,
        marks: load.marks,
        endMs: end.latestMs,
        event: place,
        act: event.act,
        verdict,
        side,
        ...(load.carried.length === 0 ? {} : { carried: load.carried }),
      },
      ...(event.act === null ? {} : { act: event.act }),
    });
    this.#tell(load, nowMs, null);
  }

  #judge(load: JudgedLoad, nowMs: number): void {
    const due = nowMs - load.judgedMs >= this.#options.judgeEveryMs;
    if (load.state === 'ended' && load.recipe && this.#seal(load, nowMs)) return;
    if (!due) return;
    this.#compute(load, nowMs);
    this.#tell(load, nowMs, null);
  }

  #compute(load: JudgedLoad, nowMs: number): void {
    load.judgedMs = nowMs;
    if (!load.recipe || load.faulted) return;
    try {
      load.judge(nowMs, this.#options.forecastEveryMs);
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
      body: { load: opened.load, because: because.slice(0, 500) },
    });
  }

  /** Seals the load if it is time; answers whether it did. */
  #seal(load: JudgedLoad, nowMs: number): boolean {
    const { journal, model } = this.#options;
    const { endMs, endReceivedMs, opened } = load;
    if (endMs === null) return false;
    const { kind } = load.input(endMs).station;
    const seal = sealNow(kind, load.newest(), endMs, endReceivedMs ?? nowMs, nowMs);
    if (seal.when === 'not-yet') return false;
    const how = { sealedBy: seal.sealedBy, silent: seal.silent };
    let record;
    try {
      record = sealLoad(load, journal, model, how, this.#cursor.seq);
    } catch (error) {
      this.#fault(load, error);
      record = sealLoad(load, journal, faultedModel(model, error), how, this.#cursor.seq);
    }
    this.#propose({
      kind: 'load-sealed',
      by: 'collector',
      about: aboutLoad(opened),
      body: record.body,
      blobs: record.blobs,
    });
    this.#loads.delete(opened.load);
    this.#tell(load, nowMs, record.result);
    return true;
  }

  #tell(load: JudgedLoad, nowMs: number, sealed: ScoreResult | null): void {
    const judgement = load.judgement(nowMs, this.#blindSince(load, nowMs), sealed);
    this.#step.judgements.push(judgement);
    const account = this.#fold.loads.get(load.opened.load);
    if (account && load.state === 'open' && (load.result || load.faulted || !load.recipe)) {
      const advice = adviceOf(judgement);
      if (isNewAdvice(account.advice, advice)) {
        this.#propose({
          kind: 'advice-changed',
          by: 'collector',
          about: aboutLoad(load.opened),
          body: advice,
        });
      }
    }
    this.#caller.forLoad(load, nowMs, sealed);
  }

  #lookRound(watch: StationWatch, nowMs: number): void {
    if (nowMs - this.#stationsMs < this.#options.judgeEveryMs) return;
    this.#stationsMs = nowMs;
    this.#caller.forSilence(
      this.#loads.values(),
      (point) => watch.silentSince(point, nowMs),
      (point) => watch.couldHaveSpoken(point, nowMs),
    );
    const open = [...this.#loads.values()].filter(({ state }) => state === 'open');
    const loaded = new Set(open.map(({ opened }) => opened.station));
    this.#step.stations.push(...watch.look(loaded, nowMs));
  }

  #blindSince(load: JudgedLoad, nowMs: number): number | null {
    if (load.state !== 'open') return null;
    const since = (point: string) => this.#watch?.silentSince(point, nowMs) ?? null;
    const silent = load.points.map(since).filter((each) => each !== null);
    return silent.length === 0 ? null : Math.min(...silent);
  }

  /** What is proposed counts at once, so that the next event of the same batch sees it. */
  #propose(proposal: Proposal): void {
    this.#step.proposals.push(proposal);
    const { kind, by, about, body } = proposal;
    this.#fold.take({ v: 1, log: '', n: -1, at: 0, kind, by, about, cites: [], body });
  }
}

function emptyStep(): JudgeStep {
  return { proposals: [], judgements: [], stations: [], refusals: [], reachedHead: false };
}

/** Over MQTT anybody may write any name: only an act has a person. */
function authorOf({ act, by }: StationEvent): string {
  return act === null ? 'plant' : (by ?? 'plant');
}

const parsed = (input: string) => JSON.parse(input) as ScoreInput;
