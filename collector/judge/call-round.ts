import { callRules } from '@setwell/shared-models/call/call-rule';
import { wishesOfLoad, type LoadFacts } from '@setwell/shared-models/call/load-calls';
import { callsOfFaults } from '@setwell/shared-models/call/fault-calls';
import {
  callsOfLots,
  nextClocks,
  noClocks,
  type LotClocks,
} from '@setwell/shared-models/call/lot-clocks';
import { callOfRest } from '@setwell/shared-models/call/rest-call';
import { callsOfSilence } from '@setwell/shared-models/call/silence-calls';
import { callsOfStation } from '@setwell/shared-models/call/station-calls';
import type { Wish } from '@setwell/shared-models/call/wish';
import type { StationNow } from '@setwell/shared-models/api/collector';
import type { Plant } from '@setwell/shared-models/plant/plant';
import type { Recipe } from '@setwell/shared-models/plant/recipe-schema';
import type {
  CallKind,
  CallRaised,
  JournalPlace,
  LoadAmended,
  LoadSealed,
} from '@setwell/shared-models/record/bodies';
import type { About } from '@setwell/shared-models/record/entry';
import type { ScoreResult } from '@setwell/shared-models/score/shape';
import type { JournalReader, Reading, StationEvent } from '../journal/shape.ts';
import type { Refusal } from './admission.ts';
import type { Caller } from './caller.ts';
import { aboutLoad, type JudgedLoad } from './judged-load.ts';
import type { LedgerFold } from './ledger-fold.ts';
import { StationLook } from './station-look.ts';
import type { StationWatch } from './station-watch.ts';

const lotKinds: readonly CallKind[] = ['assembly-time', 'flash-off', 'recoat', 'piece-too-cold'];

export interface CallRoundParts {
  fold: LedgerFold;
  caller: Caller;
  journal: JournalReader;
  isStore(station: string): boolean;
  /** The recipe that an event names, if it is approved. */
  recipe(named: string): Recipe | null;
}

/** Gathers what is known for the rules of calls, and lets the caller bring in line what is up. */
export class CallRound {
  readonly #parts: CallRoundParts;
  #look: StationLook | null = null;
  #clocks: LotClocks = noClocks;
  /** Whether a load's lot had rested when it opened; asked once a load. */
  readonly #rest = new Map<string, Wish | null>();

  constructor(parts: CallRoundParts) {
    this.#parts = parts;
  }

  take(reading: Reading): void {
    this.#look?.take(reading);
  }

  /** What a load's verdict, forecast and requirements ask for. */
  forLoad(load: JudgedLoad, nowMs: number, sealed: ScoreResult | null): void {
    const { fold, caller } = this.#parts;
    const { opened } = load;
    const up = [...fold.calls.values()].filter(({ raised }) => raised.load === opened.load);
    const result = sealed ?? load.result;
    const promise = fold.loads.get(opened.load)?.decisions.promise ?? null;
    const facts: LoadFacts = {
      load: opened.load,
      lot: opened.lot,
      station: opened.station,
      state: sealed ? 'sealed' : load.state,
      nowMs,
      startMs: opened.marks.pressureOn.earliestMs,
      plannedEndMs: laterOf(opened.plannedEndMs, promise?.untilMs ?? null),
      ...load.verdict(sealed),
      worst: result?.worst ?? null,
      unit: result?.unit ?? null,
      forecast: load.forecast,
      hasRecipe: load.recipe !== null,
      faulted: load.faulted,
      requirements: result?.requirements ?? [],
      up: new Set(up.map(({ raised }) => raised.kind)),
    };
    const wishes = wishesOfLoad(facts, aboutLoad(opened));
    caller.settle(wishes, nowMs, load.state === 'open' ? 'recovered' : 'over');
    const rest = this.#restOf(load);
    if (rest) caller.settle([rest], nowMs);
  }

