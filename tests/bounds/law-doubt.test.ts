import { createLaw } from '@setwell/shared-models/cure/create-law';
import { fitConversion } from '@setwell/shared-models/cure/fit/conversion';
import { fitSchedule } from '@setwell/shared-models/cure/fit/schedule';
import { lawContradictions } from '@setwell/shared-models/cure/law-contradictions';
import { lawDoubt } from '@setwell/shared-models/cure/law-doubt';
import type { LawSpec } from '@setwell/shared-models/cure/law-spec';
import { canonicalReadings } from '@setwell/shared-models/score/readings';
import { score } from '@setwell/shared-models/score/score';
import { describe, expect, it } from 'vitest';
import { platenC, pressLoad, readingsOf, shellRecipe } from '../fixtures/press-load.ts';
import { seededNormal } from '../fixtures/seeded-normal.ts';

const rows = [
  { tempC: 110, minutes: 24 },
  { tempC: 120, minutes: 13 },
  { tempC: 130, minutes: 8 },
  { tempC: 140, minutes: 4 },
];

/** Standard error of the line's mean at x0: s·√(1/n + (x0 − x̄)²/Sxx). Draper & Smith, Applied Regression Analysis, 1.4 (from memory). */
function lineError(at: number): number {
  const x = rows.map(({ tempC }) => 1 / 8.314462618 / (tempC + 273.15));
  const y = rows.map(({ minutes }) => Math.log(minutes));
  const mean = (values: number[]) => values.reduce((sum, value) => sum + value, 0) / values.length;
  const [xMean, yMean] = [mean(x), mean(y)];
  const sxx = x.reduce((sum, each) => sum + (each - xMean) ** 2, 0);
  const slope = x.reduce((sum, each, i) => sum + (each - xMean) * (y[i]! - yMean), 0) / sxx;
  const rest = x.reduce((sum, each, i) => sum + (y[i]! - yMean - slope * (each - xMean)) ** 2, 0);
  const x0 = 1 / 8.314462618 / (at + 273.15);
  return Math.sqrt((rest / (rows.length - 2)) * (1 / rows.length + (x0 - xMean) ** 2 / sxx));
}

describe('doubt of a law by its constants', () => {
  it.each([undefined, 135, 180])(
    'a schedule’s law, reference %s, has the fit’s own prediction error',
    (referenceC) => {
      const answer = fitSchedule(rows, { referenceC });
      if (!answer.ok) throw new Error(answer.refusal.code);
      expect(lawContradictions(answer.fit.law)).toEqual([]);
      for (const tempC of [100, 110, 125, 140]) {
        const { ofValue, ofRate } = lawDoubt(answer.fit.law, tempC, 600);
        expect(ofValue / (2 * lineError(tempC))).toBeCloseTo(1, 4);
        expect(ofRate / ofValue).toBeCloseTo(1, 6);
      }
    },
  );

  // By hand: minutes within ±0.5 of 10 and of 5, evenly, have standard deviations of 0.5/√3.
  it('a law of two rows has the doubt of their printed minutes', () => {
    const answer = fitSchedule([
      { tempC: 120, minutes: 10 },
      { tempC: 135, minutes: 5 },
    ]);
    if (!answer.ok) throw new Error(answer.refusal.code);
    expect(lawContradictions(answer.fit.law)).toEqual([]);
    const at = (tempC: number) => lawDoubt(answer.fit.law, tempC, 600).ofValue;
    expect(at(120)).toBeCloseTo((2 * 0.05) / Math.sqrt(3), 5);
    expect(at(135)).toBeCloseTo((2 * 0.1) / Math.sqrt(3), 5);
    expect(at(100)).toBeGreaterThan(at(120));
  });

  it('curves’ covariance tells far less than A and E erring alone, and what repeats scatter', () => {
    const truth: LawSpec = {
      form: 'n-th-order',
      aPerS: 1e7,
      activationEnergyJPerMol: 70_000,
      n: 1.4,
    };
    const law = createLaw(truth);
    const normal = seededNormal(11);
    const repeats = 30;
    const earned: number[] = [];
    let stated = 0;
    for (let repeat = 0; repeat < repeats; repeat++) {
      const fit = fitConversion(
        [110, 125, 140].map((tempC) => {
          const timesS = Array.from({ length: 25 }, (_, i) => i * (tempC < 120 ? 150 : 60));
          return {
            name: `${tempC}`,
            timesS,
            tempsC: timesS.map(() => tempC),
            alphas: timesS.map((timeS, i) =>
              i === 0
                ? 0
                : Math.max(0, Math.min(1, law.advance(0, tempC, tempC, timeS) + 0.01 * normal())),
            ),
          };
        }),
        'n-th-order',
      );
      if (!fit.converged) throw new Error(fit.because);
      earned.push(createLaw(fit.law).advance(0, 120, 120, 600));
      const { ofValue } = lawDoubt(fit.law, 120, 600);
      stated += ofValue / repeats;
      const alone = lawDoubt({ ...fit.law, covariance: undefined }, 120, 600);
      expect(ofValue).toBeLessThan(alone.ofValue / 10);
      expect(lawContradictions(fit.law)).toEqual([]);
    }
    const mean = earned.reduce((sum, value) => sum + value, 0) / repeats;
    const scatter = Math.sqrt(
      earned.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (repeats - 1),
    );
    // The scatter of 30 is known to 13 % itself: three times that either way.
    expect((2 * scatter) / mean / stated).toBeGreaterThan(0.6);
    expect((2 * scatter) / mean / stated).toBeLessThan(1.4);
  });

  it('near its end a degree of cure is surer than its rate', () => {
    const slow: LawSpec = {
      form: 'n-th-order',
      aPerS: 1e7,
      activationEnergyJPerMol: 70_000,
      n: 1,
      standardErrors: { aPerS: 5e5 },
    };
    const { ofValue, ofRate } = lawDoubt(slow, 120, 1500);
    // A errs by 5 %, so the rate does; first order: dα/α = kt·e^(−kt)/(1 − e^(−kt)) of that.
    const kt = 1e7 * Math.exp(-70_000 / (8.314462618 * 393.15)) * 1500;
    expect(ofRate).toBeCloseTo(0.1, 5);
    expect(ofValue).toBeCloseTo((0.1 * kt * Math.exp(-kt)) / (1 - Math.exp(-kt)), 5);
  });

  it('stages of a switched law are named by their number', () => {
    const stage = {
      form: 'n-th-order',
      aPerS: 1e5,
      activationEnergyJPerMol: 60_000,
      n: 1,
    } as const;
    const law = (name: string): LawSpec => ({
      switch: [
        { ...stage, untilAlpha: 0.5 },
        { ...stage, n: 1.5 },
      ],
      standardErrors: { [name]: 1e4 },
    });
    expect(lawDoubt(law('switch.0.aPerS'), 120, 60).ofRate).toBeCloseTo(0.2, 5);
    expect(lawDoubt(law('switch.1.aPerS'), 120, 60).ofRate).toBe(0);
  });
});

