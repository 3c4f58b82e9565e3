import type { StationLimits } from '@setwell/shared-models/condition/station-limits';
import type { SurveyedPlaces } from '@setwell/shared-models/condition/surveyed-place';
import { fittingsOf, type Fitting } from '@setwell/shared-models/metrology/fitting';
import type { InstrumentActs } from '@setwell/shared-models/metrology/instrument-acts';
import type { Plant } from '@setwell/shared-models/plant/plant';
import type { LedgerFold } from './ledger-fold.ts';

/** A plant with what was fitted where and which limits count, by its file and by what people did since. */
export type FittedPlant = Plant & { fittings: Fittings };

/** What was fitted where through time; worked out once a change. */
export class Fittings {
  readonly acts: InstrumentActs;
  readonly limits: StationLimits;
  readonly places: SurveyedPlaces;
  readonly #fitted = new WeakMap<Plant, FittedPlant>();
  readonly #known = new WeakMap<Plant, { version: number; fittings: Map<string, Fitting[]> }>();

  constructor({
    instruments,
    limits,
    places,
  }: Pick<LedgerFold, 'instruments' | 'limits' | 'places'>) {
    this.acts = instruments;
    this.limits = limits;
    this.places = places;
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
