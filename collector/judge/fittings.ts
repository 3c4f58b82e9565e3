import { fittingsOf, type Fitting } from '@setwell/shared-models/metrology/fitting';
import type { InstrumentActs } from '@setwell/shared-models/metrology/instrument-acts';
import type { Plant } from '@setwell/shared-models/plant/plant';

/** A plant with what was fitted where, by its file and by what people did since. */
export type FittedPlant = Plant & { fittings: Fittings };

/** What was fitted where through time; worked out once a change. */
export class Fittings {
  readonly acts: InstrumentActs;
  readonly #fitted = new WeakMap<Plant, FittedPlant>();
  readonly #known = new WeakMap<Plant, { version: number; fittings: Map<string, Fitting[]> }>();

  constructor(acts: InstrumentActs) {
    this.acts = acts;
  }

  fit(plant: Plant): FittedPlant {
    const known = this.#fitted.get(plant);
    if (known !== undefined) return known;
    const fitted = { ...plant, fittings: this };
    this.#fitted.set(plant, fitted);
    return fitted;
  }

  of(plant: Plant): ReadonlyMap<string, Fitting[]> {
    const { version } = this.acts;
    const known = this.#known.get(plant);
    if (known?.version === version) return known.fittings;
    const fittings = fittingsOf(plant, this.acts);
    this.#known.set(plant, { version, fittings });
    return fittings;
  }
}
