import { meanArrheniusFactor } from '@setwell/shared-models/cure/equivalent-time';
import { exp, expm1, tanh } from '@setwell/shared-models/units/exponential';
import {
  exponentialIntegral1,
  scaledExponentialIntegral2,
} from '@setwell/shared-models/units/exponential-integral';
import { log, log1p, pow } from '@setwell/shared-models/units/logarithm';
import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { arithmeticDigests } from './arithmetic-digests.ts';

const fixture = (name: string): unknown =>
  JSON.parse(readFileSync(new URL(`../fixtures/arithmetic/${name}.json`, import.meta.url), 'utf8'));
const reference = fixture('reference') as Record<string, number[][]>;

/** Distance in units of the last place of the true value. */
function ulps(value: number, truth: number): number {
  if (value === truth) return 0;
  let ulp = 2 ** (Math.floor(Math.log2(Math.abs(truth))) - 52);
  if (ulp < Number.MIN_VALUE) ulp = Number.MIN_VALUE;
  return Math.abs(value - truth) / ulp;
}

describe('error bounds of our own functions', () => {
  // Source: Python's decimal module at 120 digits.
  test.each([
    ['exp', exp, 1],
    ['expm1', expm1, 1],
    ['log', log, 1],
    ['log1p', log1p, 4],
    ['tanh', tanh, 2],
    ['exponentialIntegral1', exponentialIntegral1, 27],
    ['scaledExponentialIntegral2', scaledExponentialIntegral2, 27],
  ] as const)('%s', (name, ours, most) => {
    const rows = reference[name] ?? [];
    expect(rows.length).toBeGreaterThan(30);
    for (const [x, truth] of rows) {
      expect(ulps(ours(x!), truth!), `${name}(${x})`).toBeLessThanOrEqual(most);
    }
  });

  test('pow', () => {
    for (const [x, y, truth] of reference['pow']!) {
      const most = (2 + Math.abs(y! * Math.log(x!))) * 2 ** -52;
      expect(Math.abs(pow(x!, y!) / truth! - 1), `${x}^${y}`).toBeLessThanOrEqual(most);
    }
    expect([pow(0.37, 1), pow(0.37, 2), pow(0.37, 0), pow(0, 0.5)]).toEqual([
      0.37,
      0.37 * 0.37,
      1,
      0,
    ]);
  });

  // Source: mpmath 1.3, quad at 40 digits; rows of θ, from, to and the mean with T_ref = 408.15 K, on both
  // sides of the size where the series gives way to the closed form.
  test('mean Arrhenius factors, either way round', () => {
    const rows = fixture('arrhenius-means') as number[][];
    expect(rows.length).toBeGreaterThan(70);
    for (const [thetaK, fromK, toK, truth] of rows) {
      const mean = meanArrheniusFactor(thetaK!, 408.15, fromK!, toK!);
      expect(Math.abs(mean / truth! - 1), `${thetaK} K, ${fromK} to ${toK} K`).toBeLessThan(1e-11);
      const back = meanArrheniusFactor(thetaK!, 408.15, toK!, fromK!);
      expect(Math.abs(back / mean - 1)).toBeLessThan(1e-12);
    }
  });

  test('what has no value says so', () => {
    expect([exp(NaN), log(-1), exponentialIntegral1(-1)]).toEqual([NaN, NaN, NaN]);
    expect([exp(-Infinity), exp(710), log(0), exponentialIntegral1(0)]).toEqual([
      0,
      Infinity,
      -Infinity,
      Infinity,
    ]);
    expect(scaledExponentialIntegral2(0)).toBe(1);
  });
});

test('the same bits as on every engine tried', () => {
  expect(arithmeticDigests()).toEqual(fixture('bits'));
});
