import { callOfReady, type HeatingFacts } from '@setwell/shared-models/call/ready-call';
import type { StationNow } from '@setwell/shared-models/api/collector';
import { Caller } from '../judge/caller.ts';
import { shiftAfterMs } from '../notify/plant-time.ts';
import type { Collected } from '../part.ts';

/** Calls somebody where a station will be ready later than planned: the judge knows no past of heat-ups. */
export class ReadyCalls {
  readonly #collected: Collected;
  readonly #heatUpOf: (station: string) => HeatingFacts['heatUp'];
  readonly #caller: Caller;

  constructor(collected: Collected, heatUpOf: (station: string) => HeatingFacts['heatUp']) {
    this.#collected = collected;
    this.#heatUpOf = heatUpOf;
    this.#caller = new Caller(collected.fold, (proposal) => void collected.append([proposal]));
  }

  look(stations: readonly StationNow[]): void {
    const { plant, clock } = this.#collected;
    const nowMs = clock.nowMs();
    for (const { station, condition, service } of stations) {
      const heatUp = condition === 'heating' ? this.#heatUpOf(station) : null;
      const wish = callOfReady({
        ...{ station, nowMs, condition, heatUp },
        shiftStartMs: heatUp === null ? null : shiftAfterMs(plant, heatUp.startMs),
        up: this.#caller.up('ready-late', station) !== undefined,
      });
      const isReady = condition === 'empty' || condition === 'loaded';
      this.#caller.settle([wish], nowMs, isReady ? 'over' : 'recovered', service !== null);
    }
  }
}
