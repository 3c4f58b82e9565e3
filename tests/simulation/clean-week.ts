import { demoPlant, morning, watchWorks } from './faulty-works.ts';

const sunday = 2;

/**
 * A week of the demo works with nothing wrong but the silences it makes itself: 51 points, so that ten of
 * these weeks are more than 500 points and a week. None of the rules may call.
 */
export function watchCleanWeek(seed: number): void {
  const startMs = morning(sunday + 7 * seed, 0);
  const { told } = watchWorks(demoPlant(), { seed, startMs, hours: 168, pressEveryS: 5 });
  const alarms = told.filter(({ change }) => change.change === 'found' && change.rule !== 'silent');
  if (alarms.length > 0) throw new Error(JSON.stringify(alarms.slice(0, 5)));
}
