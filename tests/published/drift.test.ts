import { baselineOf } from '@setwell/shared-models/condition/baseline';
import { changePoint } from '@setwell/shared-models/condition/change-point';
import { cusum } from '@setwell/shared-models/condition/cusum';
import { driftOf, usualSettings } from '@setwell/shared-models/condition/drift';
import { ewma } from '@setwell/shared-models/condition/ewma';
import { mannKendall } from '@setwell/shared-models/condition/mann-kendall';
import { brokenRules, runRules } from '@setwell/shared-models/condition/run-rules';
import { MOST_TREND_ROWS, theilSen } from '@setwell/shared-models/condition/theil-sen';
import { describe, expect, test } from 'vitest';
import { answerOf, csvFile, refusalOf, wordsOf } from '../fixtures/command.ts';
import { seededNormal } from '../fixtures/seeded-normal.ts';

const standard = { target: 0, sigma: 1 };
const csvOf = (name: string, values: readonly number[]) =>
  csvFile(`${name}\n${values.join('\n')}\n`);

// Source: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.4. Its list begins with the target.
const handbook = {
  values: [
    52, 47, 53, 49.3, 50.1, 47, 51, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6,
    52.4, 53.6, 52.1,
  ],
  baseline: { target: 50, sigma: 2.0539 },
  ewma: [
    50.6, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36, 49.52, 50.05,
    49.38, 49.92, 50.73, 51.23, 51.94, 51.99,
  ],
};

// Source: D. C. Montgomery, G. C. Runger, Applied Statistics and Probability for Engineers, table 16-8:
// target 99, σ 2, reference value K = 1, decision interval H = 10; the process is in control.
const concentration = {
  values: [
    102, 94.8, 98.3, 98.4, 102, 98.5, 99, 97.7, 100, 98.1, 101.3, 98.7, 101.1, 98.4, 97, 96.7,
    100.3, 101.4, 97.2, 101,
  ],
  high: [2, 0, 0, 0, 2, 0.5, 0, 0, 0, 0, 1.3, 0, 1.1, 0, 0, 0, 0.3, 1.7, 0, 1],
  low: [0, 3.2, 2.9, 2.5, 0, 0, 0, 0.3, 0, 0, 0, 0, 0, 0, 1, 2.3, 0, 0, 0.8, 0],
};

// Source: yearly flow of the Nile at Aswan, 1871-1970, 1e8 m³; G. W. Cobb, Biometrika 65 (1978) 243-251,
// puts the change after 1898.
const nile = [
  1120, 1160, 963, 1210, 1160, 1160, 813, 1230, 1370, 1140, 995, 935, 1110, 994, 1020, 960, 1180,
  799, 958, 1140, 1100, 1210, 1150, 1250, 1260, 1220, 1030, 1100, 774, 840, 874, 694, 940, 833, 701,
  916, 692, 1020, 1050, 969, 831, 726, 456, 824, 702, 1120, 1100, 832, 764, 821, 768, 845, 864, 862,
  698, 845, 744, 796, 1040, 759, 781, 865, 845, 944, 984, 897, 822, 1010, 771, 676, 649, 846, 812,
  742, 801, 1040, 860, 874, 848, 890, 744, 749, 838, 1050, 918, 986, 797, 923, 975, 815, 1020, 906,
  901, 1170, 912, 746, 919, 718, 714, 740,
];

// 20 + 0.04·i + 1.5·N(0, 1), rounded to 0.01, and round(12 + 2·N(0, 1)) with its many ties.
const rising = [
  25.62, 20.56, 21.28, 19.14, 20.47, 20.33, 21.91, 19.08, 21.65, 20.21, 19.46, 20.73, 19.93, 19.62,
  20.59, 18.44, 19.58, 19.85, 22.28, 22.45, 20.84, 20.42, 18.89, 21.72, 19.34, 21.6, 20.32, 18.18,
  20.21, 21.25, 21.91, 20.71, 23.6, 23.06, 20.66, 22.44, 19.62, 21.07, 20.85, 22.92, 22.93, 19.43,
  20.98, 20.62, 22.22, 20.78, 22.65, 24.64, 23.94, 24.89, 20.92, 21.74, 21.59, 25.27, 23.78, 19.01,
  21.69, 20.85, 21.98, 21.87,
];
const level = [
  4, 6, 13, 14, 11, 13, 13, 11, 15, 13, 14, 12, 13, 12, 10, 14, 10, 12, 12, 11, 15, 12, 14, 15, 15,
  14, 16, 10, 15, 14, 12, 11, 10, 13, 13, 11, 11, 11, 16, 12,
];
const rowNumbers = (values: readonly number[]) => values.map((_, row) => row);

