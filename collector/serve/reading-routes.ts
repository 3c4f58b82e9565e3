import { readingSeries } from './reading-series.ts';
import { unknown } from './refused.ts';
import type { Route } from './route.ts';
import type { Served } from './served.ts';
import { json } from './server.ts';

/** A year at a point; longer history is the plant's time series. */
const longestMs = 400 * 86_400_000;
/** Beyond any screen's pixels. */
const mostSteps = 2000;
/** The last moment a date can name [ms]. */
const lastMs = 8.64e15;

/** What came in: readings, points, what was set aside. */
export function readingRoutes(served: Served): Route[] {
  const { points: known, journal, live, nowMs } = served;
  return [
    {
      method: 'GET',
      path: '/readings',
      answer: async (asked) => {
        const point = asked.name('point');
        if (!known.has(point)) throw unknown('point', point, 'a point of the plant');
        const fromMs = asked.integer('from', { from: 0, to: lastMs });
        const toMs = asked.integer('to', { from: fromMs, to: fromMs + longestMs });
        const points = asked.integer('points', { from: 1, to: mostSteps, otherwise: 600 });
        return json(await readingSeries(served, { point, fromMs, toMs, points }));
      },
    },
    {
      method: 'GET',
      path: '/rejects',
      answer: (asked) =>
        json(journal.rejects(asked.integer('limit', { from: 1, to: 1000, otherwise: 100 }))),
    },
    {
      method: 'GET',
      path: '/points',
      answer: (asked) => {
        if (!asked.has('beside')) return json(live.points(nowMs()));
        const beside = asked.name('beside');
        if (!known.has(beside)) throw unknown('beside', beside, 'a point of the plant');
        return json(live.points(nowMs(), beside));
      },
    },
  ];
}
