import { atClock, dayMs } from './calendar.ts';
import { scatter } from './chance.ts';
import type { PlateNature } from './plate.ts';

/** The six weeks before the demo's clock begins: thirty working days, from a Monday to a Friday. */
export const pastDays = { first: -39, last: 0 };

/** What was done in them, by whom and when; the slow decline of upper left goes on through all of them. */
export const heaterChanged = {
  station: 'press-2',
  points: ['p2-seat-l'],
  plannedMs: atClock(-14, 10.5),
  doneMs: atClock(-11, 4.5),
};

const declines = { point: 'p1-1l', kPerMonth: 1.2 };
/** One of its rods was gone until it was changed. */
const weak = { points: heaterChanged.points, untilMs: heaterChanged.doneMs, share: 0.82 };

/** Mains and oil are not the same on two days. */
const heaterShare = 0.012;
const levelK = 0.06;

/** What a plate was on a day of the past, from what it is today. */
export function pastPlate(
  nature: PlateNature,
  point: string,
  day: number,
  seed: number,
): PlateNature {
  const ms = atClock(day, 5);
  const agoDays = (atClock(3, 9) - ms) / dayMs;
  const better = point === declines.point ? (declines.kPerMonth * agoDays) / 30 : 0;
  const share = weak.points.includes(point) && ms < weak.untilMs ? weak.share : 1;
  return {
    ...nature,
    offsetK: nature.offsetK + better + scatter(levelK, seed, 'level', point, day),
    heaterWPerM2:
      nature.heaterWPerM2 * share * (1 + scatter(heaterShare, seed, 'heat', point, day)),
  };
}
