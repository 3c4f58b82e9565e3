import { createLaw } from '@setwell/shared-models/cure/create-law';
import { glassTransition } from '@setwell/shared-models/cure/glass-transition';
import type { LawSpec } from '@setwell/shared-models/cure/law-spec';
import { foldProfile } from '@setwell/shared-models/cure/profile';
import { describe, expect, test } from 'vitest';
import { answerOf, csvFile, textFile } from '../fixtures/command.ts';
import { epoxyThatStiffens, epoxyWithSwitch } from '../fixtures/kinetics.ts';

const closeTo = (value: number, expected: number, relative: number) =>
  expect(Math.abs(value / expected - 1), `${value} beside ${expected}`).toBeLessThanOrEqual(
    relative,
  );

/** A rate constant that does not hang on temperature: time is k·t. */
const constant = (aPerS: number) => ({ aPerS, activationEnergyJPerMol: 1e-12 });

// Source: exact solutions, by separation of variables.
describe('n-th order against its closed solution', () => {
  test.each([
    [1, 0.5, 0.693147],
    [1, 0.9, 2.302585],
    [1, 0.99, 4.60517],
    [1.5, 0.5, 0.828427],
    [1.5, 0.9, 4.324555],
    [1.5, 0.99, 18],
    [2, 0.5, 1],
    [2, 0.9, 9],
    [2, 0.99, 99],
  ])('order %d to %d takes k·t = %d', (n, alpha, kt) => {
    const law = createLaw({ form: 'n-th-order', ...constant(1), n });
    closeTo(law.secondsToReach(0, alpha, 20), kt, 1e-6);
    closeTo(law.advance(0, 20, 20, kt), alpha, 1e-6);
  });
});

describe('autocatalytic', () => {
  test.each([
    [0.5, 4.59512],
    [0.9, 6.792344],
    [0.99, 9.19024],
  ])('m = n = 1 from 0.01 to %d takes k·t = %d', (alpha, kt) => {
    const law = createLaw({
      form: 'autocatalytic',
      k2: constant(1),
      m: 1,
      n: 1,
      initial: 0.01,
    });
    closeTo(law.secondsToReach(0.01, alpha, 20), kt, 1e-6);
  });

  // Computed: closed form for the first, SciPy at rtol 1e-11 for the second.
  test.each([
    [
      { k1: 0.02, k2: 0.3, m: 1, n: 1 },
      [5, 10, 20, 30],
      [0.1981168746843, 0.5952700239468, 0.9740615567644, 0.9989174400224],
      1e-9,
    ],
    [
      { k1: 0.005, k2: 0.05, m: 0.85, n: 1.2 },
      [10, 20, 40, 80],
      [0.07321492, 0.1883595, 0.48282581, 0.85804888],
      1e-7,
    ],
  ])('two constants %o', ({ k1, k2, m, n }, times, alphas, within) => {
    const law = createLaw({ form: 'autocatalytic', k1: constant(k1), k2: constant(k2), m, n });
    times.forEach((time, i) => closeTo(law.advance(0, 20, 20, time), alphas[i]!, within));
  });
});

// Constants as used in public codes citing Lee, Loos & Springer, J. Compos. Mater. 16 (1982) 510-520;
// times computed with SciPy, R = 8.314.
describe('an epoxy whose law switches at 0.3', () => {
  const law = createLaw(epoxyWithSwitch);

  test.each([
    [100, [27.533, 244.9917, 388.8764, 1077.1159, 1373.5246]],
    [140, [2.188, 17.714, 42.3121, 159.9714, 210.6445]],
    [150, [1.2522, 9.9616, 26.6258, 106.335, 140.664]],
    [180, [0.2722, 2.0737, 7.8177, 35.2929, 47.1258]],
  ])('minutes to each conversion at %d °C', (tempC, minutes) => {
    [0.1, 0.3, 0.5, 0.9, 0.95].forEach((alpha, i) => {
      expect(Math.abs(law.secondsToReach(0, alpha, tempC) / 60 - minutes[i]!)).toBeLessThan(5.1e-5);
      closeTo(law.advance(0, tempC, tempC, minutes[i]! * 60), alpha, 2e-4);
    });
  });

  test('the rate jumps there, and no step goes over the jump', () => {
    const ratePerMin = (alpha: number, tempC: number) =>
      ((law.advance(alpha, tempC, tempC, 1e-3) - alpha) / 1e-3) * 60;
    closeTo(ratePerMin(0.3 - 1e-7, 100), 3.3768e-4, 2e-5);
    closeTo(ratePerMin(0.3, 100), 1.6369e-3, 1e-4);
    closeTo(ratePerMin(0.3 - 1e-6, 177), 4.0586e-2, 1e-4);
    closeTo(ratePerMin(0.3, 177), 3.7098e-2, 1e-4);
  });

  const cycle = [
    [0, 25],
    [2184, 116],
    [5784, 116],
    [7248, 177],
    [14448, 177],
  ];

  test('the published cycle, by the command', async () => {
    const { document } = await answerOf([
      'cure',
      '--law',
      textFile('law.json', JSON.stringify(epoxyWithSwitch)),
      '--profile',
      csvFile(`time_s,temp_c\n${cycle.map((row) => row.join(',')).join('\n')}\n`),
      '--at',
      '1800,5400,7248,14448',
    ]);
    const values = (document['at'] as { value: number }[]).map(({ value }) => value);
    [0.024755, 0.272944, 0.560738, 0.99924].forEach((expected, i) =>
      expect(Math.abs(values[i]! - expected)).toBeLessThan(6e-7),
    );
    expect(document).toMatchObject({ measure: 'degree-of-cure', unit: '1' });
  });

  test('switches at 103.68780 min of the cycle', () => {
    const alphaAt = (minutes: number) => {
      const share = (minutes * 60 - 5784) / (7248 - 5784);
      return foldProfile(
        law,
        [0, 2184, 5784, minutes * 60],
        [25, 116, 116, 116 + share * (177 - 116)],
      );
    };
    expect(alphaAt(103.68775)).toBeLessThan(0.3);
    expect(alphaAt(103.68785)).toBeGreaterThan(0.3);
  });
});

