import { median } from 'simple-statistics';
import { features } from './feature.ts';
import type { FeatureName, FeatureRow } from './feature.ts';

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
  const runs: FeatureRow[] = [];
  let { atMs } = first;
  let lastMs = atMs;
  let values: number[] = [];
  for (const row of rows) {
    if (row.atMs - lastMs > pauseMs) {
      runs.push({ ...first, atMs, value: valueOf(first.feature, values) });
      ({ atMs } = row);
      values = [];
    }
    values.push(row.value);
    lastMs = row.atMs;
  }
  runs.push({ ...first, atMs, value: valueOf(first.feature, values) });
  return runs;
}

/** What comes seldom would be lost in a median: its mean counts. */
function valueOf(feature: FeatureName, values: number[]): number {
  if (feature !== 'open-circuits') return median(values);
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}
