import { keptPlace } from '@setwell/shared-models/condition/surveyed-place';
import type { Plant } from '@setwell/shared-models/plant/plant';
import type { Recipe } from '@setwell/shared-models/plant/recipe-schema';
import type { JournalPlace, LoadOpened } from '@setwell/shared-models/record/bodies';
import type { CarriedFace, ScoreInput, Weights } from '@setwell/shared-models/score/shape';
import type { JournalReader, Reading, StationEvent } from '../journal/shape.ts';
import type { Opening } from './admission.ts';
import type { CarriedCoats } from './carried-coats.ts';
import type { Documents } from './documents.ts';
import type { Fittings } from './fittings.ts';
import { JudgedLoad } from './judged-load.ts';
import { isAfter, type LoadAccount } from './ledger-fold.ts';
import type { Model } from './model.ts';
import { noiseBefore } from './noise-before.ts';
import { loadOpened } from './opened.ts';
import { SaidBefore } from './said-before.ts';
import { scoreInput } from './score-input.ts';
import { isMark, meansLoad, StationMarks } from './station-marks.ts';

const dayMs = 86_400_000;

/** Weights of as many recipes, places and days; they are worked out again after that. */
const mostWeights = 2000;

/** The loads between their start and their seal, each with its readings and marks. */
export class LoadsInWork {
  readonly #journal: JournalReader;
  readonly #documents: Documents;
  readonly #model: Model;
  readonly #fittings: Fittings;
  readonly #coats: CarriedCoats;
  readonly #loads = new Map<string, JudgedLoad>();
  /** Whose readings a point's are; null after a change, until the next reading. */
  #byPoint: Map<string, JudgedLoad[]> | null = null;
  readonly #marks = new StationMarks();
  readonly #said = new SaidBefore();
  readonly #weights = new Map<string, Weights[] | null>();

  constructor(parts: {
    journal: JournalReader;
    documents: Documents;
    model: Model;
    fittings: Fittings;
    coats: CarriedCoats;
  }) {
    this.#journal = parts.journal;
    this.#documents = parts.documents;
    this.#model = parts.model;
    this.#fittings = parts.fittings;
    this.#coats = parts.coats;
  }

  [Symbol.iterator](): Iterator<JudgedLoad> {
    return this.#loads.values();
  }

  get(name: string): JudgedLoad | undefined {
    return this.#loads.get(name);
  }

  delete(name: string): void {
    this.#loads.delete(name);
    this.#byPoint = null;
  }

