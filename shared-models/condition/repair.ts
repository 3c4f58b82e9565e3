import { mean, sampleStandardDeviation } from 'simple-statistics';
import { features } from './feature.ts';
import type { FeatureName, FeatureRow } from './feature.ts';
import { likeStart } from './like-start.ts';
import { runsOf } from './run.ts';
import { leastSigma } from './zone-condition.ts';

/** What a feature was before the work and is after it. */
export interface RepairEvidence {
  feature: FeatureName;
  point: string;
  before: { value: number; cycles: number };
  after: { value: number; cycles: number };
  /** After less before, with the ends of its 95 % interval. */
  difference: number;
  low: number;
  high: number;
  /** `better` and `worse` only where the whole interval says so; `wait` while there is too little after it. */
  says: 'better' | 'same' | 'worse' | 'wait';
}

/** Cycles compared: the newest before the work, and the first after it. */
const mostBefore = 10;
const mostAfter = 10;
const leastAfter = 3;
/** A change of less is one of how often points are read, however sure it is. */
const noticedSigmas = 2;

/**
 * Whether work has helped: heat-ups (or days of charges) after it against those before it.
 *
 * @param rows of one feature and point, over all times, in order of time
 * @source Welch's two-sample interval with the normal quantile widened for few cycles by Student's t at
 *   the smaller sample: B. L. Welch, Biometrika 34 (1947) 28-35
 */
export function repairEvidence(rows: readonly FeatureRow[], doneMs: number): RepairEvidence | null {
  const before = runsOf(rows.filter(({ atMs }) => atMs < doneMs)).slice(-mostBefore);
  const after = runsOf(rows.filter(({ atMs }) => atMs >= doneMs)).slice(0, mostAfter);
  const first = before[0];
  if (first === undefined || before.length < leastAfter) return null;
  const { feature, point } = first;
  const { values } = likeStart([...before, ...after], before.length);
  const was = values.slice(0, before.length);
  const is = values.slice(before.length);
  const beforeMean = mean(was);
  const afterMean = is.length === 0 ? NaN : mean(is);
  const evidence = {
    feature,
    point,
    before: { value: beforeMean, cycles: was.length },
    after: { value: is.length === 0 ? beforeMean : afterMean, cycles: is.length },
  };
  if (is.length < leastAfter) {
    return { ...evidence, difference: 0, low: -Infinity, high: Infinity, says: 'wait' };
  }
  const variance = (list: number[]) => sampleStandardDeviation(list) ** 2 / list.length;
  const half =
    studentT(Math.min(was.length, is.length) - 1) * Math.sqrt(variance(was) + variance(is));
  const difference = afterMean - beforeMean;
  const [low, high] = [difference - half, difference + half];
  const { worse, unit } = features[feature];
  const sign = worse === 'more' ? 1 : -1;
  const moved =
    worse !== null && low * high > 0 && Math.abs(difference) > noticedSigmas * leastSigma[unit];
  const says = !moved ? 'same' : difference * sign < 0 ? 'better' : 'worse';
  return { ...evidence, difference, low, high, says };
}

/** Two-sided 95 % points of Student's t, from 1 degree of freedom. @source NIST/SEMATECH e-Handbook, 1.3.6.7.2 */
const tOf95 = [12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262];

function studentT(degrees: number): number {
  return tOf95[Math.max(1, Math.min(tOf95.length, degrees)) - 1] ?? 1.96;
}