describe('charts', () => {
  test('EWMA and its limits are the handbook’s, and nothing is out', () => {
    const chart = ewma(handbook.values, handbook.baseline, 0.3);
    handbook.ewma.forEach((expected, i) =>
      // The handbook rounds each value to 0.01 and goes on with the rounded one.
      expect(Math.abs(chart.values[i]! - expected)).toBeLessThan(0.011),
    );
    expect(chart.limits.high).toBeCloseTo(52.5884, 4);
    expect(chart.limits.low).toBeCloseTo(47.4115, 3);
    expect(driftOf(handbook.values, handbook.baseline).signals).toEqual([]);
  });

  test('cumulative sums are the textbook’s, and nothing is out', () => {
    const chart = cusum(concentration.values, { target: 99, sigma: 2 }, 0.5, 5);
    concentration.high.forEach((sum, i) => expect(chart.high[i]).toBeCloseTo(sum, 9));
    concentration.low.forEach((sum, i) => expect(chart.low[i]).toBeCloseTo(sum, 9));
    expect(chart.limit).toBe(10);
  });

  // Source: NIST/SEMATECH e-Handbook 6.3.2 (the four rules).
  test.each([
    { rule: 1, values: [0, 0, 3.01], row: 2 },
    { rule: 2, values: [0, 2.1, 0, 2.1], row: 3 },
    { rule: 3, values: [1.1, 1.1, 0, 1.1, 1.1], row: 4 },
    { rule: 4, values: [0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1], row: 7 },
  ])(
    'run rule $rule is broken at row $row, on either side, and told once',
    ({ rule, values, row }) => {
      const turned = values.map((value) => -value);
      expect(brokenRules(values, standard)).toEqual([{ row, rule, side: 'high' }]);
      expect(brokenRules(turned, standard)).toEqual([{ row, rule, side: 'low' }]);
    },
  );

  test.each([
    ['exactly 3 σ', [0, 3]],
    ['2 of 3 beyond 2 σ, one on each side', [2.1, -2.1, 0]],
    ['3 of 5 beyond 1 σ', [1.1, 0, 1.1, 0, 1.1]],
    ['7 on a side, then the target', [0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0, 0.1]],
    ['2 beyond 2 σ with two between', [2.1, 0, 0, 2.1]],
  ])('no rule is broken by %s', (_, values) => {
    expect(brokenRules(values, standard)).toEqual([]);
  });

  // Source: NIST/SEMATECH e-Handbook 6.3.2: a false alarm about every 92 points with all rules, every 370
  // with the first alone. Fixed seed, so that the count is the same on every run; 5 and 10 % are three
  // standard errors of a mean over so many runs.
  test.each([
    { name: 'all four rules', rules: runRules, published: 92, runs: 3000, within: 0.05 },
    {
      name: 'the first rule alone',
      rules: runRules.slice(0, 1),
      published: 370,
      runs: 1500,
      within: 0.1,
    },
  ])(
    '$name: false alarms on steady data come every $published cycles',
    ({ rules, published, runs, within }) => {
      const mean = meanRunLength(runs, (values) => brokenRules(values, standard, rules)[0]?.row);
      expect(Math.abs(mean / published - 1)).toBeLessThan(within);
    },
  );

  // Source: 465 for two sides at k 0.5, h 5 (D. C. Montgomery, Introduction to Statistical Quality Control;
  // value from memory).
  test('cumulative sums: a false alarm every 465 cycles', () => {
    const mean = meanRunLength(1500, (values) => {
      const { high, low, limit } = cusum(values, standard, 0.5, 5);
      const row = high.findIndex((each, i) => each > limit || low[i]! > limit);
      return row < 0 ? undefined : row;
    });
    expect(Math.abs(mean / 465 - 1)).toBeLessThan(0.1);
  });

  test('a lasting shift of 1 σ is found within 11 cycles by the sums on average', () => {
    // Source: average run length 10.4 at a shift of 1 σ, k 0.5, h 5 (Montgomery as above; from memory).
    const mean = meanRunLength(
      1000,
      (values) => {
        const { high, limit } = cusum(values, standard, 0.5, 5);
        const row = high.findIndex((each) => each > limit);
        return row < 0 ? undefined : row;
      },
      1,
    );
    expect(mean).toBeGreaterThan(9.9);
    expect(mean).toBeLessThan(10.9);
  });
});

