import { exp } from './exponential.ts';
import { log } from './logarithm.ts';

const EULER = 0.5772156649015329;
const SMALLEST = 1e-300;

/** Its terms fall by at least half an order a step for x ≥ 1; 200 is never reached. */
const MOST_TERMS = 200;

/**
 * e^x · E_p(x) for x ≥ 1, by the even part of the continued fraction
 * 1/(x+p − 1·p/(x+p+2 − 2(p+1)/(x+p+4 − …))), evaluated forward (modified Lentz).
 *
 * @source NIST Digital Library of Mathematical Functions, 8.19.17
 */
function scaledByFraction(x: number, p: number): number {
  let b = x + p;
  let c = 1 / SMALLEST;
  let d = 1 / b;
  let h = d;
  for (let i = 1; i <= MOST_TERMS; i++) {
    const a = -i * (p - 1 + i);
    b += 2;
    d = 1 / (a * d + b);
    c = b + a / c;
    const change = c * d;
    h *= change;
    if (Math.abs(change - 1) < 2.3e-16) break;
  }
  return h;
}

/**
 * Exponential integral E1(x) = ∫ₓ^∞ e^(−t)/t dt for x > 0; relative error below 6e-15.
 *
 * @source DLMF 6.6.2 (power series, x < 1) and 8.19.17 (continued fraction)
 */
export function exponentialIntegral1(x: number): number {
  if (!(x > 0)) return x === 0 ? Infinity : NaN;
  if (x >= 1) return exp(-x) * scaledByFraction(x, 1);
  let term = 1;
  let sum = 0;
  for (let k = 1; k < 30; k++) {
    term *= -x / k;
    sum -= term / k;
  }
  return sum - EULER - log(x);
}

/**
 * e^x · E2(x) = 1 − x·e^x·E1(x), for x ≥ 0, without that difference's cancellation; relative error
 * below 6e-15. T · E2(θ/T) is the integral of e^(−θ/T) over T.
 *
 * @source DLMF 8.19.12 (recurrence), 8.19.17
 */
export function scaledExponentialIntegral2(x: number): number {
  if (x === Infinity) return 0;
  if (x >= 1) return scaledByFraction(x, 2);
  return x === 0 ? 1 : 1 - x * exp(x) * exponentialIntegral1(x);
}
