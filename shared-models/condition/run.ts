import { median } from 'simple-statistics';
import { features } from './feature.ts';
import type { FeatureRow } from './feature.ts';

/** Charges farther apart belong to two runs: a night lies between them, or a change of tools [ms]. */
const pauseMs = 4 * 3_600_000;

/**
 * One row a run: the median of charges that followed one another without a pause.
 *
 * Charges of one day share its room, its supply and its oil; charted one by one they would call for days
 * that are only different. Rows of heat-ups and shut-downs are a run each.
 *
 * @param rows of one feature and point, in order of time
 */
export function runsOf(rows: readonly FeatureRow[]): FeatureRow[] {
  const [first] = rows;
  if (first === undefined || features[first.feature].per !== 'charge') return [...rows];
  const runs: FeatureRow[][] = [];
  for (const row of rows) {
    const run = runs.at(-1);
    const last = run?.at(-1);
    if (run === undefined || last === undefined || row.atMs - last.atMs > pauseMs) runs.push([row]);
    else run.push(row);
  }
  return runs.map((run) => ({ ...first, atMs: run[0]?.atMs ?? 0, value: valueOf(run) }));
}

/** What comes seldom would be lost in a median: its mean counts. */
function valueOf(run: readonly FeatureRow[]): number {
  const values = run.map(({ value }) => value);
  if (run[0]?.feature !== 'open-circuits') return median(values);
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}
