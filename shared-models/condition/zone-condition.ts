import { quantile, sampleStandardDeviation, mean } from 'simple-statistics';
import type { Baseline } from './baseline.ts';
import { cusum } from './cusum.ts';
import { ewma } from './ewma.ts';
import { features } from './feature.ts';
import type { FeatureName, FeatureRow } from './feature.ts';
import { likeStart } from './like-start.ts';
import { mannKendall } from './mann-kendall.ts';
import { runsOf } from './run.ts';
import { theilSen } from './theil-sen.ts';

/**
 * When a chart calls. Limits are wider than the usual ones, and the baseline is longer, because its own
 * level and scatter are estimates: with 20 cycles and the usual limits a steady zone would call several
 * times in 200 cycles. Chosen by simulation: see the table of detection in the tests.
 */
const lambda = 0.3;
const ewmaSigmas = 4.2;
const slackSigmas = 0.75;
const sumSigmas = 9;

/** Runs a baseline is taken from. */
const baselineRuns = 20;
/**
 * The scatter of 20 runs may be smaller than the zone's by chance, and then every chart calls too often:
 * its upper limit counts, √(19/χ²₁₉(0.1)) = √(19/11.65).
 *
 * @source quantile of χ²: NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.4
 */
const sigmaGuard = 1.277;
/** From so many on the usual range is shown, and from so many on a weakening could be. */
export const leastUsualRows = 10;
export const leastJudgedRows = 20;

/** A trend is drawn through so many cycles at most: their pairs are worked in half a millisecond. */
const mostTrendRows = 130;
const weekMs = 7 * 86_400_000;

/**
 * Below it a scatter is that of reading now and then, and another one as soon as a point is read more
 * often; in each feature's unit. Common practice, no source.
 */
export const leastSigma = {
  min: 0.15,
  K: 0.15,
  '°C': 0.1,
  'K/min': 0.05,
  '%': 0.5,
  A: 0.2,
  'bar/min': 0.05,
  count: 0.5,
};

export type ZoneState =
  /** Fewer cycles than a usual range takes. */
  | 'too-few'
  | 'as-it-was'
  /** Worse than it was, beyond what scatter explains. */
  | 'weakens'
  | 'better'
  /** Another level, of a feature that has no better and worse. */
  | 'changed';

/** How fast a feature moves, and how sure that is: a slope with its interval, never a probability. */
export interface WeeklyTrend {
  perWeek: number;
  /** Ends of the 95 % interval. */
  lowPerWeek: number;
  highPerWeek: number;
  cycles: number;
  /** How often steady data would rise or fall as steadily. */
  p: number;
}

/** One feature of one face against its own past. */
export interface FeatureCondition {
  feature: FeatureName;
  point: string;
  state: ZoneState;
  cycles: number;
  /** Since when its baseline counts: the first cycle, or the first after work was done [ms]. */
  baselineSinceMs: number;
  baselineCycles: number;
  /** 8 of 10 cycles of the baseline lie here; null below {@link leastUsualRows}. */
  usual: { low: number; high: number } | null;
  /** The start the values are told for [°C]; null where starts play no part. */
  startC: number | null;
  newest: { atMs: number; value: number } | null;
  /** When it began to change, as the sums tell it, and when a chart called [ms]. */
  sinceMs: number | null;
  calledMs: number | null;
  /** From where it began to change, else over all cycles of the baseline and since. */
  trend: WeeklyTrend | null;
}

/**
 * What one feature of one face says.
 *
 * @param rows of one feature and point, in order of time
 * @param restartsMs when work was done on it: what was before counts no more
 */
export function featureCondition(
  rows: readonly FeatureRow[],
  restartsMs: readonly number[],
): FeatureCondition | null {
  const restartMs = restartsMs.reduce((latest, ms) => Math.max(latest, ms), -Infinity);
  const own = runsOf(rows.filter(({ atMs }) => atMs >= restartMs));
  const first = own[0] ?? rows.at(-1);
  if (first === undefined) return null;
  const { feature, point } = first;
  const kind = features[feature];
  const baselineCycles = Math.min(own.length, baselineRuns);
  const { values, startC } = likeStart(own, baselineCycles);
  const past = values.slice(0, baselineCycles);
  const usual =
    past.length < leastUsualRows ? null : { low: quantile(past, 0.1), high: quantile(past, 0.9) };
  const last = own.at(-1);
  const condition: FeatureCondition = {
    feature,
    point,
    state: usual === null ? 'too-few' : 'as-it-was',
    cycles: own.length,
    baselineSinceMs: own[0]?.atMs ?? restartMs,
    baselineCycles,
    usual,
    startC,
    newest: last === undefined ? null : { atMs: last.atMs, value: values.at(-1) ?? last.value },
    sinceMs: null,
    calledMs: null,
    trend: null,
  };
  if (own.length < leastJudgedRows) return condition;
  const baseline = baselineOfPast(past, feature);
  const call = standingCall(values, baseline);
  if (call !== null) {
    const worse = kind.worse === null ? null : (kind.worse === 'more') === (call.side === 'high');
    condition.state = worse === null ? 'changed' : worse ? 'weakens' : 'better';
    condition.sinceMs = own[call.began]?.atMs ?? null;
    condition.calledMs = own[call.row]?.atMs ?? null;
  }
  condition.trend = weeklyTrend(own, values, call?.began ?? 0);
  return condition;
}