  /** One look at each station, its points and the lots between stations. */
  lookRound(
    plant: Plant,
    stations: StationNow[],
    loads: Iterable<JudgedLoad>,
    watch: StationWatch,
    nowMs: number,
  ): void {
    const { caller, journal } = this.#parts;
    this.#look ??= new StationLook(plant, journal, watch);
    const known = [...loads];
    const names = new Set(known.map(({ opened }) => opened.load));
    for (const load of this.#rest.keys()) if (!names.has(load)) this.#rest.delete(load);
    const open = known.filter(({ state }) => state === 'open');
    this.#look.keep(new Set(open.map(({ opened }) => opened.load)));
    for (const station of plant.stations) {
      const now = stations.find((each) => each.station === station.id);
      if (!now) continue;
      const own = open.filter(({ opened }) => opened.station === station.id);
      const { condition, sinceMs, service } = now;
      const facts = this.#look.facts(station, own, { condition, sinceMs, nowMs });
      const resting = own.length === 0 && (condition === 'cold' || condition === 'heating');
      const wishes = callsOfStation(facts);
      caller.settle(wishes, nowMs, 'recovered', resting || service !== null);
      this.#settleGone(['pressure-lost'], station.id, wishes, nowMs);
    }
    this.#silence(open, watch, nowMs);
    this.#faults(open, nowMs);
    const ofLots = callsOfLots(this.#clocks, nowMs);
    caller.settle(ofLots, nowMs);
    this.#settleGone(lotKinds, null, ofLots, nowMs);
    caller.lookRound(nowMs);
  }

  /** Something was said of a lot: clocks that run until it goes on. */
  heard(event: StationEvent, place: JournalPlace, opened: { lot: string } | null): void {
    const { lot, load, station, latestMs, more, recipe } = event;
    const tempC = more['tempC'] ?? more['c'];
    this.#clocks = nextClocks(this.#clocks, {
      event: event.event,
      station,
      atMs: latestMs,
      lot: lot ?? opened?.lot ?? null,
      load,
      recipe: recipe === null ? this.#recipeOf(load) : this.#parts.recipe(recipe),
      tempC: typeof tempC === 'number' && Number.isFinite(tempC) ? tempC : null,
      place,
    });
  }

  /** An event that was not believed. */
  forRefusal(event: StationEvent, place: JournalPlace, refusal: Refusal): void {
    const { station, load, act } = event;
    const known = [...this.#parts.fold.calls.values()].some(
      ({ raised: { kind, values }, raised }) =>
        kind === 'event-refused' &&
        raised.station === station &&
        values['event'] === event.event &&
        values['code'] === refusal.code,
    );
    // Somebody is called already for this very thing: a controller that repeats itself fills no ledger.
    if (known && act === null) return;
    const id = `event-refused.${String(place.seq)}.${String(place.index)}`;
    const { field, code, found, expected } = refusal;
    const body: CallRaised = {
      kind: 'event-refused',
      station,
      load,
      point: null,
      who: code === 'unknown-station' ? 'administrator' : callRules['event-refused'].who,
      tooLateMs: null,
      values: { event: event.event, field, code, found, expected, ...place },
      subject: id,
      evidence: [{ what: 'event', ...place }],
    };
    const about: About = { station, ...(load === null ? {} : { load }) };
    this.#parts.caller.refused(id, about, body, act !== null);
  }

  /** Readings came for a load that was sealed more than 72 h ago: only a person can make them count. */
  forReadingsTooLate(load: string, nowMs: number): void {
    const { fold, caller } = this.#parts;
    const finished = fold.accounts.finished(load);
    if (!finished || fold.timesRaised(load, 'readings-too-late') > 0) return;
    const { station, lot, startMs } = finished;
    const about = { station, load, startMs, ...(lot === '' ? {} : { lots: [lot] }) };
    const raised = { station, load, point: null, tooLateMs: null, values: { lot } };
    caller.raiseOnce('readings-too-late', load, about, raised, nowMs);
  }

  /** Parts were let go on an account that no longer stands. */
  forQuestionedRelease(
    { opened }: JudgedLoad,
    now: LoadAmended,
    before: LoadSealed,
    nowMs: number,
  ): void {
    const { load, station, lot } = opened;
    const values = { lot, verdict: now.verdict, before: before.verdict, revision: now.revision };
    const raised = { station, load, point: null, tooLateMs: null, values };
    const { caller } = this.#parts;
    caller.raiseOnce('release-questioned', load, aboutLoad(opened), raised, nowMs);
  }

