import type { Baseline } from './baseline.ts';
import { changePoint } from './change-point.ts';
import type { ChangePoint } from './change-point.ts';
import { cusum } from './cusum.ts';
import type { CusumChart } from './cusum.ts';
import { ewma } from './ewma.ts';
import type { EwmaChart } from './ewma.ts';
import { mannKendall } from './mann-kendall.ts';
import { brokenRules } from './run-rules.ts';
import type { BrokenRule } from './run-rules.ts';
import { MOST_TREND_ROWS, theilSen } from './theil-sen.ts';
import type { Trend } from './theil-sen.ts';

export interface DriftSettings {
  /** Weight of the newest cycle in the moving average, 0 < λ ≤ 1. */
  lambda: number;
  /** Slack of the cumulative sums, in σ. */
  k: number;
  /** Their decision interval, in σ. */
  h: number;
}

/** @source λ 0.3: NIST/SEMATECH e-Handbook 6.3.2.4; k 0.5, h 4 or 5: the same, 6.3.2.3 */
export const usualSettings: DriftSettings = { lambda: 0.3, k: 0.5, h: 5 };

/** A chart that left its limits, from the row where it did. */
export interface DriftSignal {
  /** From 0. */
  row: number;
  chart: 'ewma' | 'cusum';
  side: 'high' | 'low';
  value: number;
  limit: number;
}

export interface Drift {
  ewma: EwmaChart;
  cusum: CusumChart;
  /** Each excursion once, at the cycle that left the limits. */
  signals: DriftSignal[];
  brokenRules: BrokenRule[];
  /** Line through the newest MOST_TREND_ROWS cycles with the sureness of it; null below 3 cycles. */
  trend: (Trend & { p: number }) | null;
  changePoint: ChangePoint | null;
}

/**
 * All that charts and trends can say of one feature.
 *
 * @param values one a cycle, in order of time
 * @param x what the trend's slope is per: by default the cycle's number, from 0
 */
export function driftOf(
  values: readonly number[],
  baseline: Baseline,
  settings: DriftSettings = usualSettings,
  x: readonly number[] = values.map((_, row) => row),
): Drift {
  const averages = ewma(values, baseline, settings.lambda);
  const sums = cusum(values, baseline, settings.k, settings.h);
  const { limits } = averages;
  const recent = values.slice(-MOST_TREND_ROWS);
  const line = recent.length < 3 ? null : theilSen(x.slice(-MOST_TREND_ROWS), recent);
  return {
    ewma: averages,
    cusum: sums,
    signals: [
      ...excursions('ewma', 'high', averages.values, limits.high),
      ...excursions('ewma', 'low', averages.values, limits.low),
      ...excursions('cusum', 'high', sums.high, sums.limit),
      ...excursions('cusum', 'low', sums.low, sums.limit),
    ].sort((a, b) => a.row - b.row),
    brokenRules: brokenRules(values, baseline),
    trend: line === null ? null : { ...line, p: mannKendall(recent).p },
    changePoint: changePoint(values),
  };
}

function excursions(
  chart: DriftSignal['chart'],
  side: DriftSignal['side'],
  values: readonly number[],
  limit: number,
): DriftSignal[] {
  // The lower cumulative sum counts upwards too.
  const downwards = chart === 'ewma' && side === 'low';
  const out = values.map((value) => (downwards ? value < limit : value > limit));
  return values.flatMap((value, row) =>
    out[row] && !out[row - 1] ? [{ row, chart, side, value, limit }] : [],
  );
}