function baselineOfPast(past: readonly number[], feature: FeatureName): Baseline {
  const floor = leastSigma[features[feature].unit];
  return {
    target: mean([...past]),
    sigma: Math.max(floor, sigmaGuard * sampleStandardDeviation([...past])),
  };
}

/** Where a chart left its limits and has not come back. */
export interface Call {
  side: 'high' | 'low';
  /** Row that left them. */
  row: number;
  /** Row at which the sum that tells it began to grow. */
  began: number;
}

/** A call, and the row by which it had come back: one past the last where it has not. */
export interface Excursion extends Call {
  until: number;
}

/** Every excursion of the charts, oldest first; a chart calls once until it has come back. */
function callsOf(values: readonly number[], baseline: Baseline): Excursion[] {
  const { target, sigma } = baseline;
  const averages = ewma(values, baseline, lambda).values;
  const sums = cusum(values, baseline, slackSigmas, sumSigmas);
  const half = ewmaSigmas * sigma * Math.sqrt(lambda / (2 - lambda));
  const calls: Excursion[] = [];
  for (const side of ['high', 'low'] as const) {
    const sign = side === 'high' ? 1 : -1;
    let open: Excursion | null = null;
    let zero = 0;
    let atZero = true;
    values.forEach((_, row) => {
      const sum = sums[side][row] ?? 0;
      if (sum > 0 && atZero) zero = row;
      atZero = sum === 0;
      const average = sign * ((averages[row] ?? target) - target);
      if (open === null && (average > half || sum > sums.limit)) {
        open = { side, row, began: Math.min(zero, row), until: values.length };
        calls.push(open);
      } else if (open !== null && average < half / 2) {
        // Back by half: the sum forgets slowly what the average knows at once.
        open.until = row;
        open = null;
      }
    });
  }
  return calls.sort((a, b) => a.row - b.row);
}

/**
 * Every call that the charts of one feature would have made, oldest first; none below
 * {@link leastJudgedRows} runs.
 *
 * @param rows a run each, of one feature and point since its baseline began, in order of time
 */
export function callsOfFeature(rows: readonly FeatureRow[]): Excursion[] {
  const first = rows[0];
  if (first === undefined || rows.length < leastJudgedRows) return [];
  const { values } = likeStart(rows, baselineRuns);
  return callsOf(values, baselineOfPast(values.slice(0, baselineRuns), first.feature));
}

function standingCall(values: readonly number[], baseline: Baseline): Call | null {
  const standing = callsOf(values, baseline).filter(({ until }) => until === values.length);
  return standing.at(-1) ?? null;
}

function weeklyTrend(
  rows: readonly FeatureRow[],
  values: readonly number[],
  from: number,
): WeeklyTrend | null {
  const taken = thinned(rows.map(({ atMs }, i) => ({ atMs, value: values[i] ?? 0 })).slice(from));
  const firstMs = taken[0]?.atMs ?? 0;
  if (taken.length < 3) return null;
  const y = taken.map(({ value }) => value);
  const line = theilSen(
    taken.map(({ atMs }) => (atMs - firstMs) / weekMs),
    y,
  );
  if (line === null) return null;
  return {
    perWeek: line.slope,
    lowPerWeek: line.low,
    highPerWeek: line.high,
    cycles: rows.length - from,
    p: mannKendall(y).p,
  };
}

/** At most so many, evenly taken: a slope of weeks needs no more. */
function thinned<T>(list: readonly T[]): T[] {
  const step = Math.ceil(list.length / mostTrendRows);
  return step <= 1 ? [...list] : list.filter((_, i) => (list.length - 1 - i) % step === 0);
}
