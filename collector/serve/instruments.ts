import { Fittings } from '../judge/fittings.ts';
import type { Collected, Part } from '../part.ts';
import { PointAccount } from './point-account.ts';
import { unknown } from './refused.ts';
import type { Route } from './route.ts';
import { json } from './server.ts';

/** Answers what is fitted where, what vouches for it, and what its last reading is worth. */
export class Instruments implements Part {
  readonly #collected: Collected;

  constructor(collected: Collected) {
    this.#collected = collected;
  }

  routes(): Route[] {
    const { plant, fold, journal, clock } = this.#collected;
    const account = new PointAccount(plant, new Fittings(fold), journal);
    return [
      {
        method: 'GET',
        path: '/instruments',
        answer: () => json({ nowMs: clock.nowMs(), points: account.all(clock.nowMs()) }),
      },
      {
        method: 'GET',
        path: '/instruments/{point}',
        answer: (asked) => {
          const point = asked.name('point');
          const detail = account.one(point, clock.nowMs());
          if (detail === null) throw unknown('point', point, 'a point of the plant');
          return json(detail);
        },
      },
    ];
  }
}
