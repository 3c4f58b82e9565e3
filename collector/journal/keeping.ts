import type { LoadOpened, ReadingsDropped } from '@setwell/shared-models/record/bodies';
import { START_READ_MS } from '@setwell/shared-models/score/start';
import { Fittings } from '../judge/fittings.ts';
import { neededPoints, readSpans } from '../judge/score-input.ts';
import type { Collected, Part } from '../part.ts';
import type { Dropping } from './dropping.ts';
import { spaceLimits } from './free-space.ts';
import { surelyMs } from './sure-time.ts';

/** How often the disk is looked at [ms of wall time]. */
const lookEveryMs = 60_000;
/** Between two steps of a dropping, so that intake has its turn [ms of wall time]. */
const stepEveryMs = 5;
/** Dropping ends so far below where it begins, or it would begin anew every minute. */
const clearance = 0.02;
/** Late readings and people may change a sealed record for three days; one more for its sealing. */
const sealedNeedsMs = 4 * 86_400_000;
/** How long readings are kept where the plant's file says nothing: a year and the audit after it [d]. */
const usually = { zoneReadingsD: 400, otherReadingsD: 100 };

const hourMs = 3_600_000;
const dayMs = 86_400_000;

/**
 * Keeps the journal within its time and its disk: what is too old goes by class of point, and above
 * 92 % of the disk the oldest goes that no unsealed load needs. The ledger says it first.
 */
export class Keeping implements Part {
  readonly #collected: Collected;
  #cancel: (() => void) | null = null;
  #nextByAgeMs = -Infinity;

  constructor(collected: Collected) {
    this.#collected = collected;
  }

  start(): void {
    this.#again(lookEveryMs);
  }

  stop(): void {
    this.#cancel?.();
    this.#cancel = null;
  }

  #again(wallMs: number): void {
    const { clock, clockSetting } = this.#collected;
    this.#cancel = clock.after(wallMs * clockSetting.rate, () => this.#look());
  }

  #look(): void {
    const { store, clock } = this.#collected;
    if (store.used() >= spaceLimits.drop) this.#forSpace();
    else if (clock.monotonicMs() >= this.#nextByAgeMs) this.#byAge();
    else this.#again(lookEveryMs);
  }

  /** The oldest tenth, until there is room again or nothing more may go. */
  #forSpace(): void {
    const { store, log } = this.#collected;
    const lastMs = hourBefore(surelyMs(this.#collected) - hourMs);
    const neededFromMs = this.#neededFromMs();
    const oldestMs = store.oldestMs({ untilMs: lastMs, neededFromMs });
    if (oldestMs === null) {
      log('journal: the disk is nearly full, and unsealed loads need every reading there is');
      this.#again(lookEveryMs);
      return;
    }
    const untilMs = Math.min(lastMs, hourBefore(oldestMs + (lastMs - oldestMs) / 10) + hourMs);
    this.#drop('space', { untilMs, neededFromMs }, () => {
      if (store.used() >= spaceLimits.drop - clearance) this.#forSpace();
      else this.#again(lookEveryMs);
    });
  }

  #byAge(): void {
    const { clock, plant, store } = this.#collected;
    this.#nextByAgeMs = clock.monotonicMs() + dayMs;
    const { zoneReadingsD, otherReadingsD } = plant.keep ?? usually;
    const inZone = new Set(
      plant.stations.flatMap(({ zones }) =>
        zones.flatMap(({ upper, lower, air }) => [upper, lower, air]),
      ),
    );
    const names = [...plant.sensors.keys()];
    const classes = [
      { days: zoneReadingsD, points: new Set(names.filter((name) => inZone.has(name))) },
      { days: otherReadingsD, points: new Set(names.filter((name) => !inZone.has(name))) },
    ];
    // What the long history has not got yet waits for it, as long as there is room.
    const arrivedMs = clock.nowMs() - (this.#collected.uplink()?.lag.seconds ?? 0) * 1000;
    const neededFromMs = this.#neededFromMs();
    const due = classes
      .map(({ days, points }): Dropping => {
        const untilMs = hourBefore(Math.min(surelyMs(this.#collected) - days * dayMs, arrivedMs));
        return { untilMs, neededFromMs, points };
      })
      .filter((dropping) => store.oldestMs(dropping) !== null);
    const next = () => {
      const dropping = due.shift();
      if (dropping) this.#drop('age', dropping, next);
      else this.#again(lookEveryMs);
    };
    next();
  }

  /** Said before it is done: a crash in between leaves readings that were said to be gone, not the other way. */
  #drop(because: ReadingsDropped['because'], dropping: Dropping, done: () => void): void {
    const { store, append, uplink, log, clock, clockSetting } = this.#collected;
    const steps = store.drop(dropping, (found) => {
      const unsent = uplink()?.lag.batches ?? null;
      const body: ReadingsDropped = { because, untilMs: dropping.untilMs, ...found, unsent };
      append([{ kind: 'readings-dropped', by: 'collector', about: {}, body }]);
    });
    const step = () => {
      try {
        if (steps.next().done) {
          done();
          return;
        }
      } catch (error) {
        // A full disk may refuse even this; intake has its own answer to it.
        log(`journal: dropping readings failed: ${String(error)}`);
        this.#again(lookEveryMs);
        return;
      }
      this.#cancel = clock.after(stepEveryMs * clockSetting.rate, step);
    };
    step();
  }

  #neededFromMs(): Dropping['neededFromMs'] {
    const needed = this.#needed();
    return (point) => needed.get(point) ?? null;
  }

  /** From when on readings of a point are needed by a load that is not sealed, or may still be amended. */
  #needed(): Map<string, number> {
    const { fold, plant, clock } = this.#collected;
    const needed = new Map<string, number>();
    const need = (point: string, fromMs: number) => {
      needed.set(point, Math.min(needed.get(point) ?? Infinity, fromMs));
    };
    for (const { opened } of fold.loads.values()) {
      for (const [point, fromMs] of this.#spansOf(opened)) need(point, fromMs);
    }
    for (const { finished } of fold.accounts.recent.values()) {
      const { station, startMs, endMs } = finished;
      if (endMs < clock.nowMs() - sealedNeedsMs) continue;
      for (const sensor of plant.sensors.values()) {
        if (sensor.station === station) need(sensor.id, startMs - START_READ_MS);
      }
    }
    return needed;
  }

  /** As the load was opened, with the plant and the recipe of then. */
  #spansOf(opened: LoadOpened): [string, number][] {
    const { documents, fold } = this.#collected;
    const plant = new Fittings(fold).fit(documents.plant(opened.plantSha256));
    if (opened.recipe === null) {
      const fromMs = opened.marks.pressureOn.earliestMs - START_READ_MS;
      return neededPoints(plant, opened).map((point) => [point, fromMs]);
    }
    const spans = readSpans(plant, opened, documents.recipe(opened.recipe.sha256));
    return [...spans].map(([point, { fromMs }]) => [point, fromMs]);
  }
}

function hourBefore(ms: number): number {
  return ms - (ms % hourMs);
}