describe('trends', () => {
  // Source: P. K. Sen, J. Am. Stat. Assoc. 63 (1968) 1379-1389, as in SciPy's own test of theilslopes.
  test('Sen’s example: slope 4, interval 3.71 to 4.38 at α 0.07', () => {
    const x = [1, 2, 3, 4, 10, 12, 18];
    const y = [9, 15, 19, 20, 45, 55, 78];
    const line = theilSen(x, y, 1.8119106729525973)!;
    expect(line.slope).toBe(4);
    expect(line.intercept).toBe(4);
    expect(line.low).toBeCloseTo(3.71, 2);
    expect(line.high).toBeCloseTo(4.375, 3);
  });

  // Source: computed from Mann's definition for the same seven values.
  test('Mann-Kendall of the same values: S 21, variance 44.3333, Z 3.0038', () => {
    const test_ = mannKendall([9, 15, 19, 20, 45, 55, 78]);
    expect(test_.s).toBe(21);
    expect(test_.variance).toBeCloseTo(44.3333, 4);
    expect(test_.z).toBeCloseTo(3.0038, 4);
    // Source: SciPy 1.10.1, 2·norm.sf(Z).
    expect(test_.p).toBeCloseTo(0.0026666817936140935, 8);
  });

  // Source: SciPy 1.10.1: stats.theilslopes(y) at its 95 %; S counted and the p of its normal score by numpy
  // and stats.norm. Typed in.
  test.each([
    {
      name: 'a rising feature',
      values: rising,
      line: [0.03780713795470142, 19.76968943033631, 0.013421052631578988, 0.056862745098039257],
      s: 486,
      z: 3.0935467887163197,
      p: 0.0019777936368719777,
    },
    {
      name: 'a level feature with ties',
      values: level,
      line: [0, 12.5, -0.04, 0.07692307692307693],
      s: 49,
      z: 0.5665121918534463,
      p: 0.5710456474003294,
    },
  ])('$name: slope, intercept, interval and test are SciPy’s', ({ values, line, s, z, p }) => {
    const { slope, intercept, low, high } = theilSen(rowNumbers(values), values)!;
    [slope, intercept, low, high].forEach((each, i) => expect(each).toBeCloseTo(line[i]!, 12));
    const trend = mannKendall(values);
    expect(trend.s).toBe(s);
    expect(trend.z).toBeCloseTo(z, 12);
    expect(Math.abs(trend.p / p - 1)).toBeLessThan(1e-6);
  });

  test('the Nile’s flow: slope by SciPy, change after 1898 by Cobb', () => {
    const { slope, low, high } = theilSen(rowNumbers(nile), nile)!;
    // Source: SciPy 1.10.1, stats.theilslopes.
    expect([slope, low, high]).toEqual([-2.6, -3.627906976744186, -1.4285714285714286]);
    const change = changePoint(nile)!;
    expect(1871 + change.row).toBe(1899);
    // Source: Pettitt's statistic 1617 counted pair by pair with numpy 1.24.
    expect(change.p).toBeCloseTo(3.5910221769362927e-7, 15);
    expect(change).toMatchObject({ medianBefore: 1130, medianAfter: 842.5 });
  });

  test('steady data show a change or a trend (p < 0.05) no oftener than they should', () => {
    const next = seededNormal(3);
    let changes = 0;
    let trends = 0;
    for (let trial = 0; trial < 400; trial++) {
      const values = Array.from({ length: 60 }, next);
      if (changePoint(values)!.p < 0.05) changes++;
      if (mannKendall(values).p < 0.05) trends++;
    }
    // 20 of 400 are expected; 35 is more than three standard deviations above.
    expect(changes).toBeLessThanOrEqual(35);
    expect(trends).toBeLessThanOrEqual(35);
    expect(trends).toBeGreaterThan(5);
  });

  test('nothing to say is said as nothing', () => {
    expect(theilSen([1, 1, 1], [1, 2, 3])).toBeNull();
    expect(theilSen([], [])).toBeNull();
    expect(changePoint([1, 2, 3])).toBeNull();
    expect(changePoint(new Array<number>(20).fill(7))).toBeNull();
    expect(mannKendall([5, 5, 5])).toEqual({ s: 0, variance: 0, z: 0, p: 1 });
    expect(driftOf([1, 2], standard).trend).toBeNull();
    expect(() => theilSen([1, 2], [1])).toThrow(RangeError);
  });

  test('a year of one press is drawn whole, its trend through the newest cycles', () => {
    const next = seededNormal(9);
    const values = Array.from({ length: MOST_TREND_ROWS + 500 }, (_, i) =>
      i < 500 ? 1000 : 0.01 * i + next(),
    );
    const drift = driftOf(values, standard, usualSettings);
    expect(drift.ewma.values).toHaveLength(values.length);
    expect(drift.trend!.slope).toBeCloseTo(0.01, 4);
  });
});