  /** Another point stands in for one: its readings take part from then on. */
  refit(): void {
    for (const load of this.#loads.values()) load.refit(this.#journal);
    this.#byPoint = null;
  }

  take(reading: Reading): void {
    this.#byPoint ??= this.#loadsByPoint();
    for (const load of this.#byPoint.get(reading.point) ?? []) load.take(reading);
  }

  #loadsByPoint(): Map<string, JudgedLoad[]> {
    const byPoint = new Map<string, JudgedLoad[]>();
    for (const load of this.#loads.values()) {
      for (const point of load.spans.keys()) {
        const own = byPoint.get(point) ?? [];
        byPoint.set(point, own);
        own.push(load);
      }
    }
    return byPoint;
  }

  /** What was said before a restart of loads that have not begun; what loads have had of it is theirs. */
  recall(untilSeq: number): void {
    this.#said.readBack(this.#journal, untilSeq);
  }

  /** A load of history has begun. */
  heard({ events }: LoadOpened): void {
    this.#said.hadBy(events ?? []);
  }

  /**
   * @param place where the event came in: after a restart those of before a load are read again
   * @returns the loads that it is evidence of and that have no room for more
   */
  mark(event: StationEvent, place: JournalPlace): JudgedLoad[] {
    const full: JudgedLoad[] = [];
    const note = (load: JudgedLoad) => {
      if (isAfter(place, load.opened.event) && !load.note(event)) full.push(load);
    };
    if (!isMark(event)) {
      this.#said.add(event);
      for (const load of this.#loads.values()) note(load);
      return full;
    }
    this.#marks.take(event);
    for (const load of this.#loads.values()) {
      if (!meansLoad(event, load, this.#loads.values())) continue;
      load.mark(event);
      note(load);
    }
    return full;
  }

  /** The entry of a load's beginning, and what the model threw on it, if it did. */
  opening(
    opening: Opening,
    event: StationEvent,
    place: JournalPlace,
    {
      plant,
      plantSha256,
      carriedTo,
    }: { plant: Plant; plantSha256: string; carriedTo: (opened: LoadOpened) => CarriedFace[] },
  ): { opened: LoadOpened; fault: unknown } {
    const { recipe } = opening;
    const read = recipe ? this.#documents.recipe(recipe.ref.sha256) : null;
    const opened = loadOpened(opening, event, place, {
      plannedMin: read?.plannedMin ?? null,
      plantSha256,
      model: this.#model,
    });
    const carried = carriedTo(opened);
    if (carried.length > 0) opened.carried = carried;
    const startMs = opened.marks.pressureOn.earliestMs;
    const surveyed = this.#fittings.places.at(opened.station, startMs);
    if (surveyed !== null) opened.place = keptPlace(surveyed);
    const said = this.#said.of(opened);
    if (said.length > 0) opened.events = said;
    this.#said.hadBy(said);
    return this.#weighed(opened, read, plant);
  }

  /** What a load rests on after somebody has named another recipe for it. */
  weighedAgain(opened: LoadOpened): { opened: LoadOpened; fault: unknown } {
    const read = opened.recipe ? this.#documents.recipe(opened.recipe.sha256) : null;
    const plannedMin = read?.plannedMin ?? null;
    const startMs = opened.marks.pressureOn.earliestMs;
    const plannedEndMs = plannedMin === null ? null : startMs + plannedMin * 60_000;
    const plant = this.#documents.plant(opened.plantSha256);
    return this.#weighed({ ...opened, plannedEndMs, weights: null }, read, plant);
  }

  #weighed(
    opened: LoadOpened,
    recipe: Recipe | null,
    plant: Plant,
  ): { opened: LoadOpened; fault: unknown } {
    if (!recipe) return { opened, fault: null };
    const startMs = opened.marks.pressureOn.earliestMs;
    const key = [
      this.#fittings.acts.version,
      opened.recipe?.sha256,
      opened.station,
      opened.opening,
      ...opened.zones,
      opened.plantSha256,
      Math.floor(startMs / dayMs),
      opened.place?.placeK,
    ].join(' ');
    try {
      const asOfMs = opened.plannedEndMs ?? startMs;
      const noisy = { noiseK: noiseBefore(plant, opened, this.#journal), ...opened };
      const planned = scoreInput(
        this.#fittings.fit(plant),
        noisy,
        recipe,
        opened.marks,
        null,
        asOfMs,
      );
      const known = this.#weights.get(key);
      const weights = known === undefined ? this.#model.weigh(planned) : known;
      if (this.#weights.size >= mostWeights) this.#weights.clear();
      this.#weights.set(key, weights);
      return { opened: { ...noisy, weights }, fault: null };
    } catch (fault) {
      return { opened, fault };
    }
  }

  /** A load as it stands: its readings from the journal, and the marks that came before it was known. */
  enter(account: LoadAccount): JudgedLoad {
    const judged = this.judged(account);
    for (const mark of this.#marks.before(judged, this.#loads.values())) judged.mark(mark);
    this.#loads.set(account.opened.load, judged);
    this.#byPoint = null;
    return judged;
  }

  /** The same without taking it in: a sealed load, looked at again. */
  judged(account: LoadAccount): JudgedLoad {
    const { opened } = account;
    const recipe = opened.recipe ? this.#documents.recipe(opened.recipe.sha256) : null;
    const plant = this.#documents.plant(opened.plantSha256);
    const fitted = this.#fittings.fit(plant);
    const judged = new JudgedLoad(account, recipe, fitted, {
      model: this.#model,
      carried: (input) => this.#coats.of(opened, input, (load) => this.#unsealedInput(load)),
    });
    judged.readBack(this.#journal);
    return judged;
  }

  /** What is known of an earlier bake that is not sealed yet: its recipe and its end. */
  #unsealedInput(load: string): ScoreInput | null {
    const judged = this.#loads.get(load);
    if (!judged?.recipe) return null;
    return judged.withoutCoats(judged.endMs ?? judged.opened.marks.pressureOn.earliestMs);
  }
}
