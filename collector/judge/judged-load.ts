import { shownCoat } from '@setwell/shared-models/record/coat-shown';
import type { Judgement } from '@setwell/shared-models/api/collector';
import type { About } from '@setwell/shared-models/record/entry';
import type { LoadOpened, Say } from '@setwell/shared-models/record/bodies';
import type { Recipe } from '@setwell/shared-models/plant/recipe-schema';
import type { StationKind } from '@setwell/shared-models/plant/plant-schema';
import type {
  CarriedCoat,
  CarriedFace,
  Forecast,
  JudgedPlace,
  Mark,
  Marks,
  ScoredEvent,
  ScoreInput,
  ScoreResult,
  Side,
  Verdict,
} from '@setwell/shared-models/score/shape';
import type { RawReading } from '@setwell/shared-models/score/readings';
import type { JournalReader, Reading, StationEvent } from '../journal/shape.ts';
import { unnamedLot } from '@setwell/shared-models/record/unnamed-lot';
import type { FittedPlant } from './fittings.ts';
import type { LoadAccount } from './ledger-fold.ts';
import { LoadReadings } from './load-readings.ts';
import type { Model } from './model.ts';
import { sayOf } from './say.ts';
import { isSaidOf, mostEvidenceBytes, scoredEvent, withEvent } from './scored-event.ts';
import {
  neededPoints,
  readSpans,
  scoreInput,
  stationOf,
  unjudgedInput,
  type ReadSpan,
  type UnjudgedInput,
} from './score-input.ts';
import type { MarkEvent } from './station-marks.ts';

/** The last moment a date can name. */
const endOfTimeMs = 8.64e15;

/** One load between its start and its seal: its readings, its running sum, what was last said of it. */
export class JudgedLoad {
  readonly opened: LoadOpened;
  readonly recipe: Recipe | null;
  /** Points whose silence hurts the verdict. */
  readonly points: string[];
  /** All whose readings take part in it, and from when to when. */
  spans: ReadonlyMap<string, ReadSpan>;
  /** As events move them; the end's is fixed by `load-ended`. */
  marks: Marks;
  /** Latest end [ms]; null while open. */
  endMs: number | null = null;
  /** When the end came in [ms]: the deadline of sealing counts from it. */
  endReceivedMs: number | null = null;
  /** The model threw on it: unproven, and not asked again before the seal. */
  faulted: boolean;
  judgedMs = -Infinity;
  result: ScoreResult | null = null;
  forecast: Forecast | null = null;
  /** What it leaves to the next closing, as of the last look. */
  carried: CarriedFace[] = [];
  /** What was said of it beside its marks, by time. */
  events: readonly ScoredEvent[];
  readonly #plant: FittedPlant;
  readonly #model: Model;
  readonly #carriedCoats: (input: ScoreInput) => CarriedCoat[];
  #readings: LoadReadings;
  #forecastMs = -Infinity;

  constructor(
    account: LoadAccount,
    recipe: Recipe | null,
    plant: FittedPlant,
    { model, carried }: { model: Model; carried: (input: ScoreInput) => CarriedCoat[] },
  ) {
    const { opened, ended, endedAtMs, faulted, marks } = account;
    this.opened = opened;
    this.recipe = recipe;
    this.marks = marks ?? ended?.marks ?? opened.marks;
    this.endMs = account.endMs ?? ended?.endMs ?? null;
    this.endReceivedMs = endedAtMs;
    this.faulted = faulted;
    this.#plant = plant;
    this.#model = model;
    this.#carriedCoats = carried;
    this.events = ended?.events ?? opened.events ?? [];
    this.points = neededPoints(plant, opened);
    this.spans = readSpans(plant, opened, recipe);
    this.#readings = new LoadReadings(this.spans);
  }

  /** Fills in what the journal holds already: a load may open back in time, or after a restart. */
  readBack(journal: JournalReader): void {
    for (const [point, { fromMs, toMs }] of this.spans) {
      const { readings, conflictTimes } = journal.readings(
        point,
        fromMs,
        Math.min(toMs, endOfTimeMs),
      );
      for (const reading of readings) this.#readings.add(reading);
      for (const tMs of conflictTimes) this.#readings.conflict(point, tMs);
    }
  }