  /** A point that a running load needs and that has stopped. */
  #silence(open: JudgedLoad[], watch: StationWatch, nowMs: number): void {
    const loads = open.map(({ opened, points }) => {
      const { load, station, lot, plannedEndMs } = opened;
      return { load, station, lot, plannedEndMs, points, about: aboutLoad(opened) };
    });
    const wishes = callsOfSilence(loads, {
      sinceMs: (point) => watch.silentSince(point, nowMs),
      isKnown: (point) => watch.couldHaveSpoken(point, nowMs),
    });
    this.#parts.caller.settle(wishes, nowMs);
    this.#settleGone(['sensor-silent'], null, wishes, nowMs);
  }

  /** A fault of a point, or an instrument that proves nothing, under a load that is in. */
  #faults(open: JudgedLoad[], nowMs: number): void {
    const { fold, caller } = this.#parts;
    const loads = open.map(({ opened, points, result }) => ({
      station: opened.station,
      lot: opened.lot,
      startMs: opened.marks.pressureOn.earliestMs,
      plannedEndMs: opened.plannedEndMs,
      points,
      reasons: result?.reasons ?? [],
    }));
    const called = [...fold.calls.values()]
      .filter(({ raised }) => raised.kind === 'point-fault')
      .map(({ raised }): [string, string] => [raised.point ?? '', String(raised.values['rule'])]);
    const lasting = (point: string) => fold.instruments.lasting(point);
    caller.settle(callsOfFaults(lasting, loads, new Map(called)), nowMs);
  }

  /** Calls of these kinds that nobody asks for any more: what they are about is over. */
  #settleGone(kinds: readonly CallKind[], station: string | null, wishes: Wish[], nowMs: number) {
    const { fold, caller } = this.#parts;
    const gone = [...fold.calls.values()].filter(
      ({ raised }) =>
        kinds.includes(raised.kind) &&
        (station === null || raised.station === station) &&
        !wishes.some(({ kind, subject }) => kind === raised.kind && subject === raised.subject),
    );
    const absent = gone.map(({ raised }): Wish => {
      const { kind, subject = '' } = raised;
      return { kind, subject, present: false, plannedMs: null, about: {}, raised };
    });
    caller.settle(absent, nowMs, 'over');
  }

  /** A lot that goes on though it lies in a store, or has come out of one unproven. */
  #restOf(load: JudgedLoad): Wish | null {
    const { opened, kind } = load;
    const known = this.#rest.get(opened.load);
    if (known !== undefined) return known;
    const wish = kind === 'store' || opened.lot === '' ? null : this.#unrested(load);
    this.#rest.set(opened.load, wish);
    return wish;
  }

  #unrested({ opened }: JudgedLoad): Wish | null {
    const { fold, isStore } = this.#parts;
    const { lot, load, station, marks } = opened;
    // A rest that came after it says nothing of when it went on.
    const isBefore = (startMs: number) => startMs < marks.pressureOn.earliestMs;
    const running = [...fold.loads.values()].flatMap(({ opened: other, advice }) =>
      other.lot === lot &&
      other.load !== load &&
      isStore(other.station) &&
      isBefore(other.marks.pressureOn.earliestMs)
        ? [{ load: other.load, verdict: advice?.said.verdict ?? null, decided: false }]
        : [],
    );
    const left = fold.accounts.finishedOf(lot).flatMap(([name, { station: at, ...finished }]) => {
      const { sealed, decisions, startMs } = finished;
      if (!isStore(at) || !isBefore(startMs)) return [];
      const decided = decisions.last !== null && decisions.gone.length === 0;
      return [{ load: name, verdict: sealed.verdict, decided }];
    });
    return callOfRest({ lot, load, station, about: aboutLoad(opened) }, [...running, ...left]);
  }

  #recipeOf(load: string | null): Recipe | null {
    const ref = this.#parts.fold.loads.get(load ?? '')?.opened.recipe;
    return ref ? this.#parts.recipe(`${ref.id}@${String(ref.revision)}`) : null;
  }
}

function laterOf(one: number | null, other: number | null): number | null {
  if (one === null || other === null) return one;
  return Math.max(one, other);
}