// Constants as used in public codes citing Hubert, Johnston, Poursartip & Nelson, 46th SAMPE Symp.
// 2001, 2341-2354; values computed with SciPy, R = 8.314.
describe('an epoxy that stiffens before it is cured', () => {
  const values: [number, number[]][] = [
    [140, [0.021328, 0.068845, 0.204963, 0.476603]],
    [160, [0.051791, 0.275414, 0.553202, 0.706219]],
    [180, [0.180027, 0.595109, 0.762491, 0.82158]],
  ];

  test.each(values)('degree of cure at %d °C', (tempC, alphas) => {
    const law = createLaw(epoxyThatStiffens);
    [600, 1800, 3600, 7200].forEach((timeS, i) =>
      expect(Math.abs(law.advance(0.01, tempC, tempC, timeS) - alphas[i]!)).toBeLessThan(6e-7),
    );
  });

  test('hot enough for long enough is not cured: the plateau stays', () => {
    const law = createLaw(epoxyThatStiffens);
    expect(law.advance(0.01, 160, 160, 86_400)).toBeLessThan(0.9);
  });

  // A copy with R = 8.617 circulates: k + 86 % at 180 °C.
  test('the wrong gas constant shows', () => {
    const wrong = createLaw({ ...epoxyThatStiffens, gasConstant: 8.617 } as LawSpec);
    const half = (law: ReturnType<typeof createLaw>) => law.secondsToReach(0.01, 0.1, 180);
    const factor = half(createLaw(epoxyThatStiffens)) / half(wrong);
    expect(factor).toBeGreaterThan(1.8);
    expect(factor).toBeLessThan(1.92);
  });
});

describe('glass transition', () => {
  // Form: DiBenedetto, as Pascault & Williams write it; values computed.
  test.each([
    [0.2, 6.6667],
    [0.4, 40],
    [0.6, 82.8571],
    [0.8, 140],
  ])('Tg at %d is %d °C', (alpha, tempC) => {
    const glass = glassTransition({ tg0C: -20, tgInfC: 220, lambda: 0.5 });
    expect(Math.abs(glass.tempK(alpha) - 273.15 - tempC)).toBeLessThan(5.1e-5);
    expect(glass.alphaAt(glass.tempK(alpha))).toBeCloseTo(alpha, 14);
  });

  // A published room-temperature polyurethane stops at 60-80 % because Tg passes the room's.
  test('a cold cure stops where Tg meets the temperature, and goes on when it is warmed', () => {
    const law = createLaw({
      form: 'n-th-order',
      aPerS: 1e5,
      activationEnergyJPerMol: 5e4,
      n: 1,
      glass: { tg0C: -60, tgInfC: 60, lambda: 0.5 },
    });
    const stopped = law.advance(0, 22, 22, 1e8);
    expect(stopped).toBeCloseTo(82 / 120 / (0.5 + (0.5 * 82) / 120), 9);
    expect(law.advance(stopped, 22, 22, 1e8)).toBe(stopped);
    expect(law.secondsToReach(0, 0.9, 22)).toBe(Infinity);
    expect(law.advance(stopped, 22, 30, 3600)).toBeGreaterThan(stopped);
    expect(law.advance(0, -70, -61, 1e9)).toBe(0);
  });
});