describe('setwell drift', () => {
  test('answers the handbook’s series with the shape of the contract', async () => {
    const file = csvOf('minutes', handbook.values);
    const words = ['drift', file, '--column', 'minutes', '--target', '50', '--sigma', '2.0539'];
    const { document, exit } = await answerOf(words);
    expect(exit).toBe(0);
    const answer = document as unknown as {
      ewma: number[];
      limits: { low: number; high: number };
      cusum: { high: number[]; low: number[] };
      signals: unknown[];
      trend: Record<string, number>;
    };
    expect(answer.ewma).toHaveLength(20);
    expect(answer.ewma[0]).toBeCloseTo(50.6, 12);
    expect(answer.ewma[19]).toBeCloseTo(51.99, 1);
    expect(answer.limits.high).toBeCloseTo(52.5884, 4);
    expect(answer.cusum.high).toHaveLength(20);
    expect(answer.cusum.low).toHaveLength(20);
    expect(answer.signals).toEqual([]);
    expect(Object.keys(answer.trend).sort()).toEqual(['high', 'intercept', 'low', 'p', 'slope']);
    expect(await wordsOf(words)).toContain('no chart left its limits');
  });

  test('takes target and σ from the first 20 rows, and says from which row a shift shows', async () => {
    const next = seededNormal(21);
    const values = Array.from({ length: 60 }, (_, i) => 8 + 0.2 * next() + (i >= 40 ? 0.6 : 0));
    const { document } = await answerOf(['drift', csvOf('minutes', values), '--column', 'minutes']);
    const { target, sigma } = baselineOf(values);
    expect(document).toMatchObject({ target, sigma });
    const signals = document['signals'] as { row: number; chart: string; side: string }[];
    expect(signals.length).toBeGreaterThan(0);
    expect(signals.every(({ row, side }) => row >= 40 && row < 50 && side === 'high')).toBe(true);
    expect(new Set(signals.map(({ chart }) => chart))).toEqual(new Set(['ewma', 'cusum']));
    expect(document['changePoint']).toMatchObject({ row: 40 });
  });

  test('a slope per another column', async () => {
    const rows = [9, 15, 19, 20, 45, 55, 78].map(
      (y, i) => `${[1, 2, 3, 4, 10, 12, 18][i]},${y},note`,
    );
    const file = csvFile(`day,peak,remark\n${rows.join('\n')}\n`);
    const words = [
      'drift',
      file,
      '--column',
      'peak',
      '--x',
      'day',
      '--target',
      '9',
      '--sigma',
      '1',
    ];
    expect((await answerOf(words)).document['trend']).toMatchObject({ slope: 4, intercept: 4 });
  });

  test('λ, k and h are taken', async () => {
    const words = [
      'drift',
      csvOf('x', [1, 2, 3]),
      '--column',
      'x',
      '--target',
      '0',
      '--sigma',
      '1',
    ];
    const options = ['--lambda', '1', '--k', '1', '--h', '1.5'];
    const { document } = await answerOf([...words, ...options]);
    expect(document).toMatchObject({
      ewma: [1, 2, 3],
      limits: { low: -3, high: 3 },
      cusum: { high: [0, 1, 3], low: [0, 0, 0] },
      signals: [{ row: 2, chart: 'cusum', side: 'high', value: 3, limit: 1.5 }],
    });
  });

  const twenty = Array.from({ length: 20 }, (_, i) => i % 7);
  test.each([
    ['a column that is not there', csvOf('a', twenty), ['--column', 'b'], 'missing-column', 'b'],
    ['too few rows for a baseline', csvOf('a', [1, 2, 3]), ['--column', 'a'], 'too-few-rows', 'a'],
    [
      'target alone on few rows',
      csvOf('a', [1, 2]),
      ['--column', 'a', '--target', '1'],
      'too-few-rows',
      'a',
    ],
    ['no scatter', csvOf('a', new Array<number>(20).fill(4)), ['--column', 'a'], 'no-scatter', 'a'],
    ['a word', csvFile('a\n1\nx\n'), ['--column', 'a'], 'no-number', 'a'],
    ['an empty cell', csvFile('a,b\n1,2\n,3\n'), ['--column', 'a'], 'empty-cell', 'a'],
    ['a number beyond any feature', csvFile('a\n1e308\n1\n'), ['--column', 'a'], 'too-great', 'a'],
    ['λ of 0', csvOf('a', twenty), ['--column', 'a', '--lambda', '0'], 'out-of-range', '--lambda'],
    [
      'λ above 1',
      csvOf('a', twenty),
      ['--column', 'a', '--lambda', '1.1'],
      'out-of-range',
      '--lambda',
    ],
    ['σ of 0', csvOf('a', twenty), ['--column', 'a', '--sigma', '0'], 'out-of-range', '--sigma'],
    [
      'h that is no number',
      csvOf('a', twenty),
      ['--column', 'a', '--h', 'five'],
      'no-number',
      '--h',
    ],
    ['x that falls', csvFile('a,b\n1,2\n2,1\n'), ['--column', 'a', '--x', 'b'], 'descending', 'b'],
    ['x as column', csvOf('a', twenty), ['--column', 'a', '--x', 'a'], 'same-column', '--x'],
    ['an empty file', csvFile(''), ['--column', 'a'], 'empty-file', undefined],
  ])('refuses %s', async (_, file, words, code, field) => {
    const refusal = await refusalOf(['drift', file, ...words]);
    expect(refusal).toMatchObject({ exit: 2, code, ...(field === undefined ? {} : { field }) });
    expect(refusal.found).not.toBe('');
    expect(refusal.expected).not.toBe('');
  });

  test('refuses a file that is not there', async () => {
    const refusal = await refusalOf(['drift', '/nowhere/cycles.csv', '--column', 'a']);
    expect(refusal).toMatchObject({ exit: 2, code: 'no-such-file', file: '/nowhere/cycles.csv' });
  });
});

/** Cycles until the first alarm, the alarm's own counted, as a mean over seeded runs. */
function meanRunLength(
  runs: number,
  alarmRow: (values: number[]) => number | undefined,
  shift = 0,
): number {
  const next = seededNormal(20260302);
  let sum = 0;
  for (let run = 0; run < runs; run++) {
    const values: number[] = [];
    let row: number | undefined;
    while (row === undefined) {
      for (let i = 0; i < 256; i++) values.push(shift + next());
      row = alarmRow(values);
    }
    sum += row + 1;
  }
  return sum / runs;
}
