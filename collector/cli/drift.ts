import { BASELINE_ROWS, baselineOf } from '@setwell/shared-models/condition/baseline';
import type { Baseline } from '@setwell/shared-models/condition/baseline';
import { driftOf, usualSettings } from '@setwell/shared-models/condition/drift';
import type { Drift } from '@setwell/shared-models/condition/drift';
import { MOST_TREND_ROWS } from '@setwell/shared-models/condition/theil-sen';
import type { Command } from 'commander';
import { readNumberTable } from '../number-table.ts';
import type { NumberTable } from '../number-table.ts';
import { CommandProblem } from '../problem.ts';
import { answered } from './answer.ts';
import type { Answer } from './answer.ts';
import { numberOption } from './number-option.ts';

interface DriftOptions {
  column: string;
  x?: string;
  target?: number;
  sigma?: number;
  lambda: number;
  k: number;
  h: number;
}

const what = 'a CSV with one row per cycle';

/** No feature of a heat-up comes near; beyond it sums and squares would leave the doubles. */
const mostValue = 1e12;
const bounds = { least: -mostValue, most: mostValue };

export function registerDrift(program: Command): void {
  const { lambda, k, h } = usualSettings;
  program
    .command('drift')
    .description('charts and trend of one feature, one row per cycle: is it drifting?')
    .argument('<file>', 'CSV with one row per cycle')
    .requiredOption('--column <name>', 'the feature, such as minutes_to_window')
    .option('--x <name>', 'column the trend’s slope is per, rising; else the row, from 0')
    .option(
      '--target <x>',
      `what is normal; else the mean of the first ${BASELINE_ROWS} rows`,
      numberOption('--target', 'a number in the column’s unit', bounds),
    )
    .option(
      '--sigma <s>',
      `scatter from cycle to cycle; else that of the first ${BASELINE_ROWS} rows`,
      numberOption('--sigma', 'a number in the column’s unit', { above: 0, most: mostValue }),
    )
    .option(
      '--lambda <l>',
      'weight of the newest cycle in the moving average',
      numberOption('--lambda', 'a weight', { above: 0, most: 1 }),
      lambda,
    )
    .option(
      '--k <k>',
      'slack of the cumulative sums in σ',
      numberOption('--k', 'a number of σ', { least: 0, most: 100 }),
      k,
    )
    .option(
      '--h <h>',
      'decision interval of the cumulative sums in σ',
      numberOption('--h', 'a number of σ', { above: 0, most: 1000 }),
      h,
    )
    .action(answered(answerDrift));
}

function answerDrift(file: string, options: DriftOptions): Answer {
  const { column, x } = options;
  if (x === column) {
    const expected = 'another column than --column';
    throw new CommandProblem({ code: 'same-column', field: '--x', found: x, expected });
  }
  const table = readNumberTable(file, {
    what,
    columns: [
      { name: column, ...bounds },
      ...(x === undefined ? [] : [{ name: x, order: 'rising' as const, ...bounds }]),
    ],
    other: (name) => ({ name, kind: 'text' }),
    leastRows: 1,
  });
  const values = table.full(column);
  const baseline = baselineOfOptions(table, values, options);
  const drift = driftOf(values, baseline, options, x === undefined ? undefined : table.full(x));
  return {
    document: {
      ewma: drift.ewma.values,
      limits: drift.ewma.limits,
      cusum: { high: drift.cusum.high, low: drift.cusum.low },
      cusumLimit: drift.cusum.limit,
      signals: drift.signals,
      brokenRules: drift.brokenRules,
      trend: drift.trend,
      changePoint: drift.changePoint,
      target: baseline.target,
      sigma: baseline.sigma,
    },
    text: textOf(drift, baseline, values.length, x ?? 'row'),
  };
}

function baselineOfOptions(
  table: NumberTable,
  values: readonly number[],
  { column, target, sigma }: DriftOptions,
): Baseline {
  if (target !== undefined && sigma !== undefined) return { target, sigma };
  const missing = target === undefined ? '--target' : '--sigma';
  if (values.length < BASELINE_ROWS) {
    throw new CommandProblem({
      code: 'too-few-rows',
      file: table.file,
      line: table.lines.at(-1) ?? null,
      field: column,
      found: `${values.length} rows and no ${missing}`,
      expected: `at least ${BASELINE_ROWS} rows, or --target and --sigma`,
    });
  }
  const first = baselineOf(values);
  if (sigma === undefined && !(first.sigma > 0)) {
    throw new CommandProblem({
      code: 'no-scatter',
      file: table.file,
      line: table.lines[0] ?? null,
      field: column,
      found: `${values[0]} in each of the first ${BASELINE_ROWS} rows`,
      expected: 'values that scatter, or --sigma',
    });
  }
  return { target: target ?? first.target, sigma: sigma ?? first.sigma };
}

function textOf(drift: Drift, baseline: Baseline, rows: number, per: string): string {
  const { trend, changePoint, ewma, signals, brokenRules } = drift;
  const lines = [
    `${rows} rows, normal is ${digits(baseline.target)} with σ ${digits(baseline.sigma)}`,
    `moving average ends at ${digits(ewma.values.at(-1) ?? NaN)}, limits ${digits(ewma.limits.low)} and ${digits(ewma.limits.high)}`,
    signals.length === 0 ? 'no chart left its limits' : 'charts that left their limits:',
    ...signals.map(({ row, chart, side, value, limit }) => {
      const name = chart === 'ewma' ? 'moving average' : 'cumulative sum';
      return `  row ${row}: ${name} on the ${side} side, ${digits(value)} against ${digits(limit)}`;
    }),
  ];
  if (brokenRules.length > 0) {
    const list = brokenRules.map(({ rule, row, side }) => `${rule} at row ${row} (${side})`);
    lines.push(`run rules broken: ${list.join(', ')}`);
  }
  if (trend !== null) {
    const interval = `${digits(trend.low)} to ${digits(trend.high)}`;
    lines.push(
      `trend ${digits(trend.slope)} per ${per}, 95 % interval ${interval}, ${Math.min(rows, MOST_TREND_ROWS)} cycles`,
    );
  }
  if (changePoint !== null && changePoint.p < 0.05) {
    const levels = `${digits(changePoint.medianBefore)} before, ${digits(changePoint.medianAfter)} from there`;
    lines.push(`level changed most likely at row ${changePoint.row}: ${levels}`);
  }
  return lines.join('\n');
}

function digits(value: number): string {
  return String(Number(value.toPrecision(5)));
}