  /** Another point stands in for one of its own from some time on: its readings take part too. */
  refit(journal: JournalReader): void {
    const spans = readSpans(this.#plant, this.opened, this.recipe);
    if ([...spans.keys()].every((point) => this.spans.has(point))) return;
    this.spans = spans;
    this.#readings = new LoadReadings(spans);
    this.readBack(journal);
  }

  take(reading: Reading): void {
    this.#readings.add(reading);
  }

  /** A mark that means this load; its end stays what the load-end says. */
  mark({ event, earliestMs, latestMs }: MarkEvent): void {
    const mark: Mark = { earliestMs, latestMs };
    switch (event) {
      case 'contact':
        this.marks = { ...this.marks, contact: mark };
        break;
      case 'pressure-on':
        this.marks = { ...this.marks, pressureOn: mark };
        break;
      case 'release-start':
        this.marks = { ...this.marks, releaseStart: mark };
        break;
      case 'open':
        this.marks = { ...this.marks, open: mark };
        break;
    }
  }

  /**
   * What is said of it, its lot or its parts until it is sealed: its requirements' evidence.
   *
   * @returns false where it is of this load, and there is no room for more
   */
  note(said: StationEvent): boolean {
    const { opened } = this;
    const here = said.load === null && said.lot === null && said.parts.length === 0;
    const isMeant = isSaidOf(said, opened) || (here && said.station === opened.station);
    const scored = isMeant ? scoredEvent(said) : null;
    if (scored === null) return true;
    const events = withEvent(this.events, scored, mostEvidenceBytes);
    if (events !== null) this.events = events;
    return events !== null;
  }

  /** Its readings up to now, by point and time. */
  rows(): RawReading[] {
    return this.#readings.all();
  }

  get state(): 'open' | 'ended' {
    return this.endMs === null ? 'open' : 'ended';
  }

  /** Whether a number of the point's device is missing between the load's start and a time [ms]. */
  hasHole(journal: JournalReader, point: string, toMs: number): boolean {
    const fromMs = this.opened.marks.pressureOn.earliestMs;
    return journal.sequenceHoles(point, fromMs, toMs).length > 0;
  }

  /** Newest scored reading of each needed point [ms]. */
  newest(): Map<string, number | null> {
    return new Map(
      this.points.map((point) => [point, this.#readings.of(point).at(-1)?.tMs ?? null]),
    );
  }

  /** @throws whatever stands against carrying its coats */
  input(asOfMs: number): ScoreInput {
    const input = this.withoutCoats(asOfMs);
    const coats = this.#carriedCoats(input);
    return coats.length === 0 ? input : { ...input, coats };
  }

  withoutCoats(asOfMs: number): ScoreInput {
    const { recipe, opened } = this;
    if (!recipe) throw new Error(`load ${opened.load} has no recipe to be judged by`);
    const input = scoreInput(this.#plant, opened, recipe, this.marks, this.endMs, asOfMs);
    input.sensors = this.#numbered(input.sensors);
    return this.events.length === 0 ? input : { ...input, events: [...this.events] };
  }

  /** Points that report on change, with the reports that may be missing. */
  #numbered(sensors: ScoreInput['sensors']): ScoreInput['sensors'] {
    return Object.fromEntries(
      Object.entries(sensors).map(([point, sensor]) => {
        const { onChange, changes, readsFrom } = sensor;
        // Of two instruments, or of another point's, the numbers do not go on.
        if (onChange === undefined || changes !== undefined || readsFrom !== undefined)
          return [point, sensor];
        const holes = this.#readings.holes(point, this.endMs ?? Infinity);
        return [point, { ...sensor, onChange: { ...onChange, holes } }];
      }),
    );
  }

  /** What its record holds where no recipe was named. */
  unjudged(asOfMs: number): UnjudgedInput {
    return unjudgedInput(this.#plant, this.opened, this.marks, this.endMs, asOfMs);
  }

  get kind(): StationKind {
    return stationOf(this.#plant, this.opened.station).kind;
  }

  /** @throws whatever the model throws; the caller records it and goes on with the next load */
  judge(nowMs: number, forecastEveryMs: number): void {
    const { result, forecast, carried } = this.#model.judge(
      this.input(nowMs),
      this.#readings.all(),
    );
    this.result = result;
    this.carried = carried();
    if (this.state === 'ended' || !this.#hasHeard()) {
      this.forecast = null;
    } else if (nowMs - this.#forecastMs >= forecastEveryMs) {
      this.forecast = forecast();
      this.#forecastMs = nowMs;
    }
  }

  /** Before the first readings nobody is asked anything: they are on their way. */
  #say(judged: boolean, blindSinceMs: number | null): Say {
    if (judged && blindSinceMs === null && !this.#hasHeard()) return 'wait';
    const { verdict, side } = this.verdict();
    return sayOf(verdict, side, this.forecast, judged);
  }

  /** Whether each needed point has spoken near the load: before that nothing can be said of later. */
  #hasHeard(): boolean {
    const { earliestMs } = this.opened.marks.pressureOn;
    return [...this.newest().values()].every((t) => t !== null && t >= earliestMs - 60_000);
  }

  /** Unproven where nothing was or could be judged. */
  verdict(sealed: ScoreResult | null = null): { verdict: Verdict; side: Side | null } {
    const result = sealed ?? (this.faulted ? null : this.result);
    if (!result) return { verdict: 'unproven', side: 'short' };
    return { verdict: result.verdict, side: result.side };
  }

  /** What is said of it now, for those who look on. */
  judgement(nowMs: number, blindSinceMs: number | null, sealed: ScoreResult | null): Judgement {
    const { opened, recipe, forecast, endMs } = this;
    const result = sealed ?? this.result;
    const { verdict, side } = this.verdict(sealed);
    const running = this.state === 'open';
    const judged = recipe !== null && !this.faulted;
    return {
      type: 'judgement',
      load: opened.load,
      station: opened.station,
      opening: opened.opening,
      zones: opened.zones,
      lot: opened.lot,
      parts: opened.parts,
      recipe: opened.recipe && recipe ? { ...opened.recipe, title: recipe.title } : null,
      state: sealed ? 'sealed' : this.state,
      startMs: opened.marks.pressureOn.earliestMs,
      endMs,
      plannedEndMs: opened.plannedEndMs,
      asOfMs: endMs ?? nowMs,
      verdict,
      side,
      measure: result?.measure ?? null,
      unit: result?.unit ?? null,
      window: result?.window ?? null,
      places: result ? worstFirst(result) : [],
      ...(result?.coats === undefined ? {} : { coats: result.coats.map(shownCoat) }),
      requirements: result?.requirements ?? [],
      repress: result?.repress ?? null,
      deviations: result?.deviations ?? [],
      budget: result?.budget ?? [],
      forecast,
      say: running ? this.#say(judged, blindSinceMs) : 'none',
      quality: result?.quality ?? {
        readings: 0,
        doubtful: 0,
        conflicts: 0,
        duplicates: 0,
        gaps: [],
        silent: [],
      },
      reasons: result?.reasons ?? [],
      released: this.marks.releaseStart !== null || this.marks.open !== null,
      blindSinceMs,
      readUpToMs: this.#readUpToMs(),
    };
  }

  #readUpToMs(): number | null {
    const newest = [...this.newest().values()];
    const known = newest.filter((t) => t !== null);
    return known.length === 0 || known.length < newest.length ? null : Math.min(...known);
  }
}

/** Least margin first; margins within 1e-6 of the least stay in plant order, from the top. */
function worstFirst({ places, window }: ScoreResult): JudgedPlace[] {
  const { least, most } = window;
  const step = 1e-6 * least || 1e-9;
  const rank = ({ low, high }: JudgedPlace) =>
    Math.round((most === null ? low - least : Math.min(low - least, most - high)) / step);
  return [...places].sort((a, b) => rank(a) - rank(b));
}

export function aboutLoad({ load, station, lot, marks }: LoadOpened): About {
  const lots = lot === unnamedLot ? {} : { lots: [lot] };
  return { station, load, ...lots, startMs: marks.pressureOn.earliestMs };
}