describe('a covariance that cannot be', () => {
  const law = (names: string[], matrix: number[][]): LawSpec => ({
    form: 'n-th-order',
    aPerS: 1e5,
    activationEnergyJPerMol: 60_000,
    n: 1,
    covariance: { names, matrix },
  });
  it.each([
    [
      ['aPerS', 'm'],
      [
        [1, 0],
        [0, 1],
      ],
      'covariance.names.1',
      '"m"',
    ],
    [
      ['n', 'n'],
      [
        [1, 0],
        [0, 1],
      ],
      'covariance.names.1',
      'n twice',
    ],
    [['n', 'aPerS'], [[1, 0]], 'covariance.matrix', '1 rows'],
    [['n', 'aPerS'], [[1, 0], [0]], 'covariance.matrix.1', '1 columns'],
    [
      ['n', 'aPerS'],
      [
        [1, 0.5],
        [0.4, 1],
      ],
      'covariance.matrix.1.0',
      '0.4',
    ],
    [['n'], [[-1]], 'covariance.matrix.0.0', '-1'],
    [
      ['n', 'aPerS'],
      [
        [1, 2],
        [2, 1],
      ],
      'covariance.matrix',
      'cannot hold',
    ],
    [
      ['n', 'aPerS'],
      [
        [0, 2],
        [2, 1],
      ],
      'covariance.matrix',
      '',
    ],
  ])('%j %j', (names, matrix, path, found) => {
    const [told] = lawContradictions(law(names, matrix));
    expect(told?.path.join('.').startsWith(path)).toBe(true);
    expect(told?.found).toContain(found);
  });

  it('a standard error of a constant the law does not have', () => {
    const [told] = lawContradictions({
      form: 'z-value',
      referenceC: 120,
      zK: 20,
      standardErrors: { activationEnergyJPerMol: 1 },
    });
    expect(told?.path).toEqual(['standardErrors', 'activationEnergyJPerMol']);
    expect(told?.expected).toContain('zK');
  });
});

describe('in the interval', () => {
  const course = { ul: platenC, ll: platenC };
  const readings = canonicalReadings(readingsOf(course, 1440, 10));
  const scoredWith = (law: Partial<LawSpec>) =>
    score(
      pressLoad(24, {
        recipe: { ...shellRecipe, law: { ...shellRecipe.law, ...law } } as typeof shellRecipe,
      }),
      readings,
    );

  it('stated errors of the constants widen it and have their row in the budget', () => {
    const plain = scoredWith({});
    const doubted = scoredWith({ standardErrors: { lnReferenceMin: 0.1 } });
    const law = (result: typeof plain) => result.budget.find(({ term }) => term === 'law');
    expect(law(doubted)?.down).toBeGreaterThan(law(plain)?.down ?? 0);
    doubted.places.forEach(({ low, nominal, high }, i) => {
      const before = plain.places[i]!;
      expect(low).toBeLessThan(before.low);
      expect(high).toBeGreaterThan(before.high);
      expect(nominal).toBe(before.nominal);
    });
    expect(doubted.places.length).toBeGreaterThan(0);
  });

  it('errors of nothing change nothing, to the byte', () => {
    expect(scoredWith({ standardErrors: { activationEnergyJPerMol: 0 } }).places).toEqual(
      scoredWith({}).places,
    );
  });
});
