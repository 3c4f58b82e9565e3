import { exp } from './exponential.ts';

const LN2_HIGH = 6.9314718036912381649e-1;
const LN2_LOW = 1.90821492927058770002e-10;

const LG1 = 6.66666666666673513e-1;
const LG2 = 3.999999999940941908e-1;
const LG3 = 2.857142874366239149e-1;
const LG4 = 2.222219843214978396e-1;
const LG5 = 1.818357216161805012e-1;
const LG6 = 1.531383769920937332e-1;
const LG7 = 1.479819860511658591e-1;

const SQRT_HALF = 0.7071067811865476;
const SQRT_TWO = 1.4142135623730951;

/**
 * Natural logarithm; error below 1 ulp. −Infinity at 0, NaN below.
 *
 * @source fdlibm 5.3, e_log.c (Copyright 1993 Sun Microsystems, Inc.; permission to use, copy, modify
 * and distribute this software is freely granted, provided that this notice is preserved). The
 * argument is brought to √½…√2 by exact multiplications instead of through its bits.
 */
export function log(x: number): number {
  if (!(x > 0)) return x === 0 ? -Infinity : NaN;
  if (x === Infinity) return x;
  let m = x;
  let k = 0;
  while (m < 1.52587890625e-5) {
    m *= 65536;
    k -= 16;
  }
  while (m < 0.0625) {
    m *= 16;
    k -= 4;
  }
  while (m < SQRT_HALF) {
    m *= 2;
    k--;
  }
  while (m > 65536) {
    m /= 65536;
    k += 16;
  }
  while (m > 16) {
    m /= 16;
    k += 4;
  }
  while (m > SQRT_TWO) {
    m /= 2;
    k++;
  }
  const f = m - 1;
  if (f === 0) return k === 0 ? 0 : k * LN2_HIGH + k * LN2_LOW;
  const s = f / (2 + f);
  const z = s * s;
  const w = z * z;
  const r = z * (LG1 + w * (LG3 + w * (LG5 + w * LG7))) + w * (LG2 + w * (LG4 + w * LG6));
  const hfsq = 0.5 * f * f;
  return k * LN2_HIGH - (hfsq - (s * (hfsq + r) + k * LN2_LOW) - f);
}

/** ln 10, correctly rounded. */
export const LN10 = 2.302585092994046;

/**
 * x^y for x ≥ 0; relative error at most (2 + |y·ln x|) · 2⁻⁵². Exact for y = 0, 1 and 2.
 *
 * exp(y·ln x) is enough here: conversions and their complements lie in 0…1 and their exponents below 5.
 */
export function pow(x: number, y: number): number {
  if (y === 1) return x;
  if (y === 2) return x * x;
  if (y === 0) return 1;
  if (x === 0) return y > 0 ? 0 : Infinity;
  return exp(y * log(x));
}

/** ln(1 + x) without the cancellation near 0, for x > −1; relative error below 4 · 2⁻⁵³. @source W. Kahan, HP-15C Advanced Functions Handbook (1982), appendix */
export function log1p(x: number): number {
  const sum = 1 + x;
  return sum === 1 ? x : (log(sum) * x) / (sum - 1);
}
