/**
 * Exponentials in plain arithmetic: the same bits on every machine, which `Math.exp` is not.
 *
 * @source fdlibm 5.3, e_exp.c and s_expm1.c (Copyright 1993-2004 Sun Microsystems, Inc.; permission to
 * use, copy, modify and distribute this software is freely granted, provided that this notice is
 * preserved). Its words handled bits; here powers of two come from a table, the rest is unchanged.
 */
const LN2_HIGH = 6.9314718036912381649e-1;
const LN2_LOW = 1.90821492927058770002e-10;
const INV_LN2 = 1.442695040888963387;

const P1 = 1.66666666666666019037e-1;
const P2 = -2.77777777770155933842e-3;
const P3 = 6.61375632143793436117e-5;
const P4 = -1.6533902205465251539e-6;
const P5 = 4.13813679705723846039e-8;

const Q1 = -3.33333333333331316428e-2;
const Q2 = 1.58730158725481460165e-3;
const Q3 = -7.93650757867487942473e-5;
const Q4 = 4.00821782732936239552e-6;
const Q5 = -2.01099218183624371326e-7;

/** Above it e^x is not a double any more; below the other it is nothing but 0. */
const OVERFLOW_AT = 7.09782712893383973096e2;
const UNDERFLOW_AT = -7.4513321910194110842e2;
const HALF_LN2 = 0.34657359027997264;

/** 2^k for k = −1022…1023, at index k + 1022; doubling and halving are exact. */
const powersOfTwo = new Float64Array(2046);
powersOfTwo[1022] = 1;
for (let k = 1; k <= 1023; k++) powersOfTwo[1022 + k] = powersOfTwo[1021 + k]! * 2;
for (let k = 1; k <= 1022; k++) powersOfTwo[1022 - k] = powersOfTwo[1023 - k]! / 2;

function scaledByPowerOfTwo(value: number, k: number): number {
  if (k > 1023) return value * 2 * powersOfTwo[k + 1021]!;
  if (k < -1022) return value * powersOfTwo[k + 1122]! * powersOfTwo[922]!;
  return value * powersOfTwo[k + 1022]!;
}

/**
 * e^x, any x; error below 1 ulp.
 *
 * @source fdlibm 5.3, e_exp.c
 */
export function exp(x: number): number {
  if (!(x <= OVERFLOW_AT)) return x > OVERFLOW_AT ? Infinity : NaN;
  if (x < UNDERFLOW_AT) return 0;
  const k = Math.trunc(INV_LN2 * x + (x < 0 ? -0.5 : 0.5));
  const high = x - k * LN2_HIGH;
  const low = k * LN2_LOW;
  const r = high - low;
  const t = r * r;
  const c = r - t * (P1 + t * (P2 + t * (P3 + t * (P4 + t * P5))));
  const y = 1 - (low - (r * c) / (2 - c) - high);
  return k === 0 ? y : scaledByPowerOfTwo(y, k);
}

/**
 * e^x − 1 without the cancellation near 0; error below 1 ulp.
 *
 * @source fdlibm 5.3, s_expm1.c
 */
export function expm1(x: number): number {
  if (!(x <= OVERFLOW_AT)) return x > OVERFLOW_AT ? Infinity : NaN;
  if (x < -56 * 0.6931471805599453) return -1;
  if (Math.abs(x) < 5.551115123125783e-17) return x;
  const k = Math.abs(x) <= HALF_LN2 ? 0 : Math.trunc(INV_LN2 * x + (x < 0 ? -0.5 : 0.5));
  const high = x - k * LN2_HIGH;
  const low = k * LN2_LOW;
  const r = high - low;
  const lost = high - r - low;
  const half = 0.5 * r;
  const hxs = r * half;
  const r1 = 1 + hxs * (Q1 + hxs * (Q2 + hxs * (Q3 + hxs * (Q4 + hxs * Q5))));
  const t = 3 - r1 * half;
  const quotient = hxs * ((r1 - t) / (6 - r * t));
  if (k === 0) return r - (r * quotient - hxs);
  const e = r * (quotient - lost) - lost - hxs;
  if (k === -1) return 0.5 * (r - e) - 0.5;
  if (k === 1) return r < -0.25 ? -2 * (e - (r + 0.5)) : 1 + 2 * (r - e);
  if (k <= -2 || k > 56) return scaledByPowerOfTwo(1 - (e - r), k) - 1;
  const minusK = powersOfTwo[1022 - k]!;
  if (k < 20) return scaledByPowerOfTwo(1 - minusK - (e - r), k);
  return scaledByPowerOfTwo(r - (e + minusK) + 1, k);
}

/**
 * Hyperbolic tangent; error below 2 ulp.
 *
 * @source fdlibm 5.3, s_tanh.c
 */
export function tanh(x: number): number {
  const size = Math.abs(x);
  if (size < 2.7755575615628914e-17) return x;
  if (size >= 22) return x < 0 ? -1 : 1;
  const t = size >= 1 ? expm1(2 * size) : expm1(-2 * size);
  const value = size >= 1 ? 1 - 2 / (t + 2) : -t / (t + 2);
  return x < 0 ? -value : value;
}
