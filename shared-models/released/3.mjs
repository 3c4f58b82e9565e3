// Setwell, the score: Apache-2.0. The exponential is a port of fdlibm's,
// Copyright (C) 2004 by Sun Microsystems, Inc. Permission to use, copy, modify, and distribute this
// software is freely granted, provided that this notice is preserved.

// shared-models/record/canonical.ts
function canonicalJson(value) {
  switch (typeof value) {
    case "string":
      return canonicalString(value);
    case "number":
      if (!Number.isFinite(value)) throw new RangeError(`canonical JSON has no ${value}`);
      return JSON.stringify(value);
    case "boolean":
      return value ? "true" : "false";
    case "object":
      if (value === null) return "null";
      if (Array.isArray(value)) return `[${value.map(canonicalJson).join(",")}]`;
      return canonicalObject(value);
    case "bigint":
    case "function":
    case "symbol":
    case "undefined":
      throw new RangeError(`canonical JSON has no ${typeof value}`);
  }
}
function canonicalObject(value) {
  const members = [];
  for (const name of Object.keys(value).sort()) {
    const member = value[name];
    if (member === void 0) continue;
    members.push(`${canonicalString(name)}:${canonicalJson(member)}`);
  }
  return `{${members.join(",")}}`;
}
var loneSurrogate = /[\uD800-\uDBFF](?![\uDC00-\uDFFF])|(?<![\uD800-\uDBFF])[\uDC00-\uDFFF]/;
function canonicalString(value) {
  if (loneSurrogate.test(value)) throw new RangeError("canonical JSON has no lone surrogate");
  return JSON.stringify(value);
}

// shared-models/units/temperature.ts
var ABSOLUTE_ZERO_C = -273.15;
var GAS_CONSTANT = 8.314462618;
function celsiusOfKelvin(tempK) {
  return tempK + ABSOLUTE_ZERO_C;
}
function celsiusOfFahrenheit(tempF) {
  return (tempF - 32) * 5 / 9;
}

// shared-models/cure/law.ts
function eachAlone(states, { fromC, toC, durationS }) {
  for (let i = 0; i < states.length; i += 1) {
    states[i] = this.advance(states[i], fromC[i], toC[i], durationS[i]);
  }
}

// shared-models/cure/segment.ts
function refuseSegment(fromC, toC, durationS) {
  if (!(durationS >= 0)) throw new RangeError(`a segment lasts ${durationS} s; expected 0 or more`);
  throw new RangeError(
    `a segment goes from ${fromC} to ${toC} °C; expected numbers from ${ABSOLUTE_ZERO_C} °C`
  );
}

// shared-models/cure/degree-time.ts
function degreeTimeLaw(spec) {
  const { baseC } = spec;
  return {
    measure: "degree-time",
    unit: "°C·min",
    initial: 0,
    advance(state, fromC, toC, durationS) {
      if (!(durationS >= 0 && fromC >= ABSOLUTE_ZERO_C && toC >= ABSOLUTE_ZERO_C)) {
        refuseSegment(fromC, toC, durationS);
      }
      const fromK = fromC - baseC;
      const toK = toC - baseC;
      const higherK = Math.max(fromK, toK);
      const lowerK = Math.min(fromK, toK);
      if (higherK <= 0) return state;
      const meanK = lowerK >= 0 ? 0.5 * (fromK + toK) : 0.5 * higherK * higherK / (higherK - lowerK);
      return state + meanK * durationS / 60;
    },
    advanceEach: eachAlone,
    value: (state) => state,
    secondsToReach: (state, target, heldC) => state >= target ? 0 : (target - state) * 60 / Math.max(0, heldC - baseC),
    risesWithTemperature: () => true
  };
}

// shared-models/cure/dose.ts
function doseLaw() {
  return {
    measure: "dose",
    unit: "mJ/cm²",
    initial: 0,
    advance(state, from, to, durationS) {
      if (!(durationS >= 0 && from >= 0 && to >= 0)) {
        throw new RangeError(
          `a segment of irradiance goes from ${from} to ${to} mW/cm² in ${durationS} s; expected 0 or more`
        );
      }
      return state + 0.5 * (from + to) * durationS;
    },
    advanceEach: eachAlone,
    value: (state) => state,
    secondsToReach: (state, target, held2) => state >= target ? 0 : (target - state) / held2,
    risesWithTemperature: () => true
  };
}

// shared-models/units/exponential.ts
var LN2_HIGH = 0.6931471803691238;
var LN2_LOW = 19082149292705877e-26;
var INV_LN2 = 1.4426950408889634;
var P1 = 0.16666666666666602;
var P2 = -0.0027777777777015593;
var P3 = 6613756321437934e-20;
var P4 = -16533902205465252e-22;
var P5 = 41381367970572385e-24;
var Q1 = -0.03333333333333313;
var Q2 = 0.0015873015872548146;
var Q3 = -793650757867488e-19;
var Q4 = 4008217827329362e-21;
var Q5 = -20109921818362437e-23;
var OVERFLOW_AT = 709.782712893384;
var UNDERFLOW_AT = -745.1332191019411;
var HALF_LN2 = 0.34657359027997264;
var powersOfTwo = new Float64Array(2046);
powersOfTwo[1022] = 1;
for (let k = 1; k <= 1023; k++) powersOfTwo[1022 + k] = powersOfTwo[1021 + k] * 2;
for (let k = 1; k <= 1022; k++) powersOfTwo[1022 - k] = powersOfTwo[1023 - k] / 2;
function scaledByPowerOfTwo(value, k) {
  if (k > 1023) return value * 2 * powersOfTwo[k + 1021];
  if (k < -1022) return value * powersOfTwo[k + 1122] * powersOfTwo[922];
  return value * powersOfTwo[k + 1022];
}
function exp(x) {
  if (!(x <= OVERFLOW_AT)) return x > OVERFLOW_AT ? Infinity : NaN;
  if (x < UNDERFLOW_AT) return 0;
  const k = Math.trunc(INV_LN2 * x + (x < 0 ? -0.5 : 0.5));
  const high = x - k * LN2_HIGH;
  const low = k * LN2_LOW;
  const r = high - low;
  const t = r * r;
  const c = r - t * (P1 + t * (P2 + t * (P3 + t * (P4 + t * P5))));
  const y = 1 - (low - r * c / (2 - c) - high);
  return k === 0 ? y : scaledByPowerOfTwo(y, k);
}
function expm1(x) {
  if (!(x <= OVERFLOW_AT)) return x > OVERFLOW_AT ? Infinity : NaN;
  if (x < -56 * 0.6931471805599453) return -1;
  if (Math.abs(x) < 5551115123125783e-32) return x;
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
  const minusK = powersOfTwo[1022 - k];
  if (k < 20) return scaledByPowerOfTwo(1 - minusK - (e - r), k);
  return scaledByPowerOfTwo(r - (e + minusK) + 1, k);
}

// shared-models/units/logarithm.ts
var LN2_HIGH2 = 0.6931471803691238;
var LN2_LOW2 = 19082149292705877e-26;
var LG1 = 0.6666666666666735;
var LG2 = 0.3999999999940942;
var LG3 = 0.2857142874366239;
var LG4 = 0.22222198432149784;
var LG5 = 0.1818357216161805;
var LG6 = 0.15313837699209373;
var LG7 = 0.14798198605116586;
var SQRT_HALF = 0.7071067811865476;
var SQRT_TWO = 1.4142135623730951;
function log(x) {
  if (!(x > 0)) return x === 0 ? -Infinity : NaN;
  if (x === Infinity) return x;
  let m = x;
  let k = 0;
  while (m < 152587890625e-16) {
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
  if (f === 0) return k === 0 ? 0 : k * LN2_HIGH2 + k * LN2_LOW2;
  const s = f / (2 + f);
  const z = s * s;
  const w = z * z;
  const r = z * (LG1 + w * (LG3 + w * (LG5 + w * LG7))) + w * (LG2 + w * (LG4 + w * LG6));
  const hfsq = 0.5 * f * f;
  return k * LN2_HIGH2 - (hfsq - (s * (hfsq + r) + k * LN2_LOW2) - f);
}
var LN10 = 2.302585092994046;
function pow(x, y) {
  if (y === 1) return x;
  if (y === 2) return x * x;
  if (y === 0) return 1;
  if (x === 0) return y > 0 ? 0 : Infinity;
  return exp(y * log(x));
}
function log1p(x) {
  const sum2 = 1 + x;
  return sum2 === 1 ? x : log(sum2) * x / (sum2 - 1);
}

// shared-models/units/exponential-integral.ts
var EULER = 0.5772156649015329;
var SMALLEST = 1e-300;
var MOST_TERMS = 200;
function scaledByFraction(x, p) {
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
    if (Math.abs(change - 1) < 23e-17) break;
  }
  return h;
}
function exponentialIntegral1(x) {
  if (!(x > 0)) return x === 0 ? Infinity : NaN;
  if (x >= 1) return exp(-x) * scaledByFraction(x, 1);
  let term = 1;
  let sum2 = 0;
  for (let k = 1; k < 30; k++) {
    term *= -x / k;
    sum2 -= term / k;
  }
  return sum2 - EULER - log(x);
}
function scaledExponentialIntegral2(x) {
  if (x === Infinity) return 0;
  if (x >= 1) return scaledByFraction(x, 2);
  return x === 0 ? 1 : 1 - x * exp(x) * exponentialIntegral1(x);
}

// shared-models/cure/equivalent-time.ts
var SERIES_UP_TO = 0.1;
function meanArrheniusFactor(thetaK, referenceK, fromK, toK) {
  const middleK = 0.5 * (fromK + toK);
  const deltaK = toK - fromK;
  const a = thetaK / middleK;
  const h = 0.5 * deltaK / middleK;
  const size = 2 * (a + 5) * Math.abs(h);
  if (size <= SERIES_UP_TO) {
    const atMiddle = exp(a * ((middleK - referenceK) / referenceK));
    const ah = a * h;
    const second = ah / 2 - h;
    const fourth = ((ah / 24 - h / 2) * ah + 1.5 * h * h) * ah - h * h * h;
    return atMiddle * (1 + ah * (second / 3 + fourth / 5));
  }
  if (deltaK === 0 || !(size > 0)) return 0;
  return (antiderivative(thetaK, referenceK, toK) - antiderivative(thetaK, referenceK, fromK)) / deltaK;
}
function antiderivative(thetaK, referenceK, tempK) {
  if (tempK <= 0) return 0;
  const factor = exp(thetaK * (tempK - referenceK) / (referenceK * tempK));
  return tempK * factor * scaledExponentialIntegral2(thetaK / tempK);
}
function equivalentTimeLaw(spec) {
  const thetaK = spec.activationEnergyJPerMol / (spec.gasConstant ?? GAS_CONSTANT);
  const referenceK = spec.referenceC - ABSOLUTE_ZERO_C;
  const factorAt = (tempC) => {
    const tempK = tempC - ABSOLUTE_ZERO_C;
    return tempK > 0 ? exp(thetaK * (tempK - referenceK) / (referenceK * tempK)) : 0;
  };
  const earnedMin = (fromC, toC, durationS) => {
    if (!(durationS >= 0 && fromC >= ABSOLUTE_ZERO_C && toC >= ABSOLUTE_ZERO_C)) {
      refuseSegment(fromC, toC, durationS);
    }
    const fromK = fromC - ABSOLUTE_ZERO_C;
    const toK = toC - ABSOLUTE_ZERO_C;
    return meanArrheniusFactor(thetaK, referenceK, fromK, toK) * durationS / 60;
  };
  return {
    measure: "equivalent-time",
    unit: "min",
    initial: 0,
    advance: (state, fromC, toC, durationS) => state + earnedMin(fromC, toC, durationS),
    advanceEach(states, { fromC, toC, durationS }) {
      for (let i = 0; i < states.length; i += 1) {
        states[i] += earnedMin(fromC[i], toC[i], durationS[i]);
      }
    },
    value: (state) => state,
    secondsToReach: (state, target, heldC) => state >= target ? 0 : (target - state) * 60 / factorAt(heldC),
    risesWithTemperature: () => true
  };
}

// shared-models/cure/runge-kutta.ts
function dormandPrinceStep(ratePerS, alpha, fromK, slopeKPerS, durationS, step) {
  const h = durationS;
  const riseK = slopeKPerS * h;
  const toK = fromK + riseK;
  const k1 = h * ratePerS(alpha, fromK);
  const k2 = h * ratePerS(alpha + k1 / 5, fromK + riseK / 5);
  const k3 = h * ratePerS(alpha + 3 * k1 / 40 + 9 * k2 / 40, fromK + 0.3 * riseK);
  const k4 = h * ratePerS(alpha + 44 * k1 / 45 - 56 * k2 / 15 + 32 * k3 / 9, fromK + 0.8 * riseK);
  const k5 = h * ratePerS(
    alpha + 19372 * k1 / 6561 - 25360 * k2 / 2187 + 64448 * k3 / 6561 - 212 * k4 / 729,
    fromK + 8 / 9 * riseK
  );
  const k6 = h * ratePerS(
    alpha + 9017 * k1 / 3168 - 355 * k2 / 33 + 46732 * k3 / 5247 + 49 * k4 / 176 - 5103 * k5 / 18656,
    toK
  );
  const end = alpha + 35 * k1 / 384 + 500 * k3 / 1113 + 125 * k4 / 192 - 2187 * k5 / 6784 + 11 * k6 / 84;
  const k7 = h * ratePerS(end, toK);
  step.alpha = end;
  step.error = Math.abs(
    71 * k1 / 57600 - 71 * k3 / 16695 + 71 * k4 / 1920 - 17253 * k5 / 339200 + 22 * k6 / 525 - k7 / 40
  );
}

// shared-models/cure/kinetic-law.ts
var RELATIVE_ERROR = 1e-9;
var ROUNDING = 4e-15;
var SHORTEST_SHARE = 1e-12;
var ON_GLASS_K = 1e-10;
var NEVER_S = 1e12;
var SLIDE_SAMPLES = 32;
function kineticLaw(stages, initial) {
  return {
    measure: "degree-of-cure",
    unit: "1",
    initial,
    advance(alpha, fromC, toC, durationS) {
      if (!(durationS >= 0 && fromC >= ABSOLUTE_ZERO_C && toC >= ABSOLUTE_ZERO_C)) {
        refuseSegment(fromC, toC, durationS);
      }
      if (durationS < 1e-200) return alpha;
      const fromK = fromC - ABSOLUTE_ZERO_C;
      return react(stages, alpha, fromK, (toC - fromC) / durationS, durationS, 1).alpha;
    },
    advanceEach: eachAlone,
    value: (alpha) => alpha,
    secondsToReach(alpha, target, heldC) {
      if (alpha >= target) return 0;
      if (target >= 1) return Infinity;
      const reached = react(stages, alpha, heldC - ABSOLUTE_ZERO_C, 0, NEVER_S, target);
      return reached.alpha >= target ? reached.timeS : Infinity;
    },
    risesWithTemperature: (fromC, toC) => stages.every(
      (stage, i) => ratesRise(stage, stages[i - 1]?.untilAlpha ?? initial, fromC, toC)
    )
  };
}
function react(stages, initialAlpha, fromK, slopeKPerS, durationS, target) {
  const at = { alpha: initialAlpha, timeS: 0 };
  while (at.timeS < durationS && at.alpha < target) {
    const stage = stages.find(({ untilAlpha }) => at.alpha < untilAlpha);
    if (stage === void 0) break;
    const stopAlpha = Math.min(stage.untilAlpha, target);
    if (stage.glass === null) {
      stretch(stage, at, fromK, slopeKPerS, durationS, stopAlpha);
      continue;
    }
    const tempK = fromK + slopeKPerS * at.timeS;
    const aboveK = tempK - stage.glass.tempK(at.alpha);
    if (aboveK < -ON_GLASS_K) {
      if (slopeKPerS <= 0) break;
      at.timeS = Math.min(durationS, at.timeS - aboveK / slopeKPerS);
    } else if (aboveK > ON_GLASS_K) {
      stretch(stage, at, fromK, slopeKPerS, durationS, stopAlpha);
    } else if (slopeKPerS <= 0) {
      break;
    } else if (!outpacesHeating(stage, stage.glass, tempK, slopeKPerS) || !slide(stage, stage.glass, at, fromK, slopeKPerS, durationS, stopAlpha)) {
      stretch(stage, at, fromK, slopeKPerS, durationS, stopAlpha, true);
    }
  }
  return at;
}
function stretch(stage, at, fromK, slopeKPerS, durationS, stopAlpha, leavesGlass = false) {
  const step = { alpha: 0, error: 0 };
  const { ratePerS, glass } = stage;
  let h = (durationS - at.timeS) / (leavesGlass ? SLIDE_SAMPLES : 1);
  let softened = !leavesGlass;
  const startK = fromK + slopeKPerS * at.timeS;
  const shortestS = SHORTEST_SHARE * Math.min(durationS, 1 / ratePerS(at.alpha, startK));
  while (at.timeS < durationS) {
    const rest = durationS - at.timeS;
    const last = h >= rest;
    if (last) h = rest;
    const tempK = fromK + slopeKPerS * at.timeS;
    dormandPrinceStep(ratePerS, at.alpha, tempK, slopeKPerS, h, step);
    const allowed = RELATIVE_ERROR * Math.abs(step.alpha - at.alpha) + ROUNDING * at.alpha;
    if (step.error > allowed && h > shortestS) {
      h *= Math.max(0.1, 0.9 * fourthRoot(allowed / step.error));
      continue;
    }
    const reachesStop = step.alpha >= stopAlpha;
    const hardens = glass !== null && softened && tempK + slopeKPerS * h < glass.tempK(step.alpha);
    if (reachesStop || hardens) {
      const past = (alpha, afterS) => Math.max(
        alpha - stopAlpha,
        glass === null || !softened ? -1 : (glass.tempK(alpha) - tempK - slopeKPerS * afterS) / 1e3
      );
      const untilS = firstCrossing(ratePerS, at.alpha, tempK, slopeKPerS, h, past, step);
      const allowedHere = RELATIVE_ERROR * Math.abs(step.alpha - at.alpha) + ROUNDING * at.alpha;
      if (step.error > allowedHere && untilS > shortestS) {
        h = 0.5 * untilS;
        continue;
      }
      at.timeS += untilS;
      at.alpha = step.alpha >= stopAlpha - ROUNDING ? stopAlpha : step.alpha;
      return;
    }
    at.alpha = Math.min(1, step.alpha);
    at.timeS = last ? durationS : at.timeS + h;
    softened ||= glass !== null && fromK + slopeKPerS * at.timeS > glass.tempK(at.alpha) + ON_GLASS_K;
    const growth = step.error === 0 ? 4 : 0.9 * fourthRoot(allowed / step.error);
    h *= Math.min(4, Math.max(0.2, growth));
  }
}
function firstCrossing(ratePerS, alpha, tempK, slopeKPerS, durationS, past, step) {
  let lowS = 0;
  let low = past(alpha, 0);
  let highS = durationS;
  let high = past(step.alpha, durationS);
  let atS = durationS;
  let sameSide = 0;
  for (let i = 0; i < 200 && highS - lowS > 1e-15 * durationS; i++) {
    const secantS = lowS + (highS - lowS) * low / (low - high);
    atS = secantS > lowS && secantS < highS ? secantS : 0.5 * (lowS + highS);
    dormandPrinceStep(ratePerS, alpha, tempK, slopeKPerS, atS, step);
    const value = past(step.alpha, atS);
    if (Math.abs(value) <= 1e-16) break;
    if (value < 0) {
      lowS = atS;
      low = value;
      sameSide = Math.min(-1, sameSide - 1);
      if (sameSide < -1) high /= 2;
    } else {
      highS = atS;
      high = value;
      sameSide = Math.max(1, sameSide + 1);
      if (sameSide > 1) low /= 2;
    }
  }
  return atS;
}
function outpacesHeating(stage, glass, tempK, slopeKPerS) {
  const alpha = glass.alphaAt(tempK);
  return stage.ratePerS(alpha, tempK) * glass.slopeK(alpha) > slopeKPerS;
}
function slide(stage, glass, at, fromK, slopeKPerS, durationS, stopAlpha) {
  const startS = at.timeS;
  const stopS = Math.max(
    startS,
    Math.min(durationS, (glass.tempK(stopAlpha) - fromK) / slopeKPerS)
  );
  let lowS = startS;
  let highS = stopS;
  const slides = (timeS) => outpacesHeating(stage, glass, fromK + slopeKPerS * timeS, slopeKPerS);
  for (let i = 1; i <= SLIDE_SAMPLES; i++) {
    highS = startS + (stopS - startS) * i / SLIDE_SAMPLES;
    if (!slides(highS)) break;
    lowS = highS;
  }
  for (let i = 0; i < 60 && lowS < highS; i++) {
    const middleS = 0.5 * (lowS + highS);
    if (slides(middleS)) lowS = middleS;
    else highS = middleS;
  }
  if (highS <= startS) return false;
  at.timeS = highS;
  at.alpha = highS >= stopS && stopS < durationS ? stopAlpha : glass.alphaAt(fromK + slopeKPerS * highS);
  return true;
}
function ratesRise(stage, fromAlpha, fromC, toC) {
  const rows = Math.max(1, Math.min(400, Math.ceil(toC - fromC)));
  for (let i = 0; i < 100; i++) {
    const alpha = fromAlpha + (stage.untilAlpha - fromAlpha) * i / 100;
    let before = 0;
    for (let row = 0; row <= rows; row++) {
      const tempK = fromC + (toC - fromC) * row / rows - ABSOLUTE_ZERO_C;
      const rate = stage.ratePerS(alpha, tempK);
      if (rate < before) return false;
      before = rate;
    }
  }
  return true;
}
function fourthRoot(x) {
  return Math.sqrt(Math.sqrt(x));
}

// shared-models/cure/glass-transition.ts
function glassTransition({ tg0C, tgInfC, lambda }) {
  const tg0K = tg0C - ABSOLUTE_ZERO_C;
  const spanK = tgInfC - tg0C;
  return {
    tempK: (alpha) => tg0K + spanK * lambda * alpha / (1 - (1 - lambda) * alpha),
    alphaAt(tempK) {
      const share2 = Math.min(1, Math.max(0, (tempK - tg0K) / spanK));
      return share2 / (lambda + (1 - lambda) * share2);
    },
    slopeK(alpha) {
      const below = 1 - (1 - lambda) * alpha;
      return spanK * lambda / (below * below);
    }
  };
}

// shared-models/cure/kinetic-stage.ts
function kineticStage(spec, shared) {
  const gasConstant = spec.gasConstant ?? shared.gasConstant ?? GAS_CONSTANT;
  const diffusion = spec.diffusion ?? shared.diffusion;
  const glass = spec.glass ?? shared.glass;
  const chemicalPerS = spec.form === "n-th-order" ? nthOrderRate(spec, gasConstant) : autocatalyticRate(spec, gasConstant);
  const stage = {
    untilAlpha: spec.untilAlpha ?? 1,
    glass: glass === void 0 ? null : glassTransition(glass)
  };
  if (diffusion === void 0) return { ...stage, ratePerS: chemicalPerS };
  const { c, alphaC0, alphaCTPerK } = diffusion;
  return {
    ...stage,
    ratePerS: (alpha, tempK) => chemicalPerS(alpha, tempK) / (1 + exp(c * (alpha - (alphaC0 + alphaCTPerK * tempK))))
  };
}
function arrhenius({ aPerS, activationEnergyJPerMol }, gasConstant) {
  const minusThetaK = -activationEnergyJPerMol / gasConstant;
  return (tempK) => aPerS * exp(minusThetaK / tempK);
}
function nthOrderRate(spec, gasConstant) {
  const { n } = spec;
  const kPerS = arrhenius(spec, gasConstant);
  return (alpha, tempK) => Math.max(0, kPerS(tempK) * pow(Math.max(0, 1 - alpha), n));
}
function autocatalyticRate(spec, gasConstant) {
  const { k1, k2, m, n, b } = spec;
  if (k1 === void 0 && b === void 0 && k2.aPerS > 0)
    return oneConstantRate(k2, m, n, gasConstant);
  const k1PerS = k1 === void 0 ? () => 0 : arrhenius(k1, gasConstant);
  const k2PerS = arrhenius(k2, gasConstant);
  return (alpha, tempK) => {
    const at = Math.max(0, alpha);
    const left = pow(Math.max(0, 1 - at), n) * (b === void 0 ? 1 : b - at);
    return Math.max(0, (k1PerS(tempK) + k2PerS(tempK) * pow(at, m)) * left);
  };
}
function oneConstantRate({ aPerS, activationEnergyJPerMol }, m, n, gasConstant) {
  const lnA = log(aPerS);
  const thetaK = activationEnergyJPerMol / gasConstant;
  return (alpha, tempK) => alpha <= 0 || alpha >= 1 ? 0 : exp(lnA - thetaK / tempK + m * log(alpha) + n * log(1 - alpha));
}

// shared-models/cure/law-constants.ts
var CHOSEN = [
  ...["validC", "floorC", "ceilingC", "initial", "gasConstant", "referenceC", "untilAlpha"],
  ...["standardErrors", "covariance"]
];
var LN_REFERENCE_MIN = "lnReferenceMin";
function lawConstants(spec) {
  const constants = /* @__PURE__ */ new Map();
  const collect = (value, name) => {
    if (typeof value === "number") constants.set(name, value);
    if (typeof value !== "object" || value === null) return;
    for (const [key, within] of Object.entries(value)) {
      if (!CHOSEN.includes(key)) collect(within, name === "" ? key : `${name}.${key}`);
    }
  };
  collect(spec, "");
  return constants;
}
function withConstant(spec, name, value) {
  return replaced(spec, name.split("."), value);
}
function replaced(whole, [key, ...rest], value) {
  if (key === void 0) return value;
  if (Array.isArray(whole)) {
    return whole.map(
      (each, i) => String(i) === key ? replaced(each, rest, value) : each
    );
  }
  const within = whole;
  return { ...within, [key]: replaced(within[key], rest, value) };
}

// shared-models/cure/doubt-contradictions.ts
var ROUNDING2 = 1e-6;
function doubtContradictions(spec) {
  const { standardErrors = {}, covariance } = spec;
  if (spec.standardErrors === void 0 && covariance === void 0) return [];
  const known2 = [...lawConstants(spec).keys()];
  if ("form" in spec && "referenceC" in spec) known2.push(LN_REFERENCE_MIN);
  const unknown = (name, path) => known2.includes(name) ? [] : [
    {
      code: "contradiction",
      path,
      found: JSON.stringify(name.slice(0, 60)),
      expected: known2.length === 0 ? "no such name: this form has no constant that may err" : `a constant of this law: ${known2.join(", ")}`
    }
  ];
  const found = Object.keys(standardErrors).flatMap(
    (name) => unknown(name, ["standardErrors", name])
  );
  if (covariance === void 0) return found;
  const { names } = covariance;
  names.forEach((name, i) => {
    found.push(...unknown(name, ["covariance", "names", i]));
    if (names.indexOf(name) < i) {
      found.push({
        code: "contradiction",
        path: ["covariance", "names", i],
        found: `${name} twice`,
        expected: "each constant once"
      });
    }
  });
  return [...found, ...matrixContradictions(covariance)];
}
function matrixContradictions({ names, matrix }) {
  const size = names.length;
  const of = (path, found, expected) => [
    { code: "contradiction", path: ["covariance", "matrix", ...path], found, expected }
  ];
  if (matrix.length !== size) return of([], `${matrix.length} rows`, `${size}, one a name`);
  const short = matrix.findIndex((row) => row.length !== size);
  if (short >= 0) return of([short], `${matrix[short].length} columns`, `${size}, one a name`);
  const at = (i, j) => matrix[i][j];
  const scales = names.map((_, i) => Math.sqrt(Math.max(0, at(i, i))));
  for (let i = 0; i < size; i++) {
    if (at(i, i) < 0) return of([i, i], `${at(i, i)}`, "a variance, 0 or more");
    for (let j = 0; j < i; j++) {
      if (Math.abs(at(i, j) - at(j, i)) > ROUNDING2 * scales[i] * scales[j]) {
        return of([i, j], `${at(i, j)}, and ${at(j, i)} across`, "a symmetric matrix");
      }
    }
  }
  return isPossible(
    names.map((_, i) => names.map((__, j) => share(at(i, j), scales[i], scales[j])))
  ) ? [] : of([], "correlations that cannot hold together", "a covariance: no combination below 0");
}
function share(covariance, one, other) {
  if (covariance === 0) return 0;
  return covariance / one / other;
}
function isPossible(correlations) {
  const rest = correlations.map((row) => [...row]);
  for (let k = 0; k < rest.length; k++) {
    const pivot = rest[k][k];
    if (!(pivot >= -ROUNDING2) || !rest[k].every(Number.isFinite)) return false;
    if (pivot <= ROUNDING2) continue;
    for (let i = k + 1; i < rest.length; i++) {
      const factor = rest[i][k] / pivot;
      for (let j = k; j < rest.length; j++) rest[i][j] -= factor * rest[k][j];
    }
  }
  return true;
}

// shared-models/cure/law-contradictions.ts
var OF_WHOLE_LAW = ["floorC", "ceilingC", "validC", "standardErrors", "covariance"];
function lawContradictions(spec) {
  const found = [
    ...limitContradictions(spec, []),
    ...doubtContradictions(spec)
  ];
  if ("switch" in spec) {
    let before = spec.initial ?? 0;
    spec.switch.forEach((stage, i) => {
      const last = i === spec.switch.length - 1;
      found.push(...limitContradictions(stage, ["switch", i]));
      for (const field of OF_WHOLE_LAW) {
        if (stage[field] !== void 0) {
          found.push({
            code: "contradiction",
            path: ["switch", i, field],
            found: `${field} in one stage`,
            expected: `${field} at the top of the law, for all stages`
          });
        }
      }
      const { untilAlpha } = stage;
      if (last !== (untilAlpha === void 0)) {
        found.push({
          code: "contradiction",
          path: ["switch", i],
          found: last ? "untilAlpha in the last stage" : "a stage without untilAlpha",
          expected: "untilAlpha in every stage but the last"
        });
      } else if (untilAlpha !== void 0 && untilAlpha <= before) {
        found.push({
          code: "descending",
          path: ["switch", i, "untilAlpha"],
          found: `${untilAlpha} after ${before}`,
          expected: "conversions that rise from stage to stage, from the initial one"
        });
      }
      before = stage.untilAlpha ?? before;
    });
    return found;
  }
  const kinetic = spec.form === "n-th-order" || spec.form === "autocatalytic";
  for (const field of ["diffusion", "glass", "initial"]) {
    if (!kinetic && spec[field] !== void 0) {
      found.push({
        code: "contradiction",
        path: [field],
        found: `${field} with form ${spec.form}`,
        expected: `${field} only with n-th-order or autocatalytic`
      });
    }
  }
  if (spec.form === "dose") {
    for (const field of ["floorC", "ceilingC", "validC"]) {
      if (spec[field] !== void 0) {
        found.push({
          code: "contradiction",
          path: [field],
          found: `${field} with form dose`,
          expected: "no temperature limits: a dose adds up irradiance"
        });
      }
    }
  }
  if (spec.form === "equivalent-time" || spec.form === "z-value") {
    found.push(...aboveAbsoluteZero(spec.referenceC, "referenceC"));
  }
  if (spec.form === "degree-time") found.push(...aboveAbsoluteZero(spec.baseC, "baseC"));
  return found;
}
function limitContradictions(limits2, path) {
  const found = [];
  const { floorC, ceilingC, validC, glass } = limits2;
  if (floorC !== void 0 && ceilingC !== void 0 && !(floorC < ceilingC)) {
    found.push({
      code: "contradiction",
      path: [...path, "floorC"],
      found: `floor ${floorC} °C, ceiling ${ceilingC} °C`,
      expected: "a floor below the ceiling"
    });
  }
  if (validC !== void 0 && !(validC[0] < validC[1])) {
    found.push({
      code: "contradiction",
      path: [...path, "validC"],
      found: `${validC[0]} to ${validC[1]} °C`,
      expected: "the lower end first"
    });
  }
  if (glass !== void 0 && !(glass.tg0C < glass.tgInfC)) {
    found.push({
      code: "contradiction",
      path: [...path, "glass"],
      found: `tg0C ${glass.tg0C}, tgInfC ${glass.tgInfC}`,
      expected: "a glass transition that rises with cure"
    });
  }
  return found;
}
function aboveAbsoluteZero(tempC, field) {
  if (tempC > ABSOLUTE_ZERO_C) return [];
  return [
    {
      code: "out-of-range",
      path: [field],
      found: `${tempC} °C`,
      expected: `a temperature above ${ABSOLUTE_ZERO_C} °C`
    }
  ];
}

// shared-models/cure/n-th-order.ts
var ANCHOR_K = 400;
function nthOrderLaw(spec) {
  const { n } = spec;
  const thetaK = spec.activationEnergyJPerMol / (spec.gasConstant ?? GAS_CONSTANT);
  const anchorPerS = Math.max(0, spec.aPerS) * exp(-thetaK / ANCHOR_K);
  return {
    measure: "degree-of-cure",
    unit: "1",
    initial: spec.initial ?? 0,
    advance(alpha, fromC, toC, durationS) {
      if (!(durationS >= 0 && fromC >= ABSOLUTE_ZERO_C && toC >= ABSOLUTE_ZERO_C)) {
        refuseSegment(fromC, toC, durationS);
      }
      const left = 1 - alpha;
      if (left <= 0) return alpha;
      const fromK = fromC - ABSOLUTE_ZERO_C;
      const toK = toC - ABSOLUTE_ZERO_C;
      const reacted = anchorPerS * meanArrheniusFactor(thetaK, ANCHOR_K, fromK, toK) * durationS;
      return Math.min(1, alpha + left * shareReacted(reacted, left, n));
    },
    advanceEach: eachAlone,
    value: (alpha) => alpha,
    secondsToReach(alpha, target, heldC) {
      if (alpha >= target) return 0;
      if (target > 1 || target === 1 && n >= 1) return Infinity;
      const heldK = heldC - ABSOLUTE_ZERO_C;
      if (!(heldK > 0)) return Infinity;
      const kPerS = anchorPerS * exp(thetaK * (heldK - ANCHOR_K) / (ANCHOR_K * heldK));
      const left = 1 - alpha;
      const logShare = target === 1 ? -Infinity : log1p((alpha - target) / left);
      if (n === 1) return -logShare / kPerS;
      return pow(left, 1 - n) * expm1((1 - n) * logShare) / ((n - 1) * kPerS);
    },
    risesWithTemperature: () => true
  };
}
function shareReacted(reacted, left, n) {
  if (n === 1) return -expm1(-reacted);
  const y = (n - 1) * reacted * pow(left, n - 1);
  return y <= -1 ? 1 : -expm1(-log1p(y) / (n - 1));
}

// shared-models/cure/temperature-limits.ts
function withTemperatureLimits(law, floorC, ceilingC) {
  if (floorC === void 0 && ceilingC === void 0) return law;
  const lowestC = floorC ?? -Infinity;
  const highestC = ceilingC ?? Infinity;
  const cut = ({ fromC, toC, durationS }) => {
    for (let i = 0; i < durationS.length; i += 1) {
      const startC = fromC[i];
      const endC = toC[i];
      const lowerC = startC < endC ? startC : endC;
      const upperC = startC < endC ? endC : startC;
      if (lowerC >= lowestC && upperC <= highestC) continue;
      if (upperC < lowestC || lowerC > highestC) {
        durationS[i] = 0;
        continue;
      }
      fromC[i] = Math.min(Math.max(startC, lowestC), highestC);
      toC[i] = Math.min(Math.max(endC, lowestC), highestC);
      durationS[i] *= (toC[i] - fromC[i]) / (endC - startC);
    }
  };
  const one = {
    fromC: new Float64Array(1),
    toC: new Float64Array(1),
    durationS: new Float64Array(1)
  };
  return {
    ...law,
    advance(state, fromC, toC, durationS) {
      one.fromC[0] = fromC;
      one.toC[0] = toC;
      one.durationS[0] = durationS;
      cut(one);
      return law.advance(state, one.fromC[0], one.toC[0], one.durationS[0]);
    },
    advanceEach(states, segments) {
      cut(segments);
      law.advanceEach(states, segments);
    },
    secondsToReach: (state, target, heldC) => law.value(state) >= target || heldC >= lowestC && heldC <= highestC ? law.secondsToReach(state, target, heldC) : Infinity
  };
}

// shared-models/cure/z-value.ts
function zValueLaw(spec) {
  const { referenceC } = spec;
  const perK = LN10 / spec.zK;
  return {
    measure: "equivalent-time",
    unit: "min",
    initial: 0,
    advance(state, fromC, toC, durationS) {
      if (!(durationS >= 0 && fromC >= ABSOLUTE_ZERO_C && toC >= ABSOLUTE_ZERO_C)) {
        refuseSegment(fromC, toC, durationS);
      }
      const lowerC = Math.min(fromC, toC);
      const b = Math.abs(toC - fromC) * perK;
      const growth = b === 0 ? 1 : expm1(b) / b;
      return state + exp((lowerC - referenceC) * perK) * growth * durationS / 60;
    },
    advanceEach: eachAlone,
    value: (state) => state,
    secondsToReach: (state, target, heldC) => state >= target ? 0 : (target - state) * 60 / exp((heldC - referenceC) * perK),
    risesWithTemperature: () => true
  };
}

// shared-models/cure/create-law.ts
function createLaw(spec) {
  const [contradiction] = lawContradictions(spec);
  if (contradiction !== void 0) {
    const { path, found, expected } = contradiction;
    throw new RangeError(`${path.join(".")}: found ${found}; expected ${expected}`);
  }
  return withTemperatureLimits(unlimitedLaw(spec), spec.floorC, spec.ceilingC);
}
function unlimitedLaw(spec) {
  if ("switch" in spec) {
    const stages = spec.switch.map((stage) => kineticStage(stage, spec));
    return kineticLaw(stages, spec.initial ?? spec.switch[0]?.initial ?? 0);
  }
  switch (spec.form) {
    case "degree-time":
      return degreeTimeLaw(spec);
    case "equivalent-time":
      return equivalentTimeLaw(spec);
    case "z-value":
      return zValueLaw(spec);
    case "dose":
      return doseLaw();
    case "n-th-order":
      return spec.diffusion === void 0 && spec.glass === void 0 ? nthOrderLaw(spec) : kineticLaw([kineticStage(spec, spec)], spec.initial ?? 0);
    case "autocatalytic":
      return kineticLaw([kineticStage(spec, spec)], spec.initial ?? 0);
  }
}

// shared-models/cure/law-doubt.ts
var COVERAGE = 2;
var STEP_SHARE = 3e-4;
var LEAST_GROWTH = 1e-6;
function lawDoubt(spec, heldC, durationS) {
  const { standardErrors = {}, covariance = { names: [], matrix: [] } } = spec;
  const { names, matrix } = covariance;
  const alone = Object.keys(standardErrors).filter((name) => !names.includes(name));
  const value = earned(spec, heldC, durationS);
  if (names.length + alone.length === 0 || !(value > 0)) return { ofValue: 0, ofRate: 0 };
  const constants = lawConstants(spec);
  const slopeOf = (name) => {
    if (name === LN_REFERENCE_MIN) return -1;
    const at = constants.get(name) ?? 0;
    const step = STEP_SHARE * (at === 0 ? 1 : Math.abs(at));
    const above = earned(withConstant(spec, name, at + step), heldC, durationS);
    const below = earned(withConstant(spec, name, at - step), heldC, durationS);
    return (above - below) / (2 * step * value);
  };
  const slopes = names.map(slopeOf);
  let variance = 0;
  slopes.forEach((one, i) => {
    slopes.forEach((other, j) => variance += one * matrix[i][j] * other);
  });
  variance = Math.max(0, variance);
  for (const name of alone) {
    const part = slopeOf(name) * standardErrors[name];
    variance += part * part;
  }
  const ofValue = COVERAGE * Math.sqrt(variance);
  const longer = earned(spec, heldC, durationS * (1 + STEP_SHARE));
  const shorter = earned(spec, heldC, durationS * (1 - STEP_SHARE));
  const growth = (longer - shorter) / (2 * STEP_SHARE * value);
  return { ofValue, ofRate: growth > LEAST_GROWTH ? ofValue / growth : 0 };
}
function earned(spec, heldC, durationS) {
  const law = createLaw(spec);
  const { initial } = law;
  return law.value(law.advance(initial, heldC, heldC, durationS)) - law.value(initial);
}

// shared-models/score/window.ts
var EQUAL_MARGIN_SHARE = 1e-6;
var MIN_PER_DAY = 1440;
function judgedWindow(recipe, lawUnit) {
  if (recipe.kind === "store") {
    const { rest } = recipe.window;
    return {
      window: { least: rest.equivalentLeastD, most: null },
      unit: "d",
      perLawUnit: 1 / MIN_PER_DAY,
      calendarLeastMs: rest.calendarLeastD * 864e5
    };
  }
  const bounds = recipe.kind === "oven" ? recipe.window.step : recipe.window;
  return {
    window: { least: bounds.least, most: bounds.most ?? null },
    unit: lawUnit,
    perLawUnit: 1,
    calendarLeastMs: null
  };
}
function decide({ low, high }, { least, most }) {
  if (low >= least && (most === null || high <= most)) return { verdict: "in-window", side: null };
  if (high < least) return { verdict: "under", side: "short" };
  if (most !== null && low > most) return { verdict: "over", side: "long" };
  const short = low < least;
  const long = most !== null && high > most;
  return { verdict: "unproven", side: short && long ? "both" : short ? "short" : "long" };
}
function marginOf({ low, high }, { least, most }) {
  return most === null ? low - least : Math.min(low - least, most - high);
}
function worstVerdict(verdicts) {
  if (verdicts.length === 0) return "unproven";
  if (verdicts.every((verdict) => verdict === "in-window")) return "in-window";
  if (verdicts.includes("under")) return "under";
  if (verdicts.includes("over")) return "over";
  return "unproven";
}

// shared-models/score/constants-doubt.ts
var UNPLANNED_S = 3600;
function constantsDoubt(recipe, heldC) {
  const { law: spec, plannedMin } = recipe;
  if (spec.standardErrors === void 0 && spec.covariance === void 0) return 0;
  const law = createLaw(spec);
  const { window, perLawUnit } = judgedWindow(recipe, law.unit);
  const toLeastS = law.secondsToReach(law.initial, window.least / perLawUnit, heldC);
  const plannedS = plannedMin === void 0 ? Infinity : plannedMin * 60;
  const soonerS = Math.min(toLeastS, plannedS);
  const durationS = soonerS > 0 && soonerS < Infinity ? soonerS : UNPLANNED_S;
  return Math.min(1, lawDoubt(spec, heldC, durationS).ofRate);
}

// shared-models/score/fitted-span.ts
function spansOf(sensor) {
  const changes = sensor.changes ?? [];
  const starts = [{ fromMs: -Infinity, sensor }, ...changes];
  return starts.map((each, index) => ({
    fromMs: each.fromMs,
    toMs: starts[index + 1]?.fromMs ?? Infinity,
    sensor: each.sensor
  }));
}
function sourcesOf(point, sensor) {
  const others = (sensor.changes ?? []).map((change) => change.sensor?.readsFrom);
  return [.../* @__PURE__ */ new Set([sensor.readsFrom ?? point, ...others.map((other) => other ?? point)])];
}
function readingsFor(point, sensor, byPoint) {
  const [source, ...others] = sourcesOf(point, sensor);
  if (others.length === 0) return byPoint.get(source) ?? [];
  return spansOf(sensor).flatMap(
    ({ fromMs, toMs, sensor: fitted }) => (byPoint.get(fitted?.readsFrom ?? point) ?? []).filter(
      ({ tMs }) => tMs >= fromMs && tMs < toMs
    )
  );
}
function seamsOf(point, sensor, fromMs, toMs) {
  const spans = spansOf(sensor);
  return spans.slice(1).flatMap((span, index) => {
    if (span.fromMs < fromMs || span.fromMs > toMs) return [];
    const [before, after] = [sideOf(spans[index].sensor), sideOf(span.sensor)];
    return [{ point, atMs: span.fromMs, before, after }];
  });
}
function sideOf(sensor) {
  if (sensor === null) return null;
  return { instrument: sensor.instrument ?? null, certificate: sensor.certificate ?? null };
}
function widestOf(sensor) {
  if (sensor.changes === void 0) return sensor;
  const fitted = spansOf(sensor).flatMap((span) => span.sensor === null ? [] : [span.sensor]);
  const most = (of) => fitted.reduce((greatest, each) => Math.max(greatest, of(each)), of(sensor));
  return {
    ...sensor,
    expandedK: most(({ expandedK }) => expandedK),
    resolutionK: most(({ resolutionK }) => resolutionK),
    noiseK: most(({ noiseK }) => noiseK ?? 0),
    plausible: {
      minC: -most(({ plausible }) => -plausible.minC),
      maxC: most(({ plausible }) => plausible.maxC),
      maxRateKPerMin: most(({ plausible }) => plausible.maxRateKPerMin)
    }
  };
}

// shared-models/score/grid.ts
var STEP_S = { press: 1, bench: 1, oven: 5, rack: 60, store: 600 };
function stepSecondsOf(kind) {
  return STEP_S[kind];
}
function gridOf(startMs, endMs, stepS) {
  const stepMs = stepS * 1e3;
  return { startMs, endMs, stepMs, steps: Math.max(0, Math.ceil((endMs - startMs) / stepMs)) };
}
function gridTimeMs({ startMs, endMs, stepMs }, steps) {
  return Math.min(startMs + steps * stepMs, Math.max(startMs, endMs));
}

// shared-models/score/laws.ts
function runLaws(spec, ofConstants = 0) {
  const [leastC, mostC] = spec.validC ?? [-Infinity, Infinity];
  const floorC = Math.max(spec.floorC ?? -Infinity, leastC);
  return {
    low: createLaw({
      ...spec,
      floorC: floorC === -Infinity ? void 0 : floorC,
      ceilingC: void 0
    }),
    nominal: createLaw(spec),
    high: createLaw({ ...spec, ceilingC: void 0 }),
    ceilingC: Math.min(spec.ceilingC ?? Infinity, mostC),
    safe: {
      low: spec.validC !== void 0 || spec.ceilingC !== void 0,
      high: spec.ceilingC !== void 0
    },
    ofConstants
  };
}

// shared-models/score/marks.ts
function gridStartMs({ marks, startMs }) {
  return marks.contact === null ? startMs : Math.min(startMs, marks.contact.earliestMs);
}
function gridEndMs({ endMs, asOfMs, marks }) {
  return endMs === null ? asOfMs : Math.max(endMs, marks.open?.latestMs ?? endMs);
}
function creditOf(input, direction) {
  const { contact, pressureOn, releaseStart } = input.marks;
  const startMs = gridStartMs(input);
  const stepMs = stepSecondsOf(input.station.kind) * 1e3;
  const steps = (timeOf(contact ?? pressureOn, -direction) - startMs) / stepMs;
  const heatFromMs = startMs + stepMs * (direction < 0 ? Math.ceil(steps) : Math.floor(steps + (direction > 0 ? 0 : 0.5)));
  const pressureMs = contact === null ? heatFromMs : timeOf(pressureOn, direction);
  if (direction > 0) return { heatFromMs, pressureMs, fromMs: heatFromMs, toMs: Infinity };
  return {
    heatFromMs,
    pressureMs,
    fromMs: timeOf(pressureOn, -direction),
    toMs: releaseStart === null ? Infinity : timeOf(releaseStart, direction)
  };
}
function sameCredit(a, b) {
  return a.heatFromMs === b.heatFromMs && a.fromMs === b.fromMs && a.toMs === b.toMs;
}
function timeOf({ earliestMs, latestMs }, end) {
  if (end === 0) return 0.5 * (earliestMs + latestMs);
  return end > 0 ? latestMs : earliestMs;
}

// shared-models/metrology/resistance.ts
var resistanceTypes = ["Pt100", "Pt1000"];
var A = 39083e-7;
var B = -5775e-10;
var C = -4183e-15;
var resistanceRangeC = { fromC: -200, toC: 850 };
var ROUNDING_SHARE = 5e-5;
var NEWTON_STEPS = 4;
function resistanceAt0C(type) {
  return type === "Pt100" ? 100 : 1e3;
}
function ratioAt(tempC) {
  const quadratic = 1 + tempC * (A + B * tempC);
  return tempC >= 0 ? quadratic : quadratic + C * (tempC - 100) * tempC * tempC * tempC;
}
function slopeBelow0(tempC) {
  return A + 2 * B * tempC + C * tempC * tempC * (4 * tempC - 300);
}
function celsiusOfOhm(type, elementOhm) {
  const ratio = elementOhm / resistanceAt0C(type);
  const inside = ratio >= ratioAt(resistanceRangeC.fromC) - ROUNDING_SHARE && ratio <= ratioAt(resistanceRangeC.toC) + ROUNDING_SHARE;
  if (!inside) return null;
  let tempC = 2 * (ratio - 1) / (A + Math.sqrt(A * A - 4 * B * (1 - ratio)));
  if (ratio >= 1) return tempC;
  for (let step = 0; step < NEWTON_STEPS; step++) {
    tempC -= (ratioAt(tempC) - ratio) / slopeBelow0(tempC);
  }
  return tempC;
}

// shared-models/metrology/temperature-unit.ts
function celsiusOf(value, unit) {
  switch (unit) {
    case "celsius":
      return value;
    case "fahrenheit":
      return celsiusOfFahrenheit(value);
    case "kelvin":
      return celsiusOfKelvin(value);
  }
}

// shared-models/metrology/its90.ts
var its90 = {
  K: {
    forward: [
      {
        fromC: -270,
        toC: 0,
        coefficients: [
          0,
          0.039450128025,
          23622373598e-15,
          -32858906784e-17,
          -49904828777e-19,
          -67509059173e-21,
          -57410327428e-23,
          -31088872894e-25,
          -10451609365e-27,
          -19889266878e-30,
          -16322697486e-33
        ]
      },
      {
        fromC: 0,
        toC: 1372,
        coefficients: [
          -0.017600413686,
          0.038921204975,
          18558770032e-15,
          -99457592874e-18,
          31840945719e-20,
          -56072844889e-23,
          56075059059e-26,
          -32020720003e-29,
          97151147152e-33,
          -12104721275e-36
        ]
      }
    ],
    inverse: [
      {
        fromMv: -5.891,
        toMv: 0,
        coefficients: [
          0,
          25.173462,
          -1.1662878,
          -1.0833638,
          -0.8977354,
          -0.37342377,
          -0.086632643,
          -0.010450598,
          -51920577e-11
        ],
        errorK: [-0.02, 0.04]
      },
      {
        fromMv: 0,
        toMv: 20.644,
        coefficients: [
          0,
          25.08355,
          0.07860106,
          -0.2503131,
          0.0831527,
          -0.01228034,
          9804036e-10,
          -441303e-10,
          1057734e-12,
          -1052755e-14
        ],
        errorK: [-0.05, 0.04]
      },
      {
        fromMv: 20.644,
        toMv: 54.886,
        coefficients: [
          -131.8058,
          48.30222,
          -1.646031,
          0.05464731,
          -9650715e-10,
          8802193e-12,
          -311081e-13
        ],
        errorK: [-0.05, 0.06]
      }
    ],
    exponential: { a0Mv: 0.1185976, a1: -1183432e-10, a2C: 126.9686 }
  },
  J: {
    forward: [
      {
        fromC: -210,
        toC: 760,
        coefficients: [
          0,
          0.050381187815,
          3047583693e-14,
          -8568106572e-17,
          13228195295e-20,
          -17052958337e-23,
          20948090697e-26,
          -12538395336e-29,
          15631725697e-33
        ]
      },
      {
        fromC: 760,
        toC: 1200,
        coefficients: [
          296.45625681,
          -1.4976127786,
          0.0031787103924,
          -31847686701e-16,
          15720819004e-19,
          -30691369056e-23
        ]
      }
    ],
    inverse: [
      {
        fromMv: -8.095,
        toMv: 0,
        coefficients: [
          0,
          19.528268,
          -1.2286185,
          -1.0752178,
          -0.59086933,
          -0.17256713,
          -0.028131513,
          -2396337e-9,
          -83823321e-12
        ],
        errorK: [-0.05, 0.03]
      },
      {
        fromMv: 0,
        toMv: 42.919,
        coefficients: [
          0,
          19.78425,
          -0.2001204,
          0.01036969,
          -2549687e-10,
          3585153e-12,
          -5344285e-14,
          509989e-15
        ],
        errorK: [-0.04, 0.04]
      },
      {
        fromMv: 42.919,
        toMv: 69.553,
        coefficients: [
          -3113.58187,
          300.543684,
          -9.9477323,
          0.17027663,
          -0.00143033468,
          473886084e-14
        ],
        errorK: [-0.04, 0.03]
      }
    ],
    exponential: null
  },
  T: {
    forward: [
      {
        fromC: -270,
        toC: 0,
        coefficients: [
          0,
          0.038748106364,
          44194434347e-15,
          11844323105e-17,
          20032973554e-18,
          90138019559e-20,
          22651156593e-21,
          36071154205e-23,
          38493939883e-25,
          28213521925e-27,
          14251594779e-29,
          48768662286e-32,
          1079553927e-33,
          13945027062e-37,
          79795153927e-41
        ]
      },
      {
        fromC: 0,
        toC: 400,
        coefficients: [
          0,
          0.038748106364,
          3329222788e-14,
          20618243404e-17,
          -21882256846e-19,
          10996880928e-21,
          -30815758772e-24,
          4547913529e-26,
          -27512901673e-30
        ]
      }
    ],
    inverse: [
      {
        fromMv: -5.603,
        toMv: 0,
        coefficients: [
          0,
          25.949192,
          -0.21316967,
          0.79018692,
          0.42527777,
          0.13304473,
          0.020241446,
          0.0012668171
        ],
        errorK: [-0.02, 0.04]
      },
      {
        fromMv: 0,
        toMv: 20.872,
        coefficients: [0, 25.928, -0.7602961, 0.04637791, -2165394e-9, 6048144e-11, -7293422e-13],
        errorK: [-0.03, 0.03]
      }
    ],
    exponential: null
  },
  N: {
    forward: [
      {
        fromC: -270,
        toC: 0,
        coefficients: [
          0,
          0.026159105962,
          10957484228e-15,
          -93841111554e-18,
          -46412039759e-21,
          -26303357716e-22,
          -22653438003e-24,
          -76089300791e-27,
          -93419667835e-30
        ]
      },
      {
        fromC: 0,
        toC: 1300,
        coefficients: [
          0,
          0.025929394601,
          1571014188e-14,
          43825627237e-18,
          -25261169794e-20,
          64311819339e-23,
          -10063471519e-25,
          99745338992e-29,
          -60863245607e-32,
          20849229339e-35,
          -30682196151e-39
        ]
      }
    ],
    inverse: [
      {
        fromMv: -3.99,
        toMv: 0,
        coefficients: [
          0,
          38.436847,
          1.1010485,
          5.2229312,
          7.2060525,
          5.8488586,
          2.7754916,
          0.77075166,
          0.11582665,
          0.0073138868
        ],
        errorK: [-0.02, 0.03]
      },
      {
        fromMv: 0,
        toMv: 20.613,
        coefficients: [
          0,
          38.6896,
          -1.08267,
          0.0470205,
          -212169e-11,
          -117272e-9,
          53928e-10,
          -798156e-13
        ],
        errorK: [-0.02, 0.03]
      },
      {
        fromMv: 20.613,
        toMv: 47.513,
        coefficients: [19.72485, 33.00943, -0.3915159, 9855391e-9, -1274371e-10, 7767022e-13],
        errorK: [-0.04, 0.02]
      }
    ],
    exponential: null
  }
};

// shared-models/metrology/thermocouple.ts
var thermocoupleTypes = ["K", "J", "T", "N"];
var ROUNDING_MV = 5e-4;
var NEWTON_STEPS2 = 2;
function reference(type, tempC) {
  let piece = type.forward[0];
  for (const each of type.forward) {
    if (tempC <= each.fromC) break;
    piece = each;
  }
  const { coefficients } = piece;
  let emfMv = 0;
  let slopeMvPerK = 0;
  for (let i = coefficients.length - 1; i >= 0; i--) {
    slopeMvPerK = slopeMvPerK * tempC + emfMv;
    emfMv = emfMv * tempC + coefficients[i];
  }
  if (type.exponential !== null && tempC > 0) {
    const { a0Mv, a1, a2C } = type.exponential;
    const fromPeakK = tempC - a2C;
    const bumpMv = a0Mv * exp(a1 * fromPeakK * fromPeakK);
    emfMv += bumpMv;
    slopeMvPerK += 2 * a1 * fromPeakK * bumpMv;
  }
  return { emfMv, slopeMvPerK };
}
function millivoltOfCelsius(type, tempC) {
  const { forward } = its90[type];
  if (!(tempC >= forward[0].fromC && tempC <= forward.at(-1).toC)) return null;
  return reference(its90[type], tempC).emfMv;
}
function inversePiece(type, emfMv) {
  const { inverse } = its90[type];
  if (!(emfMv >= inverse[0].fromMv - ROUNDING_MV)) return null;
  for (const piece of inverse) if (emfMv <= piece.toMv) return piece;
  const last = inverse.at(-1);
  return emfMv <= last.toMv + ROUNDING_MV ? last : null;
}
function celsiusByInversePolynomial(type, emfMv) {
  const piece = inversePiece(type, emfMv);
  if (piece === null) return null;
  let tempC = 0;
  for (let i = piece.coefficients.length - 1; i >= 0; i--) {
    tempC = tempC * emfMv + piece.coefficients[i];
  }
  return tempC;
}
function celsiusOfMillivolt(type, emfMv) {
  let tempC = celsiusByInversePolynomial(type, emfMv);
  if (tempC === null) return null;
  for (let step = 0; step < NEWTON_STEPS2; step++) {
    const { emfMv: atMv, slopeMvPerK } = reference(its90[type], tempC);
    tempC -= (atMv - emfMv) / slopeMvPerK;
  }
  return tempC;
}
function hotJunctionC(type, measuredMv, terminalsC) {
  const terminalsMv = millivoltOfCelsius(type, terminalsC);
  return terminalsMv === null ? null : celsiusOfMillivolt(type, measuredMv + terminalsMv);
}

// shared-models/metrology/tolerance.ts
var elementTypes = [...thermocoupleTypes, ...resistanceTypes];
var platinum = (name, constantK, share2, fromC, toC) => ({
  standard: "IEC 60751",
  class: name,
  types: resistanceTypes,
  form: "sum",
  constantK,
  share: share2,
  fromC,
  toC
});
var thermocouple = (standard, name, types, constantK, share2, [fromC, toC]) => ({
  standard,
  class: name,
  types,
  form: "greater",
  constantK,
  share: share2,
  fromC,
  toC
});
var tolerances = [
  platinum("AA", 0.1, 17e-4, -50, 250),
  platinum("A", 0.15, 2e-3, -100, 450),
  platinum("B", 0.3, 5e-3, -196, 600),
  platinum("C", 0.6, 0.01, -196, 600),
  thermocouple("IEC 60584-1", "1", ["K", "N"], 1.5, 4e-3, [-40, 1e3]),
  thermocouple("IEC 60584-1", "1", ["J"], 1.5, 4e-3, [-40, 750]),
  thermocouple("IEC 60584-1", "1", ["T"], 0.5, 4e-3, [-40, 350]),
  thermocouple("IEC 60584-1", "2", ["K", "N"], 2.5, 75e-4, [-40, 1200]),
  thermocouple("IEC 60584-1", "2", ["J"], 2.5, 75e-4, [-40, 750]),
  thermocouple("IEC 60584-1", "2", ["T"], 1, 75e-4, [-40, 350]),
  thermocouple("ASTM E230", "standard", ["K", "N"], 2.2, 75e-4, [0, 1260]),
  thermocouple("ASTM E230", "standard", ["J"], 2.2, 75e-4, [0, 760]),
  thermocouple("ASTM E230", "standard", ["T"], 1, 75e-4, [0, 370]),
  thermocouple("ASTM E230", "special", ["K", "N"], 1.1, 4e-3, [0, 1260]),
  thermocouple("ASTM E230", "special", ["J"], 1.1, 4e-3, [0, 760]),
  thermocouple("ASTM E230", "special", ["T"], 0.5, 4e-3, [0, 370])
];

// shared-models/metrology/signal.ts
function celsiusOfSignal(raw, from) {
  if (!Number.isFinite(raw)) return null;
  switch (from.signal) {
    case "ohm":
      return celsiusOfOhm(from.type, raw - from.leadOhm);
    case "millivolt":
      return hotJunctionC(from.type, raw, from.terminalsC);
    case "celsius":
    case "fahrenheit":
    case "kelvin":
      return celsiusOf(raw, from.signal);
  }
}

// shared-models/score/point-history.ts
var GAP_IN_SPACINGS = 3;
var HEARTBEAT_IN_TIME = 1.5;
var SHORTEST_GAP_MS = 5e3;
var SPACINGS_ASKED = 99;
var PointHistory = class {
  timesMs = [];
  /** Of a point that measures no temperature: in its signal's unit. */
  valuesC = [];
  /** Whether each was the very next to come after the one before it. */
  isNext = [];
  doubtful = 0;
  conflicts = 0;
  duplicates = 0;
  /** Null: it measures temperature. */
  signal;
  spans;
  doubted;
  span = 0;
  /** Something that does not count came since the last one that does. */
  isBroken = false;
  lastIndicatedC = NaN;
  usualMs = null;
  constructor(sensor) {
    const isSignal = "expanded" in sensor;
    this.signal = isSignal ? sensor : null;
    this.spans = isSignal ? [] : spansOf(sensor);
    this.doubted = isSignal ? [] : sensor.doubted ?? [];
  }
  /** Usual time between its readings [ms]; null with fewer than two. */
  get spacingMs() {
    const spacings = Math.min(this.timesMs.length - 1, SPACINGS_ASKED);
    if (spacings < 1) return null;
    if (this.usualMs !== null) return this.usualMs;
    const sorted = Array.from(
      { length: spacings },
      (_, i) => this.timesMs[i + 1] - this.timesMs[i]
    );
    sorted.sort((a, b) => a - b);
    const median = sorted[Math.floor(spacings / 2)];
    if (spacings === SPACINGS_ASKED) this.usualMs = median;
    return median;
  }
  /** Takes the only value there is for a time later than all before; a doubtful one is counted out. */
  take(tMs, raw) {
    if (this.signal !== null) {
      this.takeSignal(tMs, raw, this.signal);
      return;
    }
    while (tMs >= this.spans[this.span].toMs) {
      this.span += 1;
      this.lastIndicatedC = NaN;
      this.isBroken = true;
    }
    const { sensor } = this.spans[this.span];
    const shownC = sensor === null || this.isDoubted(tMs) ? null : indicatedC(raw, sensor);
    if (sensor === null || shownC === null || !this.isBelievable(tMs, shownC, sensor)) {
      this.doubtful += 1;
      this.isBroken = true;
      return;
    }
    this.isNext.push(!this.isBroken);
    this.isBroken = false;
    this.timesMs.push(tMs);
    this.valuesC.push(shownC + correctionK(sensor.corrections, shownC));
    this.lastIndicatedC = shownC;
  }
  /** Two values came for one time: neither counts. */
  conflict(values) {
    this.conflicts += values;
    this.isBroken = true;
  }
  takeSignal(tMs, value, { plausible }) {
    if (value < plausible.min || value > plausible.max) {
      this.doubtful += 1;
      return;
    }
    this.timesMs.push(tMs);
    this.valuesC.push(value);
  }
  isDoubted(tMs) {
    return this.doubted.some(({ fromMs, toMs }) => tMs >= fromMs && (toMs === null || tMs <= toMs));
  }
  isBelievable(tMs, shownC, sensor) {
    const { plausible, calibratedC, resolutionK } = sensor;
    if (sensor.unproven !== void 0) return false;
    if (shownC < plausible.minC || shownC > plausible.maxC) return false;
    if (calibratedC !== null && (shownC < calibratedC[0] || shownC > calibratedC[1])) return false;
    const last = this.timesMs.length - 1;
    if (last < 0 || Number.isNaN(this.lastIndicatedC)) return true;
    const mostK = plausible.maxRateKPerMin * (tMs - this.timesMs[last]) / 6e4 + 4 * resolutionK;
    return Math.abs(shownC - this.lastIndicatedC) <= mostK;
  }
};
function pointHistory(readings, sensor, untilMs) {
  const history = new PointHistory(sensor);
  for (let i = 0; i < readings.length; ) {
    const { tMs, value } = readings[i];
    let next = i + 1;
    let same = true;
    while (next < readings.length && readings[next].tMs === tMs) {
      if (readings[next].value !== value) same = false;
      next += 1;
    }
    if (same) history.duplicates += next - i - 1;
    else history.conflict(next - i);
    if (same && tMs <= untilMs) history.take(tMs, value);
    i = next;
  }
  return history;
}
function indicatedC(raw, { signal, conversion }) {
  if (conversion !== void 0) return celsiusOfSignal(raw, conversion);
  return signal === "celsius" ? raw : null;
}
function correctionK(rows, atC) {
  if (rows.length === 0) return 0;
  if (atC <= rows[0].atC) return rows[0].correctionK;
  for (let i = 1; i < rows.length; i += 1) {
    const from = rows[i - 1];
    const to = rows[i];
    if (atC <= to.atC) {
      const share2 = (atC - from.atC) / (to.atC - from.atC);
      return from.correctionK + share2 * (to.correctionK - from.correctionK);
    }
  }
  return rows[rows.length - 1].correctionK;
}
function heartbeatInTimeMs(onChange) {
  return onChange === void 0 ? 0 : HEARTBEAT_IN_TIME * onChange.heartbeatMs;
}
function gapsOf(point, { timesMs, spacingMs }, [fromMs, untilMs], ended, aliveMs = 0) {
  const longestMs = Math.max(SHORTEST_GAP_MS, GAP_IN_SPACINGS * (spacingMs ?? 0), aliveMs);
  const gaps = [];
  let lastMs = fromMs;
  for (const t of timesMs) {
    if (t > untilMs) break;
    if (t > fromMs && t - lastMs > longestMs) gaps.push({ point, fromMs: lastMs, toMs: t });
    if (t > lastMs) lastMs = t;
  }
  if (untilMs - lastMs > longestMs) {
    gaps.push({ point, fromMs: lastMs, toMs: ended ? untilMs : null });
  }
  return gaps;
}

// shared-models/score/readings.ts
var HEADING = "point,t_ms,value";
function canonicalReadings(readings) {
  const lines = readings.map(
    ({ point, tMs, value }) => `${point},${tMs},${value === 0 ? 0 : value}`
  );
  const order = new Map(lines.map((line, index) => [line, readings[index]]));
  const unique = [...order].sort(([, a], [, b]) => byPointAndTime(a, b));
  return `${HEADING}
${unique.map(([line]) => `${line}
`).join("")}`;
}
function parseReadings(csv) {
  const lines = csv.split("\n");
  if (lines[0] !== HEADING || lines[lines.length - 1] !== "") {
    throw new RangeError(`readings: expected "${HEADING}" and a line feed at the end`);
  }
  return lines.slice(1, -1).map((line, index) => {
    const [point, t, v, ...rest] = line.split(",");
    const tMs = Number(t);
    const value = Number(v);
    if (!point || rest.length > 0 || !Number.isFinite(tMs) || !Number.isFinite(value)) {
      throw new RangeError(`readings, line ${index + 2}: found "${line}", expected ${HEADING}`);
    }
    return { point, tMs, value };
  });
}
function byPointOf(readings) {
  const byPoint = /* @__PURE__ */ new Map();
  for (const reading of readings) {
    const own = byPoint.get(reading.point);
    if (own === void 0) byPoint.set(reading.point, [reading]);
    else own.push(reading);
  }
  return byPoint;
}
function byPointAndTime(a, b) {
  if (a.point !== b.point) return a.point < b.point ? -1 : 1;
  return a.tMs - b.tMs || a.value - b.value;
}

// shared-models/heat/conduction.ts
var HELD_WPerM2K = 1e9;
var GAMMA = 1 - Math.sqrt(0.5);
var SECOND_STAGE = (1 - GAMMA) / GAMMA;
var Conduction = class {
  /** Where the elimination from both faces meets. */
  middle;
  /** 1: an even number of nodes, of which one more lies above the middle than below it. */
  lone;
  /**
   * C + θ·dt·K factored: what a node has of its own temperature, of its neighbour's (the face's) outwards and
   * of that inwards. At the middle: of the one above and the one below.
   */
  own;
  outer;
  inner;
  stage;
  /**
   * @param stepS [s], > 0
   * @param order 1 keeps the maximum principle (implicit Euler), 2 is more exact
   */
  constructor(slab, contacts, stepS, order, vary = { diffusivity: 1, contact: 1 }) {
    const size = slab.depthsMm.length;
    const stageS = order === 1 ? stepS : GAMMA * stepS;
    this.middle = Math.floor(size / 2);
    this.lone = size % 2 === 0 ? 1 : 0;
    this.own = new Float64Array(size);
    this.outer = new Float64Array(size);
    this.inner = new Float64Array(size);
    this.stage = new Float64Array(order === 1 ? 0 : size);
    const factors = { layer: vary.diffusivity, contact: vary.contact, platen: 1 };
    const between2 = slab.conductanceWPerM2K.map((value, i) => factors[slab.variesAs[i]] * value);
    const upper = Math.min(contacts.upperWPerM2K, HELD_WPerM2K);
    const lower = Math.min(contacts.lowerWPerM2K, HELD_WPerM2K);
    this.factor(
      slab.capacityJPerM2K,
      [upper, ...between2, lower].map((each) => stageS * each)
    );
  }
  /** @param beside θ·dt·K between each node and the one above; the faces' at its ends */
  factor(capacity, beside) {
    const { middle, own, outer, inner } = this;
    const size = own.length;
    const pivots = capacity.map((value, i) => value + beside[i] + beside[i + 1]);
    const eliminate = (i, outwards, inwards) => {
      own[i] = capacity[i] / pivots[i];
      outer[i] = outwards / pivots[i];
      inner[i] = inwards / pivots[i];
    };
    for (let i = 0; i < middle; i += 1) {
      eliminate(i, beside[i], beside[i + 1]);
      pivots[i + 1] -= inner[i] * beside[i + 1];
    }
    for (let i = size - 1; i > middle; i -= 1) {
      eliminate(i, beside[i + 1], beside[i]);
      pivots[i - 1] -= inner[i] * beside[i];
    }
    eliminate(middle, beside[middle], beside[middle + 1]);
  }
  /**
   * Advances temperatures in place over one step.
   *
   * @param tempC one value a node [°C]
   * @param upperFromC, upperToC, lowerFromC, lowerToC face temperatures, linear over the step [°C]
   */
  step(tempC, upperFromC, upperToC, lowerFromC, lowerToC) {
    const { stage } = this;
    if (stage.length === 0) {
      this.solve(tempC, upperToC, lowerToC, tempC);
      return;
    }
    const upperC = upperFromC + GAMMA * (upperToC - upperFromC);
    const lowerC = lowerFromC + GAMMA * (lowerToC - lowerFromC);
    this.solve(tempC, upperC, lowerC, stage);
    for (let i = 0; i < stage.length; i += 1) {
      stage[i] = tempC[i] + SECOND_STAGE * (stage[i] - tempC[i]);
    }
    this.solve(stage, upperToC, lowerToC, tempC);
  }
  /**
   * Solves (C + θ·dt·K) x = C·T + faces into `into`: from both faces to the middle, and back. The two halves go
   * side by side, so that neither waits for the other's sums.
   */
  solve(tempC, upperC, lowerC, into) {
    const { middle, lone, own, outer, inner } = this;
    let upper = upperC;
    let lower = lowerC;
    if (lone === 1) into[0] = upper = own[0] * tempC[0] + outer[0] * upper;
    for (let i = lone, j = tempC.length - 1; i < middle; i += 1, j -= 1) {
      into[i] = upper = own[i] * tempC[i] + outer[i] * upper;
      into[j] = lower = own[j] * tempC[j] + outer[j] * lower;
    }
    upper = own[middle] * tempC[middle] + outer[middle] * upper + inner[middle] * lower;
    into[middle] = lower = upper;
    for (let i = middle - 1, j = middle + 1; i >= lone; i -= 1, j += 1) {
      into[i] = upper = into[i] + inner[i] * upper;
      into[j] = lower = into[j] + inner[j] * lower;
    }
    if (lone === 1) into[0] += inner[0] * upper;
  }
};

// shared-models/heat/evaporation.ts
var BOILING_C = 99.974;
var LATENT_J_PER_KG = 2256500;
var COLD = 0;
var BOILING = 1;
var DRYING = 2;
var MOST_ROUNDS = 40;
var WetConduction = class {
  slab;
  upperWPerM2K;
  lowerWPerM2K;
  stageS;
  order;
  beside;
  /** Of each glue line: in this round, and as the equations were factored last. */
  states;
  factored;
  perPivot;
  ratio;
  back;
  boils;
  known;
  stage;
  rhs;
  gone;
  /** @param order 1 keeps the maximum principle (implicit Euler), 2 is more exact */
  constructor(slab, contacts, stepS, order, vary = { diffusivity: 1, contact: 1 }) {
    const size = slab.depthsMm.length;
    this.slab = slab;
    this.upperWPerM2K = Math.min(contacts.upperWPerM2K, HELD_WPerM2K);
    this.lowerWPerM2K = Math.min(contacts.lowerWPerM2K, HELD_WPerM2K);
    this.order = order;
    this.stageS = order === 1 ? stepS : GAMMA * stepS;
    const factors = { layer: vary.diffusivity, contact: vary.contact, platen: 1 };
    this.beside = Float64Array.from(
      slab.conductanceWPerM2K,
      (value, i) => this.stageS * factors[slab.variesAs[i]] * value
    );
    this.states = new Int8Array(slab.glueLineNodes.length);
    this.factored = new Int8Array(slab.glueLineNodes.length).fill(-1);
    this.perPivot = new Float64Array(size);
    this.ratio = new Float64Array(size);
    this.back = new Float64Array(size);
    this.boils = new Uint8Array(size);
    this.known = new Float64Array(size);
    this.stage = new Float64Array(size);
    this.rhs = new Float64Array(size);
    this.gone = new Float64Array(slab.glueLineNodes.length);
  }
  /**
   * Advances temperatures and water in place over one step.
   *
   * @param tempC one value a node [°C]
   * @param waterKgPerM2 left in each glue line
   * @param upperFromC, upperToC, lowerFromC, lowerToC face temperatures, linear over the step [°C]
   */
  step(tempC, waterKgPerM2, upperFromC, upperToC, lowerFromC, lowerToC) {
    const { capacityJPerM2K, glueLineNodes } = this.slab;
    const { known: known2, gone, stage } = this;
    for (let i = 0; i < tempC.length; i += 1) known2[i] = capacityJPerM2K[i] * tempC[i];
    glueLineNodes.forEach((node, line) => {
      const boils = waterKgPerM2[line] > 0 && tempC[node] >= BOILING_C;
      this.states[line] = boils ? BOILING : COLD;
    });
    if (this.order === 2) {
      const upperC = upperFromC + GAMMA * (upperToC - upperFromC);
      const lowerC = lowerFromC + GAMMA * (lowerToC - lowerFromC);
      this.settle(waterKgPerM2, upperC, lowerC, stage);
      const weight = (1 - GAMMA) / GAMMA;
      for (let i = 0; i < tempC.length; i += 1) {
        known2[i] += weight * (capacityJPerM2K[i] * stage[i] - known2[i]);
      }
      glueLineNodes.forEach((node, line) => {
        known2[node] += weight * LATENT_J_PER_KG * gone[line];
      });
    }
    this.settle(waterKgPerM2, upperToC, lowerToC, tempC);
    for (let line = 0; line < gone.length; line += 1) {
      waterKgPerM2[line] = Math.max(0, waterKgPerM2[line] - gone[line]);
    }
  }
  /** Finds which lines boil, and the temperatures with them. */
  settle(waterKgPerM2, upperC, lowerC, into) {
    const { states } = this;
    for (let round = 0; round < MOST_ROUNDS; round += 1) {
      this.solve(waterKgPerM2, upperC, lowerC, into);
      let changed = false;
      this.slab.glueLineNodes.forEach((node, line) => {
        const now = states[line];
        const next = this.stateAfter(now, waterKgPerM2[line], into[node], this.gone[line]);
        if (next !== now) changed = true;
        states[line] = next;
      });
      if (!changed) return;
    }
  }
  stateAfter(now, waterKgPerM2, nodeC, goneKg) {
    if (waterKgPerM2 <= 0) return COLD;
    if (now === COLD) return nodeC > BOILING_C ? BOILING : COLD;
    if (now === DRYING) return nodeC < BOILING_C ? BOILING : DRYING;
    if (goneKg < 0) return COLD;
    return goneKg > waterKgPerM2 ? DRYING : BOILING;
  }
  /** Solves (C + θ·dt·K) x + L·gone = known + faces, boiling lines held at the boiling point. */
  solve(waterKgPerM2, upperC, lowerC, into) {
    if (this.states.some((state, line) => state !== this.factored[line])) this.factor();
    const { states, beside, perPivot, ratio, back, boils, known: known2, rhs, gone, stageS } = this;
    const { glueLineNodes, capacityJPerM2K } = this.slab;
    rhs.set(known2);
    rhs[0] += stageS * this.upperWPerM2K * upperC;
    rhs[rhs.length - 1] += stageS * this.lowerWPerM2K * lowerC;
    glueLineNodes.forEach((node, line) => {
      if (states[line] === DRYING) rhs[node] -= LATENT_J_PER_KG * waterKgPerM2[line];
    });
    let carried = 0;
    for (let i = 0; i < rhs.length; i += 1) {
      rhs[i] = carried = boils[i] === 1 ? BOILING_C : rhs[i] + ratio[i] * carried;
    }
    let below = 0;
    for (let i = rhs.length - 1; i >= 0; i -= 1) {
      below = (rhs[i] + back[i] * below) * perPivot[i];
      into[i] = below;
    }
    glueLineNodes.forEach((node, line) => {
      gone[line] = states[line] === DRYING ? waterKgPerM2[line] : 0;
      if (states[line] !== BOILING) return;
      const come = known2[node] + beside[node - 1] * (into[node - 1] - BOILING_C) + beside[node] * (into[node + 1] - BOILING_C);
      gone[line] = (come - capacityJPerM2K[node] * BOILING_C) / LATENT_J_PER_KG;
    });
  }
  factor() {
    const { beside, perPivot, ratio, back, boils, stageS, states } = this;
    const { capacityJPerM2K, glueLineNodes } = this.slab;
    this.factored.set(states);
    boils.fill(0);
    glueLineNodes.forEach((node, line) => {
      if (states[line] === BOILING) boils[node] = 1;
    });
    const last = perPivot.length - 1;
    for (let i = 0; i <= last; i += 1) {
      if (boils[i] === 1) {
        perPivot[i] = 1;
        back[i] = 0;
        ratio[i] = 0;
        continue;
      }
      const above = i === 0 ? stageS * this.upperWPerM2K : beside[i - 1];
      const below = i === last ? stageS * this.lowerWPerM2K : beside[i];
      let pivot = capacityJPerM2K[i] + above + below;
      ratio[i] = i === 0 ? 0 : beside[i - 1] * perPivot[i - 1];
      if (i > 0 && boils[i - 1] === 0) pivot -= ratio[i] * beside[i - 1];
      perPivot[i] = 1 / pivot;
      back[i] = i === last ? 0 : beside[i];
    }
  }
};

// shared-models/heat/wood.ts
var SPECIFIC_GRAVITY = {
  beech: 0.64,
  birch: 0.62,
  maple: 0.63,
  oak: 0.63,
  ash: 0.6,
  walnut: 0.55,
  poplar: 0.42,
  spruce: 0.4,
  pine: 0.4
};
var REFERENCE_K = 350;
var HANDBOOK_K = 297;
var CONDUCTIVITY_RISE_PER_K = 25e-4;
var knownWoods = Object.keys(SPECIFIC_GRAVITY);
function woodThermal(material, moisturePct, densityKgPerM3) {
  const x = moisturePct;
  const known2 = Object.hasOwn(SPECIFIC_GRAVITY, material) ? SPECIFIC_GRAVITY[material] : void 0;
  const gravity = densityKgPerM3 === null ? known2 : densityKgPerM3 / (1e3 * (1 + x / 100));
  if (gravity === void 0) return null;
  const warmer = 1 + CONDUCTIVITY_RISE_PER_K * (REFERENCE_K - HANDBOOK_K);
  const conductivityWPerMK = warmer * (gravity * (0.1941 + 4064e-6 * x) + 0.01864);
  const dryKJPerKgK = 0.1031 + 3867e-6 * REFERENCE_K;
  const boundKJPerKgK = x * (-0.06191 + 236e-6 * REFERENCE_K - 133e-6 * x);
  const heatCapacityJPerKgK = 1e3 * ((dryKJPerKgK + 4.18 * x / 100) / (1 + x / 100) + boundKJPerKgK);
  return {
    conductivityWPerMK,
    densityKgPerM3: densityKgPerM3 ?? 1e3 * gravity * (1 + x / 100),
    heatCapacityJPerKgK
  };
}

// shared-models/heat/materials.ts
var BOARDS = {
  plywood: {
    heatCapacityJPerKgK: 1600,
    rows: [
      [300, 0.09],
      [500, 0.13],
      [700, 0.17],
      [1e3, 0.24]
    ]
  },
  particleboard: {
    heatCapacityJPerKgK: 1700,
    rows: [
      [300, 0.1],
      [600, 0.14],
      [900, 0.18]
    ]
  },
  fibreboard: {
    heatCapacityJPerKgK: 1700,
    rows: [
      [250, 0.07],
      [400, 0.1],
      [600, 0.14],
      [800, 0.18]
    ]
  }
};
var TOOLS = {
  steel: { conductivityWPerMK: 50, densityKgPerM3: 7800, heatCapacityJPerKgK: 450 },
  "stainless-steel": { conductivityWPerMK: 17, densityKgPerM3: 7900, heatCapacityJPerKgK: 500 },
  aluminium: { conductivityWPerMK: 160, densityKgPerM3: 2800, heatCapacityJPerKgK: 880 },
  copper: { conductivityWPerMK: 380, densityKgPerM3: 8900, heatCapacityJPerKgK: 380 },
  brass: { conductivityWPerMK: 120, densityKgPerM3: 8400, heatCapacityJPerKgK: 380 },
  silicone: { conductivityWPerMK: 0.35, densityKgPerM3: 1200, heatCapacityJPerKgK: 1e3 },
  rubber: { conductivityWPerMK: 0.13, densityKgPerM3: 910, heatCapacityJPerKgK: 1100 }
};
var TOOL_FROM_WPerMK = 2;
var USUAL_MOISTURE_PCT = 8;
var knownMaterials = [...Object.keys(BOARDS), ...Object.keys(TOOLS)];
function materialOf(layer) {
  const known2 = ownMaterial(layer);
  return known2 === null || layer.tool === void 0 ? known2 : { ...known2, tool: layer.tool };
}
function ownMaterial(layer) {
  if (!("material" in layer)) {
    const { conductivityWPerMK, densityKgPerM3: densityKgPerM32, heatCapacityJPerKgK } = layer;
    const tool2 = conductivityWPerMK >= TOOL_FROM_WPerMK;
    return { conductivityWPerMK, densityKgPerM3: densityKgPerM32, heatCapacityJPerKgK, tool: tool2 };
  }
  const { material, densityKgPerM3 } = layer;
  const tool = Object.hasOwn(TOOLS, material) ? TOOLS[material] : void 0;
  if (tool !== void 0) {
    return { ...tool, densityKgPerM3: densityKgPerM3 ?? tool.densityKgPerM3, tool: true };
  }
  const board = Object.hasOwn(BOARDS, material) ? BOARDS[material] : void 0;
  if (board !== void 0) return { ...boardThermal(board, densityKgPerM3 ?? null), tool: false };
  const wood = woodThermal(
    material,
    layer.moisturePct ?? USUAL_MOISTURE_PCT,
    densityKgPerM3 ?? null
  );
  return wood === null ? null : { ...wood, tool: false };
}
function boardThermal({ rows, heatCapacityJPerKgK }, given) {
  const densityKgPerM3 = given ?? rows[Math.floor(rows.length / 2)][0];
  let conductivityWPerMK = rows[0][1];
  for (let i = 1; i < rows.length; i += 1) {
    const [fromKgPerM3, fromWPerMK] = rows[i - 1];
    const [toKgPerM3, toWPerMK] = rows[i];
    const share2 = (densityKgPerM3 - fromKgPerM3) / (toKgPerM3 - fromKgPerM3);
    if (share2 > 0) conductivityWPerMK = fromWPerMK + Math.min(share2, 1) * (toWPerMK - fromWPerMK);
  }
  return { conductivityWPerMK, densityKgPerM3, heatCapacityJPerKgK };
}

// shared-models/heat/slab.ts
var COARSEST_SHARE = 1 / 52;
var SAME_MM = 1e-6;
function cutSlab(layers, coarsestShare = COARSEST_SHARE, atMm = []) {
  const plies = layers.flatMap(pliesOf);
  let thicknessMm = 0;
  let wholeRootS = 0;
  for (const ply of plies) {
    if ("contactWPerM2K" in ply) continue;
    thicknessMm += ply.thicknessMm;
    wholeRootS += crossingRootS(ply, ply.thicknessMm);
  }
  const slab = {
    depthsMm: [0],
    capacityJPerM2K: [0],
    conductanceWPerM2K: [],
    variesAs: [],
    glueLineNodes: [],
    thicknessMm
  };
  let topMm = 0;
  plies.forEach((ply, index) => {
    if ("contactWPerM2K" in ply) {
      addContact(slab, topMm, ply.contactWPerM2K);
      return;
    }
    const above = plies[index - 1];
    if (above !== void 0 && isGlued(above, ply))
      slab.glueLineNodes.push(slab.depthsMm.length - 1);
    const bottomMm = topMm + ply.thicknessMm;
    const cutsMm = atMm.filter((mm) => mm > topMm + SAME_MM && mm < bottomMm - SAME_MM).sort((a, b) => a - b);
    let fromMm = topMm;
    for (const toMm of [...cutsMm, bottomMm]) {
      if (toMm - fromMm <= SAME_MM) continue;
      const share2 = crossingRootS(ply, toMm - fromMm) / wholeRootS;
      addPieces(slab, ply, fromMm, toMm, Math.max(1, Math.ceil(share2 / coarsestShare - 1e-9)));
      fromMm = toMm;
    }
    topMm = bottomMm;
  });
  return slab;
}
function nodeAt({ depthsMm }, mm) {
  let nearest = 0;
  depthsMm.forEach((depth, node) => {
    if (Math.abs(depth - mm) < Math.abs(depthsMm[nearest] - mm)) nearest = node;
  });
  return nearest;
}
function isGlued(above, below) {
  return !("contactWPerM2K" in above) && !above.tool && !below.tool;
}
function crossingRootS(ply, thicknessMm) {
  const { conductivityWPerMK, densityKgPerM3, heatCapacityJPerKgK } = ply;
  return thicknessMm / 1e3 * Math.sqrt(densityKgPerM3 * heatCapacityJPerKgK / conductivityWPerMK);
}
function addPieces(slab, ply, fromMm, toMm, pieces) {
  const pieceM = (toMm - fromMm) / pieces / 1e3;
  const halfJPerM2K = 0.5 * ply.densityKgPerM3 * ply.heatCapacityJPerKgK * pieceM;
  for (let piece = 1; piece <= pieces; piece += 1) {
    slab.capacityJPerM2K[slab.capacityJPerM2K.length - 1] += halfJPerM2K;
    slab.conductanceWPerM2K.push(ply.conductivityWPerMK / pieceM);
    slab.variesAs.push(ply.variesAs);
    slab.depthsMm.push(piece === pieces ? toMm : fromMm + (toMm - fromMm) * piece / pieces);
    slab.capacityJPerM2K.push(halfJPerM2K);
  }
}
function addContact(slab, atMm, contactWPerM2K) {
  slab.conductanceWPerM2K.push(contactWPerM2K);
  slab.variesAs.push("contact");
  slab.depthsMm.push(atMm);
  slab.capacityJPerM2K.push(0);
}
function pliesOf(layer) {
  if ("platen" in layer) return [{ ...layer.platen, tool: true, variesAs: "platen" }];
  if ("contactWPerM2K" in layer) return [layer];
  const material = materialOf(layer);
  if (material === null) {
    throw new RangeError(`no properties known for ${"material" in layer ? layer.material : ""}`);
  }
  const ply = { ...material, thicknessMm: layer.thicknessMm, variesAs: "layer" };
  return Array.from({ length: layer.count }, () => ply);
}

// shared-models/score/still-air.ts
var STILL_AIR_WPerM2K = 10;

// shared-models/score/cold-tool.ts
var SAME_MM2 = 1e-6;
function coldToolNodes(layers, { depthsMm }, face) {
  let toolMm = 0;
  for (const layer of face === "upper" ? layers : [...layers].reverse()) {
    if ("contactWPerM2K" in layer) continue;
    if (materialOf(layer)?.tool !== true) break;
    toolMm += layer.thicknessMm * layer.count;
  }
  if (toolMm === 0) return null;
  if (face === "upper") {
    return [0, depthsMm.findIndex((mm) => mm >= toolMm - SAME_MM2) + 1];
  }
  const fromMm = depthsMm[depthsMm.length - 1] - toolMm + SAME_MM2;
  let from = depthsMm.length - 1;
  while (from > 0 && depthsMm[from] > fromMm) from -= 1;
  return [from, depthsMm.length];
}
function coldToolStart({ carried, startMs, station }, zone, piece, restingC) {
  if (piece.coldTool === null || piece.slab === null) return null;
  const { surroundingsMinC, supplyMaxC } = station;
  const before = carried?.find((each) => each.zone === zone);
  if (before === void 0) {
    return { lowC: Math.min(surroundingsMinC, restingC), nominalC: restingC, highC: supplyMaxC };
  }
  const coolingS = Math.max(0, startMs - before.atMs) / 1e3;
  const [from, to] = piece.coldTool;
  let capacityJPerM2K = 0;
  for (let i = from; i < to; i += 1) capacityJPerM2K += piece.slab.capacityJPerM2K[i];
  const kept = exp(-STILL_AIR_WPerM2K * coolingS / capacityJPerM2K);
  const floorC = Math.min(surroundingsMinC, before.lowC);
  const lowC = floorC + (before.lowC - floorC) * kept;
  return { lowC, nominalC: 0.5 * (lowC + before.nominalC), highC: before.highC };
}

// shared-models/score/piece.ts
var CONTACT_WPerM2K = 500;
function pieceOf(input, zone) {
  const { recipe } = input;
  if (recipe.kind !== "press") return partPiece(partOf(recipe, zone), recipe.kind);
  const place = recipe.places?.find(({ zones }) => zones.includes(zone.id));
  const layup = place?.layup ?? recipe.layup;
  if (layup === void 0) return null;
  const piece = layupPiece(layup, zone);
  if (input.station.heating !== "one-sided") return piece;
  const openFace = zone.upper === null ? "upper" : "lower";
  const coldTool = piece.slab === null ? null : coldToolNodes(layup.layers, piece.slab, openFace);
  return { ...piece, openFace, coldTool };
}
function partOf(recipe, { place }) {
  if (recipe.kind !== "oven" || recipe.places === void 0) return recipe.part;
  return recipe.places.find(({ id }) => id === place)?.part;
}
function layupPiece(layup, { upperMetal, lowerMetal }) {
  const contactWPerM2K = layup.contactWPerM2K ?? CONTACT_WPerM2K;
  const contact = { contactWPerM2K };
  const layers = [...layup.layers];
  if (upperMetal !== void 0) layers.unshift({ platen: upperMetal }, contact);
  if (lowerMetal !== void 0) layers.push(contact, { platen: lowerMetal });
  const slab = cutSlab(layers);
  const ownNodes = ownNodesOf(slab, upperMetal, lowerMetal);
  const topMm = upperMetal?.thicknessMm ?? 0;
  if (topMm > 0) slab.depthsMm = slab.depthsMm.map((mm) => mm - topMm);
  const { evaporation } = layup;
  return {
    slab,
    spots: spotsOf(slab, ownNodes),
    tolerance: layup.tolerance ?? {},
    initialC: layup.initialC,
    upperWPerM2K: upperMetal === void 0 ? contactWPerM2K : Infinity,
    lowerWPerM2K: lowerMetal === void 0 ? contactWPerM2K : Infinity,
    openFace: null,
    timeConstantS: 0,
    wet: evaporation === void 0 ? null : {
      waterKgPerM2PerLine: evaporation.waterKgPerM2PerLine,
      leastShare: evaporation.share[0],
      mostShare: evaporation.share[1]
    },
    ownNodes,
    coldTool: null
  };
}
function ownNodesOf({ depthsMm, variesAs }, upperMetal, lowerMetal) {
  const from = upperMetal === void 0 ? 0 : variesAs.indexOf("contact") + 1;
  const to = lowerMetal === void 0 ? depthsMm.length : variesAs.lastIndexOf("contact") + 1;
  return [from, to];
}
function spotsOf(slab, [from, to]) {
  if (slab.glueLineNodes.length === 0) {
    const node = nodeAt(slab, 0.5 * (slab.depthsMm[from] + slab.depthsMm[to - 1]));
    return [{ glueLine: null, depthMm: slab.depthsMm[node], node }];
  }
  return slab.glueLineNodes.map((node, index) => ({
    glueLine: index + 1,
    depthMm: slab.depthsMm[node],
    node
  }));
}
function partPiece(part, kind) {
  const common = {
    tolerance: part?.tolerance ?? {},
    initialC: part?.initialC ?? null,
    openFace: null,
    coldTool: null,
    wet: null
  };
  if (part !== void 0 && "layers" in part) {
    const slab = cutSlab(part.layers);
    const ownNodes = [0, slab.depthsMm.length];
    const isGlued2 = (kind === "rack" || kind === "bench") && slab.glueLineNodes.length > 0;
    return {
      ...common,
      slab,
      ownNodes,
      spots: isGlued2 ? spotsOf(slab, ownNodes) : [{ glueLine: null, depthMm: 0, node: 0 }],
      upperWPerM2K: part.convectionWPerM2K,
      lowerWPerM2K: part.face === "both" ? part.convectionWPerM2K : 0,
      timeConstantS: 0
    };
  }
  return {
    ...common,
    slab: null,
    ownNodes: [0, 1],
    spots: [{ glueLine: null, depthMm: null, node: 0 }],
    upperWPerM2K: 0,
    lowerWPerM2K: 0,
    timeConstantS: part !== void 0 && "timeConstantMin" in part ? part.timeConstantMin * 60 : 0
  };
}
function followsAir({ slab, timeConstantS }) {
  return slab === null && timeConstantS === 0;
}
function stepOf(piece, stepS, order, vary) {
  if (piece.slab !== null) {
    const open = vary.openFaceLoses ? STILL_AIR_WPerM2K : 0;
    const contacts = {
      upperWPerM2K: piece.openFace === "upper" ? open : piece.upperWPerM2K * vary.contact,
      lowerWPerM2K: piece.openFace === "lower" ? open : piece.lowerWPerM2K * vary.contact
    };
    if (piece.wet !== null) {
      const wet = new WetConduction(piece.slab, contacts, stepS, order, vary);
      return (tempC, water, ...faces) => wet.step(tempC, water, ...faces);
    }
    const body = new Conduction(piece.slab, contacts, stepS, order, vary);
    return (tempC, _water, ...faces) => body.step(tempC, ...faces);
  }
  const lagS = piece.timeConstantS / (vary.diffusivity * vary.contact);
  if (lagS === 0) {
    return (tempC, _water, _uFrom, uTo) => {
      tempC[0] = uTo;
    };
  }
  const decay = exp(-stepS / lagS);
  return (tempC, _water, uFrom, uTo) => {
    const behindK = (uTo - uFrom) / stepS * lagS;
    tempC[0] = uTo - behindK + (tempC[0] - uFrom + behindK) * decay;
  };
}
function waterOf({ slab, wet }, share2) {
  const lines = slab?.glueLineNodes.length ?? 0;
  const shareKept = Math.min(1, Math.max(0, share2));
  return new Float64Array(lines).fill(shareKept * (wet?.waterKgPerM2PerLine ?? 0));
}
function sizeOf(piece) {
  return piece.slab?.depthsMm.length ?? 1;
}

// shared-models/score/doubts.ts
var EXPANDED_PER_HALF_WIDTH = 2 / Math.sqrt(3);
function doubtsOf(input, zone, piece, start, ofConstants) {
  const { tolerance, wet } = piece;
  let sensorK = 0;
  const airs = zone.belt?.zones.map((each) => each.air) ?? [];
  for (const point of [zone.upper, zone.lower, zone.air, ...airs]) {
    const sensor = point === null ? void 0 : input.sensors[point];
    if (sensor !== void 0) sensorK = Math.max(sensorK, widestOf(sensor).expandedK);
  }
  const ofPct = (pct) => (pct ?? 0) / 100 * EXPANDED_PER_HALF_WIDTH;
  const ofLaw = ofPct(tolerance.lawPct);
  const waterShare = wet === null ? 0 : 0.5 * (wet.mostShare - wet.leastShare);
  const doubts = [
    { term: "sensor", bound: sensorK },
    { term: "place", bound: (tolerance.placeK ?? 0) * EXPANDED_PER_HALF_WIDTH },
    { term: "diffusivity", bound: ofPct(tolerance.diffusivityPct) },
    { term: "contact", bound: ofPct(tolerance.contactPct) },
    { term: "law", bound: Math.sqrt(ofLaw * ofLaw + ofConstants * ofConstants) },
    { term: "water", bound: waterShare * EXPANDED_PER_HALF_WIDTH },
    { term: "initial", bound: followsAir(piece) ? 0 : start.expandedK }
  ];
  return doubts.filter(({ bound }) => bound > 0);
}
function unmoved({ wet }) {
  return {
    shiftK: 0,
    diffusivity: 1,
    contact: 1,
    lawFactor: 1,
    startShiftK: 0,
    waterShare: wet === null ? 0 : 0.5 * (wet.leastShare + wet.mostShare)
  };
}
var LEAST_FACTOR = 0.05;
function move(piece, doubts, shareOf, direction, flow) {
  const moved = unmoved(piece);
  for (const { term, bound } of doubts) {
    const by = shareOf(term) * bound;
    if (term === "sensor" || term === "place") moved.shiftK += direction * by;
    else if (term === "diffusivity") moved.diffusivity = Math.max(LEAST_FACTOR, 1 + flow * by);
    else if (term === "contact") moved.contact = Math.max(LEAST_FACTOR, 1 + flow * by);
    else if (term === "law") moved.lawFactor = Math.max(0, 1 + direction * by);
    else if (term === "water") moved.waterShare -= direction * by;
    else if (term === "initial") moved.startShiftK = direction * by;
  }
  return moved;
}
function weightOf(terms, term, direction) {
  const row = terms.find((each) => each.term === term);
  if (row === void 0) return 0;
  return direction < 0 ? row.weight : row.weightUp ?? row.weight;
}

// shared-models/score/run.ts
var Run = class _Run {
  plan;
  tempC;
  /** State of the law at each spot, for what counts. */
  earned;
  /** The same from contact to pressure-on: precure. */
  precured;
  /** Left in each glue line [kg/m²]. */
  waterKgPerM2;
  before;
  segments;
  steps;
  usualS = 0;
  usualStep = null;
  constructor(plan, start, from) {
    const { piece, law, initialC, waterShare } = plan;
    const spots = piece.spots.length;
    this.plan = plan;
    this.tempC = from?.tempC.slice() ?? new Float64Array(sizeOf(piece)).fill(followsAir(piece) ? start.upperC : initialC ?? 0);
    if (from === void 0 && followsAir(piece)) this.tempC[0] += plan.shiftK;
    if (from === void 0 && piece.slab !== null) {
      const [first, end] = piece.ownNodes;
      this.tempC.fill(start.upperC + plan.shiftK, 0, first);
      this.tempC.fill(start.lowerC + plan.shiftK, end);
      const { coldTool } = piece;
      if (coldTool !== null && plan.coldToolC !== null)
        this.tempC.fill(plan.coldToolC, ...coldTool);
    }
    this.earned = from?.earned.slice() ?? new Float64Array(spots).fill(law.initial);
    this.precured = from?.precured.slice() ?? new Float64Array(spots).fill(law.initial);
    this.waterKgPerM2 = from?.waterKgPerM2.slice() ?? waterOf(piece, waterShare);
    this.before = new Float64Array(spots);
    this.segments = {
      fromC: new Float64Array(spots),
      toC: new Float64Array(spots),
      durationS: new Float64Array(spots)
    };
    this.steps = from !== void 0 && from.plan === plan ? from.steps : /* @__PURE__ */ new Map();
  }
  copy() {
    return new _Run(this.plan, { upperC: 0, lowerC: 0 }, this);
  }
  /** What each spot has earned, in the law's unit. */
  value(spot) {
    return this.plan.law.value(this.earned[spot]);
  }
  /** What each spot had earned before pressure, in the law's unit. */
  precure(spot) {
    const { law } = this.plan;
    return law.value(this.precured[spot]) - law.value(law.initial);
  }
  /** Temperature of a spot now [°C]. */
  spotC(spot) {
    return this.tempC[this.plan.piece.spots[spot].node];
  }
  /**
   * Goes one grid step.
   *
   * @param barred spots that earn nothing in it; null: none
   */
  step(fromMs, toMs, from, to, barred) {
    const { piece, shiftK, credit } = this.plan;
    const { spots } = piece;
    const { tempC, before } = this;
    for (let s = 0; s < spots.length; s += 1) before[s] = tempC[spots[s].node];
    if (toMs > credit.heatFromMs) {
      this.stepFor((toMs - fromMs) / 1e3)(
        tempC,
        this.waterKgPerM2,
        from.upperC + shiftK,
        to.upperC + shiftK,
        from.lowerC + shiftK,
        to.lowerC + shiftK
      );
    }
    this.earn(this.earned, fromMs, toMs, credit.fromMs, credit.toMs, barred);
    if (fromMs < credit.pressureMs) {
      this.earn(this.precured, fromMs, toMs, credit.heatFromMs, credit.pressureMs, null);
    }
  }
  earn(states, fromMs, toMs, creditFromMs, creditToMs, barred) {
    const { law, lawFactor, piece } = this.plan;
    const from = Math.max(fromMs, creditFromMs);
    const to = Math.min(toMs, creditToMs);
    if (to <= from) return;
    const startShare = (from - fromMs) / (toMs - fromMs);
    const endShare = (to - fromMs) / (toMs - fromMs);
    const earningS = (to - from) / 1e3 * lawFactor;
    const { spots } = piece;
    const { before, tempC, segments } = this;
    const { fromC, toC, durationS } = segments;
    for (let s = 0; s < spots.length; s += 1) {
      const atStartC = before[s];
      const riseK = tempC[spots[s].node] - atStartC;
      fromC[s] = atStartC + startShare * riseK;
      toC[s] = atStartC + endShare * riseK;
      durationS[s] = barred !== null && barred[s] !== 0 ? 0 : earningS;
    }
    law.advanceEach(states, segments);
  }
  /** A step's equations are factored once for each length of step. */
  stepFor(stepS) {
    if (this.usualStep !== null && this.usualS === stepS) return this.usualStep;
    let step = this.steps.get(stepS);
    if (step === void 0) {
      const { piece, order, variation } = this.plan;
      step = stepOf(piece, stepS, order, variation);
      if (this.steps.size > 4) this.steps.clear();
      this.steps.set(stepS, step);
    }
    this.usualS = stepS;
    this.usualStep = step;
    return step;
  }
};

// shared-models/score/start.ts
var START_READ_MS = 36e5;
var STALE_MS = 10 * 6e4;
var WAITING_K_PER_MIN = 0.2;
var WARM_HALL_C = 30;
function plannedStart(input, { initialC }) {
  const hall = hallRange(input.station.surroundingsMinC);
  if (typeof initialC === "number") return known(initialC, 0);
  if (initialC === null) return known(hall.middleC, hall.halfK * EXPANDED_PER_HALF_WIDTH);
  if ("least" in initialC) {
    const halfK = 0.5 * (initialC.most - initialC.least);
    return known(0.5 * (initialC.least + initialC.most), halfK * EXPANDED_PER_HALF_WIDTH);
  }
  const sensor = input.sensors[initialC.point];
  if (sensor === void 0) return known(hall.middleC, hall.halfK * EXPANDED_PER_HALF_WIDTH);
  return { ...known(hall.middleC, widestOf(sensor).expandedK), point: initialC.point };
}
function measuredStart(input, piece, histories) {
  const planned = plannedStart(input, piece);
  const { point } = planned;
  const sensor = point === null ? void 0 : input.sensors[point];
  const history = point === null ? void 0 : histories.get(point);
  if (sensor === void 0 || history === void 0) return planned;
  return { ...planned, ...readAt(gridStartMs(input), history, sensor, planned.nominalC) };
}
function readAt(startMs, { timesMs, valuesC }, { plausible, resolutionK, noiseK }, unreadC) {
  let lowC = plausible.minC;
  let highC = plausible.maxC;
  let nominalC = unreadC;
  let ageMs = null;
  timesMs.forEach((t, i) => {
    if (t > startMs || startMs - t > START_READ_MS) return;
    ageMs = startMs - t;
    nominalC = valuesC[i];
    const openK = 2 * resolutionK + 3 * (noiseK ?? 0) + WAITING_K_PER_MIN * ageMs / 6e4;
    lowC = Math.max(lowC, nominalC - openK);
    highC = Math.min(highC, nominalC + openK);
  });
  if (lowC > highC) [lowC, highC] = [highC, lowC];
  return { lowC, nominalC: Math.min(highC, Math.max(lowC, nominalC)), highC, ageMs };
}
function isStale({ point, ageMs }) {
  return point !== null && ageMs !== null && ageMs > STALE_MS;
}
function known(nominalC, expandedK) {
  return { lowC: nominalC, nominalC, highC: nominalC, expandedK, point: null, ageMs: null };
}
function hallRange(coldestC) {
  const leastC = Math.min(coldestC, WARM_HALL_C);
  return { middleC: 0.5 * (leastC + WARM_HALL_C), halfK: 0.5 * (WARM_HALL_C - leastC) };
}

// shared-models/score/weigh.ts
var COARSER = 5;
var MOST_STEPS = 5e3;
function planWeights(input) {
  const ofConstants = constantsDoubt(input.recipe, plannedC(input));
  return input.zones.map((zone) => {
    const piece = pieceOf(input, zone);
    if (piece === null) return { zone: zone.id, terms: [] };
    const start = plannedStart(input, piece);
    const doubts = doubtsOf(input, zone, piece, start, ofConstants);
    return { zone: zone.id, terms: weigh(input, piece, start, doubts) };
  });
}
function weigh(input, piece, start, doubts) {
  const effectsAt = (direction, until) => {
    const nominal = plannedCycle(input, piece, start, unmoved(piece), until);
    const { values, steps } = nominal;
    const decides = direction < 0 ? Math.min(...values) : Math.max(...values);
    const spot = values.indexOf(decides);
    return doubts.map((doubt) => {
      const moved = move(piece, [doubt], () => 1, direction, direction);
      return Math.abs(plannedCycle(input, piece, start, moved, { steps }).values[spot] - decides);
    });
  };
  const effects = (direction) => {
    const atPlan = effectsAt(direction, 0);
    const atBound = effectsAt(direction, direction);
    return rootSumOfSquares(atBound) > rootSumOfSquares(atPlan) ? atBound : atPlan;
  };
  const down = weightsOf(effects(-1));
  const up = weightsOf(effects(1));
  return doubts.map(({ term }, i) => ({ term, weight: down[i], weightUp: up[i] }));
}
function weightsOf(effects) {
  const all2 = rootSumOfSquares(effects);
  return effects.map((effect) => all2 > 0 ? effect / all2 : 1);
}
function rootSumOfSquares(values) {
  let squares = 0;
  for (const value of values) squares += value * value;
  return Math.sqrt(squares);
}
function plannedCycle(input, piece, start, moved, until) {
  const faceC = plannedC(input);
  const face = { upperC: faceC, lowerC: faceC };
  const law = createLaw(input.recipe.law);
  const stepMs = stepSecondsOf(input.station.kind) * COARSER * 1e3;
  const run = new Run(
    {
      piece,
      law,
      lawFactor: moved.lawFactor,
      order: 1,
      variation: { ...moved, openFaceLoses: false },
      shiftK: moved.shiftK,
      initialC: start.nominalC + moved.startShiftK,
      coldToolC: start.nominalC,
      waterShare: moved.waterShare,
      credit: { heatFromMs: 0, pressureMs: 0, fromMs: 0, toMs: Infinity }
    },
    face
  );
  const { window, perLawUnit } = judgedWindow(input.recipe, law.unit);
  const mostSteps = typeof until === "object" ? until.steps : plannedSteps(input, stepMs);
  const values = () => piece.spots.map((_spot, index) => run.value(index));
  let taken = 0;
  while (taken < mostSteps) {
    const unplanned = until === 0 && input.recipe.plannedMin === void 0;
    if ((until === -1 || unplanned) && Math.min(...values()) * perLawUnit >= window.least) break;
    const { most } = window;
    if (until === 1 && most !== null && Math.max(...values()) * perLawUnit >= most) break;
    run.step(taken * stepMs, (taken + 1) * stepMs, face, face, null);
    taken += 1;
  }
  return { values: values(), steps: taken };
}
function plannedSteps({ recipe }, stepMs) {
  const { plannedMin } = recipe;
  if (plannedMin === void 0) return MOST_STEPS;
  return Math.min(MOST_STEPS, Math.max(1, Math.ceil(plannedMin * 6e4 / stepMs)));
}
function plannedC({ recipe, station }) {
  const limits2 = recipe.limits ?? [];
  for (const phase of ["hold", "before-load"]) {
    const limit = limits2.find((candidate) => candidate.phase === phase);
    if (limit !== void 0 && "minC" in limit) return 0.5 * (limit.minC + limit.maxC);
  }
  return Math.min(referenceOf(recipe.law) ?? station.supplyMaxC, station.supplyMaxC);
}
function referenceOf(law) {
  if (law.validC !== void 0) return 0.5 * (law.validC[0] + law.validC[1]);
  return "referenceC" in law ? law.referenceC : null;
}

// shared-models/score/envelope.ts
var RECOVERY_MIN = 10;
function ratesOf(input, sensor) {
  const { station, recipe } = input;
  const { plausible, resolutionK, noiseK = 0 } = widestOf(sensor);
  const recovery = (recipe.limits ?? []).find((limit) => limit.phase === "recovery");
  const recoveryMin = recovery?.phase === "recovery" ? recovery.withinMin : RECOVERY_MIN;
  const loadedMs = input.marks.contact?.earliestMs ?? input.startMs;
  return {
    heatingKPerS: station.maxHeatingKPerMin / 60,
    coolingKPerS: station.maxCoolingKPerMin / 60,
    loadingKPerS: Math.max(station.loadingDropKPerMin ?? 0, station.maxCoolingKPerMin) / 60,
    loadedMs,
    recoveredMs: loadedMs + recoveryMin * 6e4,
    leastC: Math.max(plausible.minC, station.surroundingsMinC),
    mostC: Math.min(plausible.maxC, station.supplyMaxC),
    noiseK: 2 * resolutionK + 3 * noiseK,
    ...sensor.onChange === void 0 ? {} : { onChange: sensor.onChange }
  };
}
var Envelope = class {
  low = 0;
  nominal = 0;
  high = 0;
  history;
  rates;
  next = 0;
  /** Bounds at each reading from it and those before it [°C]. */
  pastLowC = [];
  pastHighC = [];
  /** Bounds at each reading from it and those after it [°C]. */
  futureLowC = [];
  futureHighC = [];
  movedMs = Infinity;
  constructor(history, rates) {
    this.history = history;
    this.rates = rates;
  }
  get neverRead() {
    return this.history.timesMs.length === 0;
  }
  /** Between two equal readings the ends part up to where the greatest fall and rise meet; half of it on average. */
  get apartK() {
    const { heatingKPerS, coolingKPerS, noiseK, onChange } = this.rates;
    const meetingKPerS = heatingKPerS * coolingKPerS / (heatingKPerS + coolingKPerS);
    const partedK = 0.5 * meetingKPerS * (this.history.spacingMs ?? 0) / 1e3;
    return noiseK + Math.min(partedK, numberedWithinK(onChange));
  }
  /** How far back a reading usually narrows what those before it allow [ms]. */
  get reachMs() {
    const { heatingKPerS, coolingKPerS, noiseK } = this.rates;
    return 3e3 * noiseK / Math.min(heatingKPerS, coolingKPerS);
  }
  /**
   * Takes in the readings that came since. Times after this have other bounds than before [ms];
   * `Infinity`: none.
   */
  movedSince() {
    this.follow();
    const { movedMs } = this;
    this.movedMs = Infinity;
    return movedMs;
  }
  /** Sets low, nominal and high for a time; nearly always one later than before. */
  at(tMs) {
    this.follow();
    const { timesMs, valuesC } = this.history;
    while (this.next < timesMs.length && timesMs[this.next] <= tMs) this.next += 1;
    while (this.next > 0 && timesMs[this.next - 1] > tMs) this.next -= 1;
    const { leastC, mostC } = this.rates;
    const before = this.next - 1;
    const after = before >= 0 && timesMs[before] === tMs ? before : this.next;
    const readBefore = before >= 0;
    const readAfter = after < timesMs.length;
    if (!readBefore && !readAfter) {
      this.low = leastC;
      this.high = mostC;
      this.nominal = 0.5 * (leastC + mostC);
      return;
    }
    let low = -Infinity;
    let high = Infinity;
    let nominal = readBefore ? valuesC[before] : valuesC[after];
    if (readBefore) {
      low = this.pastLowC[before] - this.fallK(timesMs[before], tMs);
      high = this.pastHighC[before] + this.riseK(timesMs[before], tMs);
    }
    if (readAfter) {
      low = Math.max(low, this.futureLowC[after] - this.riseK(tMs, timesMs[after]));
      high = Math.min(high, this.futureHighC[after] + this.fallK(tMs, timesMs[after]));
    }
    if (readBefore && readAfter) {
      if (after > before) {
        const share2 = (tMs - timesMs[before]) / (timesMs[after] - timesMs[before]);
        nominal += share2 * (valuesC[after] - nominal);
        const stillK = this.stillWithinK(before);
        const stillLow = Math.max(low, valuesC[before] - stillK);
        const stillHigh = Math.min(high, valuesC[before] + stillK);
        if (stillLow <= stillHigh) [low, high] = [stillLow, stillHigh];
      }
      if (low > high) {
        const { noiseK } = this.rates;
        low = Math.min(valuesC[before], valuesC[after]) - noiseK;
        high = Math.max(valuesC[before], valuesC[after]) + noiseK;
      }
    }
    this.nominal = Math.max(low, Math.min(high, nominal));
    this.low = Math.min(this.nominal, Math.max(low, leastC));
    this.high = Math.max(this.nominal, Math.min(high, mostC));
  }
  /** By how much it may have moved from a report before the next one came [K]; `Infinity`: nobody can tell. */
  stillWithinK(before) {
    const { onChange, noiseK } = this.rates;
    if (onChange === void 0 || !this.history.isNext[before + 1]) return Infinity;
    const { timesMs } = this.history;
    const [fromMs, toMs] = [timesMs[before], timesMs[before + 1]];
    const { holes } = onChange;
    if (holes === null || toMs - fromMs > heartbeatInTimeMs(onChange)) return Infinity;
    const isWhole = !holes.some(([afterMs, beforeMs]) => afterMs < toMs && beforeMs > fromMs);
    return isWhole ? numberedWithinK(onChange) + noiseK : Infinity;
  }
  /** Bounds of the readings that came since, and what they say of those before them. */
  follow() {
    const { timesMs } = this.history;
    const known2 = this.pastLowC.length;
    if (known2 === timesMs.length) return;
    for (let i = known2; i < timesMs.length; i += 1) this.followForward(i);
    this.movedMs = Math.min(this.movedMs, known2 > 0 ? timesMs[known2 - 1] : -Infinity);
    for (let i = timesMs.length - 1; i >= 0; i -= 1) {
      const moved = this.followBack(i);
      if (i >= known2) continue;
      if (!moved) break;
      this.movedMs = Math.min(this.movedMs, i > 0 ? timesMs[i - 1] : -Infinity);
    }
  }
  followForward(i) {
    const { timesMs, valuesC } = this.history;
    const { noiseK } = this.rates;
    let low = valuesC[i] - noiseK;
    let high = valuesC[i] + noiseK;
    if (i > 0) {
      const fromLow = this.pastLowC[i - 1] - this.fallK(timesMs[i - 1], timesMs[i]);
      const fromHigh = this.pastHighC[i - 1] + this.riseK(timesMs[i - 1], timesMs[i]);
      if (fromLow <= high && fromHigh >= low) {
        low = Math.max(low, fromLow);
        high = Math.min(high, fromHigh);
      }
    }
    this.pastLowC.push(low);
    this.pastHighC.push(high);
  }
  /** Answers whether a reading's bounds from those after it have moved. */
  followBack(i) {
    const { timesMs, valuesC } = this.history;
    const { noiseK } = this.rates;
    let low = valuesC[i] - noiseK;
    let high = valuesC[i] + noiseK;
    if (i + 1 < timesMs.length) {
      const toLow = this.futureLowC[i + 1] - this.riseK(timesMs[i], timesMs[i + 1]);
      const toHigh = this.futureHighC[i + 1] + this.fallK(timesMs[i], timesMs[i + 1]);
      if (toLow <= high && toHigh >= low) {
        low = Math.max(low, toLow);
        high = Math.min(high, toHigh);
      }
    }
    const moved = low !== this.futureLowC[i] || high !== this.futureHighC[i];
    this.futureLowC[i] = low;
    this.futureHighC[i] = high;
    return moved;
  }
  /** Greatest rise between two times [K]. */
  riseK(fromMs, toMs) {
    return this.rates.heatingKPerS * (toMs - fromMs) / 1e3;
  }
  /** Greatest fall between two times [K]: faster while the cold charge draws heat. */
  fallK(fromMs, toMs) {
    const { loadingKPerS, coolingKPerS, loadedMs, recoveredMs } = this.rates;
    const loadingMs = Math.max(0, Math.min(toMs, recoveredMs) - Math.max(fromMs, loadedMs));
    return (loadingKPerS * loadingMs + coolingKPerS * (toMs - fromMs - loadingMs)) / 1e3;
  }
};
function numberedWithinK(onChange) {
  return onChange === void 0 || onChange.holes === null ? Infinity : onChange.withinK;
}

// shared-models/score/belt.ts
var KNOWN_SPACINGS = 1.5;
var BeltWay = class {
  history;
  signal;
  startMs;
  knownMs;
  /** Way at each reading after the start, from the first of them on. */
  atReading = [];
  first = -1;
  /** @param everyS how often the speed is read [s] */
  constructor(history, signal, everyS, startMs) {
    this.history = history;
    this.signal = signal;
    this.startMs = startMs;
    this.knownMs = KNOWN_SPACINGS * everyS * 1e3;
  }
  get neverRead() {
    return this.history.timesMs.length === 0;
  }
  /** Way at a time not before the start. */
  at(tMs) {
    const { timesMs } = this.history;
    const before = countUpTo(timesMs, tMs) - 1;
    if (before < 0 || timesMs[before] <= this.startMs) {
      return this.between(before, this.startMs, Math.max(tMs, this.startMs));
    }
    return sum(this.upTo(before), this.between(before, timesMs[before], tMs));
  }
  /** Way at a reading after the start. */
  upTo(reading) {
    const { timesMs } = this.history;
    if (this.first < 0) this.first = countUpTo(timesMs, this.startMs);
    for (let j = this.first + this.atReading.length; j <= reading; j += 1) {
      const onward = this.between(
        j - 1,
        Math.max(this.startMs, timesMs[j - 1] ?? -Infinity),
        timesMs[j]
      );
      const before = this.atReading[j - this.first - 1];
      this.atReading.push(before === void 0 ? onward : sum(before, onward));
    }
    return this.atReading[reading - this.first];
  }
  /** Way from one time to another within the interval after a reading; −1: before all of them. */
  between(reading, fromMs, toMs) {
    const { timesMs, valuesC: speeds } = this.history;
    const { min, max } = this.signal.plausible;
    const [atMs, nextMs] = [timesMs[reading] ?? NaN, timesMs[reading + 1] ?? NaN];
    const [here, next] = [speeds[reading] ?? NaN, speeds[reading + 1] ?? NaN];
    if (Number.isNaN(here)) {
      const likely2 = Number.isNaN(next) ? 0.5 * (min + max) : next;
      return way(min, likely2, max, toMs - fromMs);
    }
    if (Number.isNaN(next)) {
      const heldMs = Math.max(0, Math.min(toMs, atMs + this.knownMs) - fromMs);
      const held2 = this.told(here, here, here, heldMs);
      return sum(held2, way(min, here, max, toMs - fromMs - heldMs));
    }
    const middleMs = 0.5 * (fromMs + toMs);
    const likely = here + (next - here) * (middleMs - atMs) / (nextMs - atMs);
    const lasts = toMs - fromMs;
    if (nextMs - atMs > this.knownMs) return way(min, likely, max, lasts);
    return this.told(Math.min(here, next), likely, Math.max(here, next), lasts);
  }
  /** A way by speeds that were read, each as uncertain as its instrument. */
  told(low, nominal, high, lastsMs) {
    const { plausible, expanded } = this.signal;
    const least = Math.max(plausible.min, low - expanded);
    return way(least, nominal, Math.min(plausible.max, high + expanded), lastsMs);
  }
};
function way(low, nominal, high, lastsMs) {
  const minutes = lastsMs / 6e4;
  return { low: low * minutes, nominal: nominal * minutes, high: high * minutes };
}
function sum(a, b) {
  return { low: a.low + b.low, nominal: a.nominal + b.nominal, high: a.high + b.high };
}
function countUpTo(timesMs, tMs) {
  let low = 0;
  let high = timesMs.length;
  while (low < high) {
    const middle = Math.floor((low + high) / 2);
    if (timesMs[middle] <= tMs) low = middle + 1;
    else high = middle;
  }
  return low;
}
var BeltCourse = class {
  low = 0;
  nominal = 0;
  high = 0;
  /** What comes is not what is: the part goes on. */
  moves = true;
  zones;
  airs;
  way;
  /** @param airs of the belt's zones, in their order */
  constructor({ zones }, airs, way2) {
    this.zones = zones;
    this.airs = airs;
    this.way = way2;
  }
  get neverRead() {
    return this.way.neverRead || this.airs.some((air) => air.neverRead);
  }
  get apartK() {
    return this.airs.reduce((most, air) => Math.max(most, air.apartK), 0);
  }
  get envelopes() {
    return this.airs.filter((air) => air instanceof Envelope);
  }
  at(tMs) {
    const { low, nominal, high } = this.way.at(tMs);
    this.low = Infinity;
    this.high = -Infinity;
    for (let i = 0; i < this.zones.length; i += 1) {
      if (high < this.reachesFromM(i) || low > this.reachesToM(i)) continue;
      const air = this.airs[i];
      air.at(tMs);
      this.low = Math.min(this.low, air.low);
      this.high = Math.max(this.high, air.high);
    }
    const likely = this.airs[this.zoneAt(nominal)];
    likely.at(tMs);
    this.nominal = likely.nominal;
  }
  /** Between two zones the air may be either's; before the first and behind the last it is theirs. */
  reachesFromM(i) {
    return i === 0 ? -Infinity : this.zones[i - 1].toM;
  }
  reachesToM(i) {
    return i === this.zones.length - 1 ? Infinity : this.zones[i + 1].fromM;
  }
  /** The zone nearest to a place. */
  zoneAt(m) {
    let nearest = 0;
    let leastM = Infinity;
    this.zones.forEach(({ fromM, toM }, i) => {
      const awayM = Math.max(fromM - m, m - toM, 0);
      if (awayM > leastM || awayM === leastM && m < fromM) return;
      nearest = i;
      leastM = awayM;
    });
    return nearest;
  }
};

// shared-models/score/zone-runs.ts
function openZone(input, zone, histories, laws, terms, startMs) {
  const piece = pieceOf(input, zone);
  if (piece === null) return null;
  const [upper, lower] = facesOf(input, zone, piece, histories);
  upper.at(startMs);
  lower.at(startMs);
  const start = measuredStart(input, piece, histories);
  const tool = coldToolStart(input, zone.id, piece, start.nominalC);
  const doubts = doubtsOf(input, zone, piece, start, laws.ofConstants);
  const lawOf = { [-1]: laws.low, [0]: laws.nominal, [1]: laws.high };
  const open = (law, credit, path, moved) => new Run(
    {
      piece,
      law: lawOf[law],
      lawFactor: moved.lawFactor,
      order: path === "nominal" ? 2 : 1,
      variation: { ...moved, openFaceLoses: law < 0 },
      shiftK: moved.shiftK,
      initialC: start[`${path}C`] + moved.startShiftK,
      coldToolC: tool?.[`${path}C`] ?? null,
      waterShare: moved.waterShare,
      credit: creditOf(input, credit)
    },
    pairOf(upper, lower, path)
  );
  const pair = (direction, path) => {
    const weight = (term) => weightOf(terms, term, direction);
    return [-1, 1].map(
      (flow) => open(direction, direction, path, move(piece, doubts, weight, direction, flow))
    );
  };
  const plain = unmoved(piece);
  const marksMoved = (end) => !sameCredit(creditOf(input, end), creditOf(input, 0));
  const { safe } = laws;
  return {
    zone,
    piece,
    upper,
    lower,
    start,
    doubts,
    terms,
    nominal: open(0, 0, "nominal", plain),
    lows: pair(-1, "low"),
    highs: pair(1, "high"),
    gapLow: open(0, 0, "low", plain),
    gapHigh: open(0, 0, "high", plain),
    marksLow: marksMoved(-1) ? open(0, -1, "nominal", plain) : null,
    marksHigh: marksMoved(1) ? open(0, 1, "nominal", plain) : null,
    rangeLow: safe.low ? open(-1, 0, "nominal", plain) : null,
    rangeHigh: safe.high ? open(1, 0, "nominal", plain) : null,
    ceilingC: laws.ceilingC
  };
}
function pairOf(upper, lower, path) {
  if (path !== "nominal") return { upperC: upper[path], lowerC: lower[path] };
  return {
    upperC: upper.neverRead ? lower.nominal : upper.nominal,
    lowerC: lower.neverRead ? upper.nominal : lower.nominal
  };
}
function isBlind({ upper, lower }) {
  return upper.neverRead || lower.neverRead;
}
function facesOf(input, zone, piece, histories) {
  const { surroundingsMinC, supplyMaxC } = input.station;
  const unread = {
    low: surroundingsMinC,
    nominal: 0.5 * (surroundingsMinC + supplyMaxC),
    high: supplyMaxC,
    neverRead: true,
    apartK: 0,
    at: () => void 0
  };
  const still = {
    low: surroundingsMinC,
    nominal: surroundingsMinC,
    high: surroundingsMinC,
    neverRead: false,
    apartK: 0,
    at: () => void 0
  };
  const courseOf = (point) => {
    const history = point === null ? void 0 : histories.get(point);
    const sensor = point === null ? void 0 : input.sensors[point];
    if (history === void 0 || sensor === void 0) return unread;
    return new Envelope(history, ratesOf(input, sensor));
  };
  if (zone.air !== null) {
    const air = courseOf(zone.air);
    return [air, air];
  }
  if (zone.belt !== void 0) {
    const { belt } = zone;
    const history = histories.get(belt.speed);
    const signal = input.signals?.[belt.speed];
    if (history === void 0 || signal === void 0) return [unread, unread];
    const way2 = new BeltWay(history, signal, belt.everyS, gridStartMs(input));
    const airs = belt.zones.map((each) => courseOf(each.air));
    const air = new BeltCourse(belt, airs, way2);
    return [air, air];
  }
  return [
    piece.openFace === "upper" ? still : courseOf(zone.upper),
    piece.openFace === "lower" ? still : courseOf(zone.lower)
  ];
}
function facesAt({ upper, lower }, tMs) {
  upper.at(tMs);
  lower.at(tMs);
  return {
    low: pairOf(upper, lower, "low"),
    nominal: pairOf(upper, lower, "nominal"),
    high: pairOf(upper, lower, "high")
  };
}
function stepZone(zone, fromMs, toMs, from) {
  const to = facesAt(zone, toMs);
  const barred = stepRuns(zone, fromMs, toMs, from, to);
  zone.gapLow.step(fromMs, toMs, from.low, to.low, null);
  zone.gapHigh.step(fromMs, toMs, from.high, to.high, null);
  const { marksLow, marksHigh, rangeLow, rangeHigh } = zone;
  for (const run of [marksLow, marksHigh, rangeHigh]) {
    run?.step(fromMs, toMs, from.nominal, to.nominal, null);
  }
  rangeLow?.step(fromMs, toMs, from.nominal, to.nominal, barred);
  return to;
}
function stepRuns(zone, fromMs, toMs, from, to) {
  const barred = zone.ceilingC < Infinity ? new Uint8Array(zone.piece.spots.length) : null;
  for (const run of zone.highs) {
    if (barred !== null) bar(barred, run, zone.ceilingC);
    run.step(fromMs, toMs, from.high, to.high, null);
    if (barred !== null) bar(barred, run, zone.ceilingC);
  }
  for (const run of zone.lows) run.step(fromMs, toMs, from.low, to.low, barred);
  zone.nominal.step(fromMs, toMs, from.nominal, to.nominal, null);
  return barred;
}
function bar(barred, run, ceilingC) {
  for (let spot = 0; spot < barred.length; spot += 1) {
    if (run.spotC(spot) > ceilingC) barred[spot] = 1;
  }
}
function intervalOf({ nominal, lows, highs }, spot) {
  return around(nominal, lows, highs, (run) => run.value(spot));
}
function precureOf({ nominal, lows, highs }, spot) {
  return around(nominal, lows, highs, (run) => run.precure(spot));
}
function around(run, lows, highs, of) {
  const nominal = of(run);
  let low = nominal;
  let high = nominal;
  for (const each of lows) low = Math.min(low, of(each));
  for (const each of highs) high = Math.max(high, of(each));
  return { low, nominal, high };
}

// shared-models/score/fold.ts
function foldLoad(input, readings, watch = null, begin = null) {
  const histories = historiesOf(input, readings);
  const grid = gridOfLoad(input);
  const zones = runZones(input, histories, grid, watch, begin);
  return { grid, zones, histories, gaps: gapsIn(input, histories) };
}
function runZones(input, histories, grid, watch, begin) {
  const zones = openZones(input, histories);
  for (const zone of zones) {
    if (zone === null) continue;
    begin?.(zone);
    watch?.(zone, 0);
    let faces = facesAt(zone, gridTimeMs(grid, 0));
    for (let steps = 1; steps <= grid.steps; steps += 1) {
      const [fromMs, toMs] = [gridTimeMs(grid, steps - 1), gridTimeMs(grid, steps)];
      faces = stepZone(zone, fromMs, toMs, faces);
      watch?.(zone, steps);
    }
  }
  return zones;
}
function isUnread({ signals }, { histories }) {
  return [...histories].every(
    ([point, { timesMs }]) => timesMs.length === 0 || signals?.[point] !== void 0
  );
}
function gridOfLoad(input) {
  return gridOf(gridStartMs(input), gridEndMs(input), stepSecondsOf(input.station.kind));
}
function openZones(input, histories) {
  const laws = runLaws(input.recipe.law, constantsDoubt(input.recipe, plannedC(input)));
  const weights = input.weights ?? planWeights(input);
  return input.zones.map((zone) => {
    const terms = weights.find((each) => each.zone === zone.id)?.terms ?? [];
    return openZone(input, zone, histories, laws, terms, gridStartMs(input));
  });
}
function pointsOf(input) {
  const points = input.zones.flatMap(({ upper, lower, air, belt }) => [
    ...[upper, lower, air],
    ...belt === void 0 ? [] : [...belt.zones.map((zone) => zone.air), belt.speed]
  ]);
  return [...new Set(points.filter((point) => point !== null))];
}
function scoredPoints(input) {
  const others = [...Object.keys(input.sensors), ...Object.keys(input.signals ?? {})].sort();
  return [.../* @__PURE__ */ new Set([...pointsOf(input), ...others])];
}
function historiesOf(input, readings) {
  const byPoint = byPointOf(readings);
  const untilMs = Math.max(gridEndMs(input), input.asOfMs);
  return new Map(
    scoredPoints(input).map((point) => {
      const signal = input.signals?.[point];
      if (signal !== void 0) {
        return [point, pointHistory(byPoint.get(point) ?? [], signal, untilMs)];
      }
      const sensor = input.sensors[point];
      if (sensor === void 0) throw new RangeError(`input names no sensor for point ${point}`);
      return [point, pointHistory(readingsFor(point, sensor, byPoint), sensor, untilMs)];
    })
  );
}
function gapsIn(input, histories) {
  const endMs = input.endMs ?? input.asOfMs;
  return pointsOf(input).flatMap((point) => {
    const history = histories.get(point);
    if (history === void 0) return [];
    const aliveMs = heartbeatInTimeMs(input.sensors[point]?.onChange);
    return gapsOf(point, history, [gridStartMs(input), endMs], input.endMs !== null, aliveMs);
  });
}

// shared-models/score/budget.ts
var LOOKS = 16;
function budgetOf(fold, { perLawUnit, unit }, worst) {
  const zone = zoneOf(fold, worst);
  if (zone === null) return [];
  const spot = spotOf(zone, worst);
  const { low, nominal, high } = intervalOf(zone, spot);
  const below = (run) => run === null ? 0 : Math.max(0, zone.nominal.value(spot) - run.value(spot));
  const above = (run) => run === null ? 0 : Math.max(0, run.value(spot) - zone.nominal.value(spot));
  const whole = [
    { term: "gap", down: below(zone.gapLow), up: above(zone.gapHigh), unit },
    { term: "marks", down: below(zone.marksLow), up: above(zone.marksHigh), unit },
    { term: "range", down: below(zone.rangeLow), up: above(zone.rangeHigh), unit }
  ];
  const sum2 = (end) => whole.reduce((all2, row) => all2 + row[end], 0);
  const movedDown = Math.max(0, nominal - low - sum2("down")) * perLawUnit;
  const movedUp = Math.max(0, high - nominal - sum2("up")) * perLawUnit;
  const rows = zone.doubts.map(({ term }) => ({
    term,
    down: weightOf(zone.terms, term, -1) * movedDown,
    up: weightOf(zone.terms, term, 1) * movedUp,
    unit
  }));
  const told2 = whole.filter(({ term, down, up }) => term === "gap" || down > 0 || up > 0).map((row) => ({ ...row, down: row.down * perLawUnit, up: row.up * perLawUnit }));
  return [...rows, ...told2];
}
function gapCosts(fold, worst, gapDown) {
  const zone = zoneOf(fold, worst);
  const costs = /* @__PURE__ */ new Map();
  if (zone === null) return costs;
  let all2 = 0;
  for (const gap of fold.gaps) {
    const face = faceOf(zone, gap.point);
    if (face === null) continue;
    const toMs = gap.toMs ?? fold.grid.endMs;
    let doubtK = 0;
    for (let look = 0; look < LOOKS; look += 1) {
      face.at(gap.fromMs + (look + 0.5) / LOOKS * (toMs - gap.fromMs));
      doubtK += face.nominal - face.low;
    }
    const cost = doubtK / LOOKS * (toMs - gap.fromMs);
    costs.set(gap, cost);
    all2 += cost;
  }
  for (const [gap, cost] of costs) costs.set(gap, all2 > 0 ? cost / all2 * gapDown : 0);
  return costs;
}
function faceOf({ zone, upper, lower }, point) {
  if (zone.belt !== void 0) return upper;
  const face = point === zone.lower ? lower : upper;
  const known2 = [zone.upper, zone.lower, zone.air].includes(point);
  return known2 && face instanceof Envelope ? face : null;
}
function zoneOf({ zones }, { zone }) {
  return zones.find((each) => each?.zone.id === zone) ?? null;
}
function spotOf({ piece }, { glueLine }) {
  return piece.spots.findIndex((spot) => spot.glueLine === glueLine);
}

// shared-models/score/reasons.ts
var NO_CONDUCTION = ["radio-frequency", "infrared", "ultraviolet"];
function isRefused({ station }) {
  return NO_CONDUCTION.includes(station.heating);
}
function reasonsOf(input, fold, { window }, worst, requirements, budget) {
  const reasons = [];
  if (isRefused(input)) {
    const because = "conduction cannot follow it";
    reasons.push({ code: "refused", what: input.station.heating, because });
  }
  fold.zones.forEach((zone, index) => {
    if (zone !== null) return;
    const what = input.zones[index].id;
    reasons.push({ code: "refused", what, because: "the recipe has no lay-up there" });
  });
  if (worst !== null) {
    const { zone, glueLine, low, high } = worst;
    if (low < window.least) {
      reasons.push({ code: "low-misses-least", by: window.least - low, zone, glueLine });
    }
    if (window.most !== null && high > window.most) {
      reasons.push({ code: "high-passes-most", by: high - window.most, zone, glueLine });
    }
  }
  reasons.push(...unreadPoints(input, fold), ...untrustedPoints(input), ...startReasons(fold));
  const gapDown = budget.find(({ term }) => term === "gap")?.down ?? 0;
  const costs = worst === null ? null : gapCosts(fold, worst, gapDown);
  for (const gap of fold.gaps) {
    const { point, fromMs, toMs } = gap;
    const cost = costs?.get(gap) ?? 0;
    reasons.push({ code: "gap", point, fromMs, toMs: toMs ?? input.asOfMs, cost });
  }
  for (const { kind, verdict } of requirements) {
    if (verdict === "not-monitored" || verdict === "in-window") continue;
    reasons.push({ code: "requirement", kind, verdict });
  }
  const { pressureOn, releaseStart } = input.marks;
  if (pressureOn.assumed === true || releaseStart?.assumed === true) {
    reasons.push({ code: "marks-assumed" });
  }
  return reasons;
}
function untrustedPoints(input) {
  return pointsOf(input).flatMap((point) => {
    const sensor = input.sensors[point];
    if (sensor === void 0) return [];
    const because = spansOf(sensor).find((span) => span.sensor?.unproven)?.sensor?.unproven;
    const faults = (sensor.doubted ?? []).map((each) => ({
      code: "fault",
      point,
      ...each
    }));
    return because === void 0 ? faults : [{ code: "unproven-instrument", point, because }, ...faults];
  });
}
function unreadPoints(input, { histories, zones }) {
  return input.zones.flatMap(({ id, upper, lower, air, belt }, index) => {
    const open = zones[index]?.piece.openFace ?? null;
    const ofBelt = belt === void 0 ? [] : [...belt.zones.map((each) => each.air), belt.speed];
    const faces = belt !== void 0 ? ofBelt : air !== null ? [air] : [open === "upper" ? null : upper, open === "lower" ? null : lower];
    const named = faces.filter(
      (point, face) => point !== null || open === null && air === null && face < 2
    );
    return named.flatMap(
      (point) => point !== null && (histories.get(point)?.timesMs.length ?? 0) > 0 ? [] : [{ code: "no-reading", zone: id, point }]
    );
  });
}
function startReasons({ zones }) {
  return zones.flatMap((each) => {
    if (each === null || followsAir(each.piece)) return [];
    const { point, ageMs } = each.start;
    const zone = each.zone.id;
    if (point === null) return [];
    if (ageMs === null) return [{ code: "no-reading", zone, point }];
    return isStale(each.start) ? [{ code: "start-stale", zone, point, ageMs }] : [];
  });
}

// shared-models/score/coats.ts
function scoreCoats(bakes) {
  const inOrder = [...bakes].sort(
    ({ input: a }, { input: b }) => a.startMs === b.startMs ? a.load < b.load ? -1 : 1 : a.startMs - b.startMs
  );
  let coats = [];
  for (const { input, readingsCsv, unjudged = false } of inOrder) {
    if (coatOf(input) === null) continue;
    const carrying = { ...input, coats: carriedTo(input, coats) };
    coats = unjudged ? passedOn(carrying) : coatsAfter(carrying, foldLoad(carrying, parseReadings(readingsCsv)));
  }
  return coats;
}
function carriedTo(input, coats) {
  const own = coatOf(input) ?? 0;
  const known2 = new Map(coats.map((coat) => [coat.coat, coat]));
  const highest = Math.max(own - 1, ...known2.keys());
  return Array.from({ length: highest }, (_, i) => {
    const coat = known2.get(i + 1);
    return coat === void 0 ? carriedOf(neverBaked(i + 1, input)) : carriedOf(coat);
  });
}
function carriedOf(own) {
  const { coat, sum: sum2, step, endMs } = own;
  const end = endMs === null ? {} : { endMs };
  return { coat, ...sum2, ...end, step: step.verdict, own };
}
function coatOf({ recipe }) {
  return recipe.kind === "oven" ? recipe.coat ?? null : null;
}
function coatsAfter(input, fold) {
  const coat = coatOf(input);
  if (coat === null) return [];
  if (isRefused(input) || fold.zones.includes(null) || isUnread(input, fold))
    return passedOn(input);
  const bake = new BakeOfCoats(input, fold);
  const carried = ownCoats(input).map((own) => bake.goesOn(own));
  const laid = carried.some((each) => each.coat === coat && each.load !== null);
  return laid ? carried : withOwn(carried, bake.own(coat));
}
function withOwn(carried, own) {
  const others = carried.filter(({ coat }) => coat !== own.coat);
  return [...others, own].sort((a, b) => a.coat - b.coat);
}
function ownCoats({ coats }) {
  return coats.flatMap(({ own }) => own ?? []);
}
function passedOn(input) {
  const coat = coatOf(input);
  const { load, endMs, asOfMs } = input;
  const marked = (before) => {
    const total = before.total && doubted(before.total);
    return {
      ...before,
      ...{ total, verdict: verdictOf(before.step, total), endMs: endMs ?? asOfMs },
      unjudged: [...before.unjudged ?? [], load]
    };
  };
  const carried = ownCoats(input).map(marked);
  if (coat === null || carried.some((each) => each.coat === coat && each.load !== null)) {
    return carried;
  }
  const laid = neverBaked(coat, input);
  const step = doubted({ ...laid.step, verdict: "in-window", side: null });
  const own = marked({ ...laid, load, step });
  return withOwn(carried, own);
}
function doubted(sum2) {
  return sum2.verdict === "over" ? sum2 : { ...sum2, verdict: "unproven", side: "both" };
}
function neverBaked(coat, { recipe }) {
  const { step, total } = windowsOf(recipe);
  const none = { low: 0, nominal: 0, high: 0 };
  const judged = judgedSum([none], step);
  const judgedTotal = total && judgedSum([none], total);
  return {
    ...{ coat, load: null, endMs: null, law: recipe.law, states: [], sum: none },
    ...{ step: judged, total: judgedTotal, verdict: verdictOf(judged, judgedTotal) }
  };
}
function windowsOf(recipe) {
  if (recipe.kind !== "oven") throw new RangeError(`${recipe.id} bakes no coat`);
  const { step, total } = recipe.window;
  return {
    step: { least: step.least, most: step.most ?? null },
    total: total === void 0 ? null : { least: total.least, most: total.most ?? null }
  };
}
var additive = ["equivalent-time", "degree-time", "z-value", "dose"];
var BakeOfCoats = class {
  #input;
  #fold;
  #ofLaw;
  constructor(input, fold) {
    this.#input = input;
    this.#fold = fold;
    const zones = fold.zones.filter((zone) => zone !== null);
    this.#ofLaw = /* @__PURE__ */ new Map([[canonicalJson(input.recipe.law), zones]]);
  }
  /** The coat of this load, by its first bake. */
  own(coat) {
    const { load, recipe, endMs, asOfMs } = this.#input;
    const { step, total } = windowsOf(recipe);
    const zones = this.#runs(recipe.law);
    const states = statesOf(zones, (run, spot) => run.earned[spot]);
    const places = placesOf(recipe.law, states);
    const proven = judgedSum(places, step);
    const isSeen = proven.verdict !== "in-window" || !zones.some(isBlind);
    const judged = isSeen ? proven : { ...proven, verdict: "unproven", side: "both" };
    const judgedTotal = total && judgedSum(places, total);
    return {
      ...{ coat, load, endMs: endMs ?? asOfMs, law: recipe.law, states },
      ...{ sum: judgedTotal ? intervalOf2(judgedTotal) : lowest(places), step: judged },
      ...{ total: judgedTotal, verdict: verdictOf(judged, judgedTotal) }
    };
  }
  /** An earlier coat, with this bake's heat on top. */
  goesOn(before) {
    const { law } = before;
    const states = "form" in law && additive.includes(law.form) ? this.#added(before) : this.#continued(before);
    const places = placesOf(law, states);
    const { endMs, asOfMs } = this.#input;
    const window = before.total?.window ?? null;
    const summed = window && judgedSum(places, window);
    const total = summed && before.unjudged !== void 0 ? doubted(summed) : summed;
    return {
      ...before,
      ...{ states, total, sum: summed ? intervalOf2(summed) : lowest(places) },
      ...{ endMs: endMs ?? asOfMs, verdict: verdictOf(before.step, total) }
    };
  }
  #added({ law, states }) {
    const { initial } = createLaw(law);
    const from = startOf(states, initial);
    return statesOf(this.#runs(law), (run, spot, zone, which, i) => {
      const earned2 = run.earned[spot] - initial;
      return from(zone, spot, which, i) + earned2;
    });
  }
  #continued({ law, states }) {
    const from = startOf(states, createLaw(law).initial);
    const zones = this.#folded(law, (zone) => {
      statesOf([zone], (run, spot, id, which, i) => run.earned[spot] = from(id, spot, which, i));
    });
    return statesOf(zones, (run, spot) => run.earned[spot]);
  }
  #runs(law) {
    const key = canonicalJson(law);
    const known2 = this.#ofLaw.get(key) ?? this.#folded(law, null);
    this.#ofLaw.set(key, known2);
    return known2;
  }
  #folded(law, begin) {
    const input = { ...this.#input, recipe: { ...this.#input.recipe, law } };
    const zones = runZones(input, this.#fold.histories, this.#fold.grid, null, begin);
    return zones.filter((zone) => zone !== null);
  }
};
function statesOf(zones, of) {
  return zones.flatMap(
    ({ zone, piece, lows, nominal, highs }) => piece.spots.map((_, spot) => ({
      zone: zone.id,
      spot,
      lows: lows.map((run, i) => of(run, spot, zone.id, "lows", i)),
      nominal: of(nominal, spot, zone.id, "nominal", 0),
      highs: highs.map((run, i) => of(run, spot, zone.id, "highs", i))
    }))
  );
}
function startOf(states, initial) {
  return (zone, spot, which, index) => {
    if (states.length === 0) return initial;
    const here = states.find((each) => each.zone === zone && each.spot === spot);
    if (which === "nominal")
      return here?.nominal ?? Math.min(...states.map((each) => each.nominal));
    const end = here?.[which][index];
    if (end !== void 0) return end;
    const all2 = states.flatMap((each) => each[which]);
    return which === "lows" ? Math.min(...all2) : Math.max(...all2);
  };
}
function placesOf(law, states) {
  const { value } = createLaw(law);
  return states.map(({ lows, nominal, highs }) => ({
    low: Math.min(value(nominal), ...lows.map(value)),
    nominal: value(nominal),
    high: Math.max(value(nominal), ...highs.map(value))
  }));
}
function judgedSum(places, window) {
  let worst = places[0];
  for (const place of places) if (marginOf(place, window) < marginOf(worst, window)) worst = place;
  const verdict = worstVerdict(places.map((place) => decide(place, window).verdict));
  return { ...worst, window, verdict, side: decide(worst, window).side };
}
function intervalOf2({ low, nominal, high }) {
  return { low, nominal, high };
}
function lowest(places) {
  return intervalOf2(judgedSum(places, { least: 0, most: null }));
}
function verdictOf(step, total) {
  return worstVerdict([step.verdict, ...total === null ? [] : [total.verdict]]);
}

// shared-models/score/deviations.ts
var BEFORE_MS = 10 * 6e4;
var BACK_WITHIN_K = 2;
var USUAL_RECOVERY_MIN = 10;
function deviationsOf(input, fold, requirements) {
  const faces = input.zones.flatMap(
    (zone) => [zone.upper, zone.lower, zone.air].flatMap((point) => {
      const history = point === null ? void 0 : fold.histories.get(point);
      return point === null || history === void 0 ? [] : [{ zone: zone.id, point, history }];
    })
  );
  const ofFaces = faces.flatMap(
    ({ zone, point, history }) => faceDeviations(input, history).map((each) => ({ zone, what: point, ...each }))
  );
  return [...ofFaces, ...requirements.flatMap(({ deviations }) => deviations)];
}
function faceDeviations(input, history) {
  const { marks, recipe } = input;
  const loadedMs = marks.contact?.earliestMs ?? input.startMs;
  const endMs = marks.releaseStart?.earliestMs ?? input.endMs ?? input.asOfMs;
  const limits2 = recipe.limits ?? [];
  const recovery = limits2.find(({ phase }) => phase === "recovery");
  const hold = limits2.find(({ phase }) => phase === "hold");
  const holdLeastC = hold?.phase === "hold" ? hold.minC : null;
  const recoveryMin = recovery?.phase === "recovery" ? recovery.withinMin : USUAL_RECOVERY_MIN;
  const recoveredMs = loadedMs + recoveryMin * 6e4;
  return limits2.flatMap((limit) => {
    if (limit.phase === "recovery") {
      return lateRecovery(history, loadedMs, limit.withinMin, endMs, holdLeastC);
    }
    const [fromMs, toMs] = limit.phase === "before-load" ? [loadedMs - BEFORE_MS, loadedMs] : [recoveredMs, endMs];
    const readings = readingsIn(history, fromMs, toMs);
    const asked = limit.phase === "before-load" ? readings.slice(-1) : readings;
    return outside(limit.phase, asked, limit.minC, limit.maxC);
  });
}
function readingsIn({ timesMs, valuesC }, fromMs, toMs) {
  const found = [];
  for (let i = 0; i < timesMs.length && timesMs[i] <= toMs; i += 1) {
    if (timesMs[i] >= fromMs) found.push({ tMs: timesMs[i], valueC: valuesC[i] });
  }
  return found;
}
function outside(phase, readings, minC, maxC) {
  return ["short", "long"].flatMap((side) => {
    let by = 0;
    let atMs = null;
    for (const { tMs, valueC } of readings) {
      const beyondK = side === "short" ? minC - valueC : valueC - maxC;
      if (beyondK <= 0) continue;
      atMs ??= tMs;
      by = Math.max(by, beyondK);
    }
    return atMs === null ? [] : [{ phase, side, by, unit: "K", atMs }];
  });
}
function lateRecovery(history, loadedMs, withinMin, endMs, holdLeastC) {
  const before = readingsIn(history, loadedMs - BEFORE_MS, loadedMs).at(-1);
  const targetC = holdLeastC ?? (before === void 0 ? null : before.valueC - BACK_WITHIN_K);
  const after = readingsIn(history, loadedMs, endMs);
  if (targetC === null || after.length === 0) return [];
  const dipped = after.findIndex(({ valueC }) => valueC < targetC);
  if (dipped < 0) return [];
  const back = after.slice(dipped).find(({ valueC }) => valueC >= targetC);
  const backMs = back?.tMs ?? after[after.length - 1].tMs;
  const by = (backMs - loadedMs) / 6e4 - withinMin;
  const atMs = loadedMs + withinMin * 6e4;
  return by > 0 ? [{ phase: "recovery", side: "long", by, unit: "min", atMs }] : [];
}

// shared-models/score/repress.ts
function repressOf({ window }, places) {
  const noReturn = "noReturn" in window ? window.noReturn : void 0;
  if (noReturn === void 0) return null;
  const equal = EQUAL_MARGIN_SHARE * noReturn;
  let furthest = null;
  for (const place of places) {
    if (furthest === null || place.high - furthest.high > equal) furthest = place;
  }
  if (furthest === null) return null;
  const { zone, glueLine, high } = furthest;
  const low = places.reduce((most, place) => Math.max(most, place.low), 0);
  const answer = high <= noReturn ? "allowed" : low > noReturn ? "refused" : "unproven";
  return { noReturn, zone, glueLine, low, high, answer };
}

// shared-models/score/requirements/check.ts
function isAsked({ least, most }) {
  return least !== null || most !== null;
}
function held(what, limits2, known2) {
  const { least, most } = limits2;
  const { low, high, atMs } = known2;
  const decided = decide({ low, nominal: low, high }, { least: least ?? -Infinity, most });
  return { what, ...limits2, low, high, atMs, ...decided };
}
function unheard(what, limits2) {
  const { least, most } = limits2;
  const side = least === null ? "long" : most === null ? "short" : "both";
  return { what, ...limits2, low: null, high: null, atMs: null, verdict: "unproven", side };
}
function heldThroughout(what, limits2, extremes) {
  const { least, most } = limits2;
  const { least: lowest2, greatest, broken } = extremes;
  const known2 = { what, ...limits2, low: lowest2.low, high: greatest.high };
  const said2 = (verdict, side, atMs2) => ({
    ...known2,
    verdict,
    side,
    atMs: atMs2
  });
  if (least !== null && lowest2.high < least) return said2("under", "short", lowest2.atMs);
  if (most !== null && greatest.low > most) return said2("over", "long", greatest.atMs);
  const short = least !== null && (broken || lowest2.low < least);
  const long = most !== null && (broken || greatest.high > most);
  if (!short && !long) return said2("in-window", null, null);
  const atMs = broken ? null : short ? lowest2.atMs : greatest.atMs;
  return said2("unproven", short && long ? "both" : short ? "short" : "long", atMs);
}
function extremesOf(knowns, broken = false) {
  const [first] = knowns;
  if (first === void 0) return null;
  let least = first;
  let greatest = first;
  for (const known2 of knowns) {
    if (known2.low + known2.high < least.low + least.high) least = known2;
    if (known2.low + known2.high > greatest.low + greatest.high) greatest = known2;
  }
  return { least, greatest, broken };
}

// shared-models/score/requirements/evidence.ts
function eventsOf({ input }, ...kinds) {
  return (input.events ?? []).filter(({ event }) => kinds.includes(event));
}
function between(from, to) {
  return {
    low: to.earliestMs - from.latestMs,
    high: to.latestMs - from.earliestMs,
    atMs: to.latestMs
  };
}
function inUnitOf({ low, high, atMs }, msPerUnit) {
  return { low: low / msPerUnit, high: high / msPerUnit, atMs };
}
function longest(times) {
  let found = null;
  for (const time of times) if (found === null || time.high > found.high) found = time;
  return found;
}
function firstOf(events) {
  let found = null;
  for (const event of events)
    if (found === null || event.earliestMs < found.earliestMs) found = event;
  return found;
}
function lastOf(events) {
  let found = null;
  for (const event of events) if (found === null || event.latestMs > found.latestMs) found = event;
  return found;
}
function entered(events, name, doubtName) {
  return events.flatMap(({ numbers, latestMs }) => {
    const value = numbers[name];
    if (value === void 0) return [];
    const doubt = numbers[doubtName] ?? 0;
    return [{ low: value - doubt, high: value + doubt, atMs: latestMs }];
  });
}
function endMark(input) {
  const nowMs = input.endMs ?? input.asOfMs;
  return input.marks.releaseStart ?? { earliestMs: nowMs, latestMs: nowMs };
}

// shared-models/score/requirements/signals.ts
var N_PER_MM2_PER_BAR = 0.1;
var SILENT_IN_SPACINGS = 5;
function watched({ input, fold }, kind, point) {
  const points = Object.entries(input.signals ?? {}).filter(
    ([id, { signal }]) => signal === kind && (point === void 0 || id === point)
  );
  const [only] = points;
  const history = only === void 0 ? void 0 : fold.histories.get(only[0]);
  if (only === void 0 || points.length > 1 || history === void 0) return null;
  return { signal: only[1], history };
}
function extremesBetween({ signal, history }, fromMs, toMs, perUnit) {
  const doubt = signal.expanded;
  const silentAfterMs = signal.silentAfterMs ?? SILENT_IN_SPACINGS * (history.spacingMs ?? 0);
  const knowns = [];
  let lastMs = fromMs;
  let broken = false;
  for (let i = 0; i < history.timesMs.length; i += 1) {
    const t = history.timesMs[i];
    if (t > toMs) break;
    if (t < fromMs) continue;
    if (t - lastMs > silentAfterMs) broken = true;
    lastMs = t;
    const value = history.valuesC[i];
    knowns.push({ low: (value - doubt) * perUnit, high: (value + doubt) * perUnit, atMs: t });
  }
  if (toMs - lastMs > silentAfterMs) broken = true;
  return extremesOf(knowns, broken);
}
function pressureChecks(asked, evidence) {
  const limits2 = {
    least: asked.minNPerMm2 ?? null,
    most: asked.maxNPerMm2 ?? null,
    unit: "N/mm²"
  };
  const said2 = extremesOf(entered(eventsOf(evidence, "pressure-on"), "nPerMm2", "expandedNPerMm2"));
  if (asked.coveredBy !== "measured" && said2 !== null) {
    return [heldThroughout("pressure", limits2, said2)];
  }
  const oil = watched(evidence, "bar", asked.point);
  const ramCm2 = oil?.signal.ramAreaCm2 ?? null;
  if (oil === null || ramCm2 === null || asked.pressedAreaCm2 === void 0) {
    return [unheard("pressure", limits2)];
  }
  const fromMs = evidence.input.marks.pressureOn.latestMs;
  const perBar = N_PER_MM2_PER_BAR * ramCm2 / asked.pressedAreaCm2;
  const found = extremesBetween(oil, fromMs, endMark(evidence.input).earliestMs, perBar);
  return [found === null ? unheard("pressure", limits2) : heldThroughout("pressure", limits2, found)];
}
var STANDS_MS = 5e3;
function releaseSteps(evidence, point, fromMs, toMs) {
  const oil = watched(evidence, "bar", point);
  if (oil === null) return null;
  const { timesMs, valuesC: values } = oil.history;
  const standsBar = 2 * oil.signal.expanded;
  let steps = 0;
  let stoodSinceMs = -Infinity;
  let heldBar = null;
  for (let i = 0; i < timesMs.length; i += 1) {
    if (timesMs[i] > toMs) break;
    if (heldBar === null || timesMs[i] < fromMs) {
      heldBar = values[i];
      continue;
    }
    if (heldBar - values[i] > standsBar) {
      if (timesMs[i] - stoodSinceMs >= STANDS_MS) steps += 1;
      stoodSinceMs = timesMs[i];
      heldBar = values[i];
    }
  }
  return heldBar === null ? null : steps;
}
function airChecks(asked, evidence) {
  const { input, fold } = evidence;
  const fromMs = input.marks.pressureOn.latestMs;
  const toMs = endMark(evidence.input).earliestMs;
  const checks = [];
  const warmth = { least: asked.minC ?? null, most: asked.maxC ?? null, unit: "°C" };
  if (isAsked(warmth)) {
    const found = fold.zones.flatMap((zone) => {
      const point = zone?.zone.air ?? null;
      const history = point === null ? void 0 : fold.histories.get(point);
      const doubtK = point === null ? 0 : input.sensors[point]?.expandedK ?? 0;
      const knowns = (history?.timesMs ?? []).flatMap((t, i) => {
        const valueC = history?.valuesC[i] ?? NaN;
        const inside = t >= fromMs && t <= toMs;
        return inside ? [{ low: valueC - doubtK, high: valueC + doubtK, atMs: t }] : [];
      });
      const extremes = extremesOf(
        knowns,
        fold.gaps.some((gap) => gap.point === point)
      );
      return extremes === null ? [] : [heldThroughout("air", warmth, extremes)];
    });
    checks.push(...found.length > 0 ? found : [unheard("air", warmth)]);
  }
  const moist = { least: asked.minRhPct ?? null, most: asked.maxRhPct ?? null, unit: "%" };
  if (isAsked(moist)) {
    const rh = watched(evidence, "percent", asked.point);
    const found = rh === null ? null : extremesBetween(rh, fromMs, toMs, 1);
    checks.push(
      found === null ? unheard("humidity", moist) : heldThroughout("humidity", moist, found)
    );
  }
  if (asked.moving === true) {
    const limits2 = { least: 1, most: null, unit: "1" };
    const fan = watched(evidence, "switch", asked.fan);
    const found = fan === null ? null : extremesBetween(fan, fromMs, toMs, 1);
    checks.push(
      found === null ? unheard("moving", limits2) : heldThroughout("moving", limits2, found)
    );
  }
  return checks;
}
function faceDifferenceChecks({ maxK }, evidence) {
  const { input, fold } = evidence;
  const limits2 = { least: null, most: maxK, unit: "K" };
  const recovery = (input.recipe.limits ?? []).find(({ phase }) => phase === "recovery");
  const recoveryMin = recovery?.phase === "recovery" ? recovery.withinMin : USUAL_RECOVERY_MIN2;
  const fromMs = input.startMs + recoveryMin * 6e4;
  const toMs = endMark(evidence.input).earliestMs;
  return fold.zones.flatMap((zone) => {
    if (zone === null) return [];
    const { upper, lower } = zone.zone;
    const above = upper === null ? void 0 : fold.histories.get(upper);
    const below = lower === null ? void 0 : fold.histories.get(lower);
    if (above === void 0 || below === void 0 || upper === null || lower === null) return [];
    const [upperK, lowerK] = [upper, lower].map((point) => input.sensors[point]?.expandedK ?? 0);
    const doubtK = Math.sqrt(upperK * upperK + lowerK * lowerK);
    let j = 0;
    const knowns = above.timesMs.flatMap((t, i) => {
      while (j + 1 < below.timesMs.length && below.timesMs[j + 1] <= t) j += 1;
      if (t < fromMs || t > toMs || j >= below.timesMs.length) return [];
      if (Math.abs(below.timesMs[j] - t) > SAME_TIME_MS) return [];
      const apartK = Math.abs(above.valuesC[i] - below.valuesC[j]);
      return [{ low: Math.max(0, apartK - doubtK), high: apartK + doubtK, atMs: t }];
    });
    const broken = fold.gaps.some(
      ({ point, fromMs: sinceMs, toMs: untilMs }) => (point === upper || point === lower) && (untilMs ?? toMs) > fromMs && sinceMs < toMs
    );
    const extremes = extremesOf(knowns, broken);
    return [
      extremes === null ? unheard(`face-difference ${zone.zone.id}`, limits2) : heldThroughout(`face-difference ${zone.zone.id}`, limits2, extremes)
    ];
  });
}
var USUAL_RECOVERY_MIN2 = 10;
var SAME_TIME_MS = 3e4;

// shared-models/score/requirements/times.ts
var MS_PER_MIN = 6e4;
var MS_PER_H = 36e5;
var MS_PER_D = 864e5;
function assemblyChecks(asked, evidence) {
  const { pressureOn } = evidence.input.marks;
  const spread = eventsOf(evidence, "spread");
  const assembled = eventsOf(evidence, "assembled");
  const firstSpread = firstOf(spread);
  const lastSpread = lastOf(spread);
  const firstCovered = firstOf(assembled);
  const lastCovered = lastOf(assembled);
  const open = limits(asked.openMinMin, asked.openMaxMin, "min");
  const closed = limits(asked.closedMinMin, asked.closedMaxMin, "min");
  const checks = [];
  if (isAsked(open)) {
    checks.push(
      firstSpread === null || lastSpread === null || firstCovered === null || lastCovered === null ? unheard("open", open) : held("open", open, spanOf(firstSpread, lastSpread, firstCovered, lastCovered))
    );
  }
  if (isAsked(closed)) {
    checks.push(
      firstCovered === null || lastCovered === null ? unheard("closed", closed) : held("closed", closed, spanOf(firstCovered, lastCovered, pressureOn, pressureOn))
    );
  }
  return checks;
}
function spanOf(first, last, toFirst, toLast) {
  const shortest = toFirst.earliestMs - last.latestMs;
  return inUnitOf(
    {
      low: Math.max(0, Math.min(shortest, toLast.latestMs - first.earliestMs)),
      high: toLast.latestMs - first.earliestMs,
      atMs: toLast.latestMs
    },
    MS_PER_MIN
  );
}
function mixAgeChecks(asked, evidence) {
  const most = { least: null, most: asked.maxMin, unit: "min" };
  const mixes = eventsOf(evidence, "mix");
  if (mixes.length === 0) return [unheard("mix-age", most)];
  const { activationEnergyJPerMol, referenceC } = asked;
  return mixes.map((mix) => {
    const name = mix.names["mix"] ?? null;
    const what = name === null ? "mix-age" : `mix-age ${name}`;
    const used = lastOf(usesOf(evidence, name)) ?? evidence.input.marks.pressureOn;
    const age = inUnitOf(between(mix, used), MS_PER_MIN);
    const discarded = eventsOf(evidence, "mix-discarded").find(
      ({ names }) => names["mix"] === name
    );
    if (discarded !== void 0 && discarded.latestMs < used.earliestMs) {
      return held(what, { ...most, most: 0 }, age);
    }
    if (activationEnergyJPerMol === void 0 || referenceC === void 0) {
      return held(what, most, age);
    }
    const { tempC } = mix.numbers;
    if (tempC === void 0) return unheard(what, most);
    const doubtK = mix.numbers["expandedK"] ?? 0;
    const law = equivalentTimeLaw({
      form: "equivalent-time",
      referenceC,
      activationEnergyJPerMol,
      source: "the recipe"
    });
    const at = (minutes, c) => law.advance(law.initial, c, c, Math.max(0, minutes) * 60);
    return held(what, most, {
      low: at(age.low, tempC - doubtK),
      high: at(age.high, tempC + doubtK),
      atMs: age.atMs
    });
  });
}
function usesOf(evidence, name) {
  return eventsOf(evidence, "spread", "coat").filter(
    ({ names }) => names["mix"] === void 0 || name === null || names["mix"] === name
  );
}
function materialLifeChecks(asked, evidence) {
  const uses = eventsOf(evidence, "spread", "mix", "coat", "assembled");
  const checks = [];
  const age = limits(void 0, asked.maxD, "d");
  if (isAsked(age)) {
    const ages = uses.flatMap((use) => {
      const madeMs = use.numbers["madeMs"];
      if (madeMs === void 0) return [];
      return [between({ earliestMs: madeMs, latestMs: madeMs }, use)];
    });
    const oldest = longest(ages);
    checks.push(
      oldest === null ? unheard("age", age) : held("age", age, inUnitOf(oldest, MS_PER_D))
    );
  }
  const stored = limits(void 0, asked.storedMaxC, "°C");
  if (isAsked(stored)) {
    const found = longest(
      uses.flatMap(({ numbers, latestMs }) => {
        const c = numbers["storedMaxC"];
        return c === void 0 ? [] : [{ low: c, high: c, atMs: latestMs }];
      })
    );
    checks.push(found === null ? unheard("stored", stored) : held("stored", stored, found));
  }
  return checks;
}
function openingChecks(asked, evidence) {
  const { releaseStart, open } = evidence.input.marks;
  const time = limits(asked.minS, asked.maxS, "s");
  const checks = [];
  const isKnown = releaseStart !== null && open !== null;
  if (isAsked(time)) {
    checks.push(
      isKnown ? held("time", time, inUnitOf(between(releaseStart, open), 1e3)) : unheard("time", time)
    );
  }
  const steps = limits(asked.minSteps, void 0, "1");
  if (isAsked(steps)) {
    const counted = isKnown ? releaseSteps(evidence, asked.point, releaseStart.earliestMs, open.latestMs) : null;
    checks.push(
      counted === null ? unheard("steps", steps) : held("steps", steps, { low: counted, high: counted, atMs: open?.latestMs ?? null })
    );
  }
  return checks;
}
function flashOffChecks(evidence) {
  const { recipe, marks } = evidence.input;
  const asked = recipe.kind === "oven" ? recipe.flashOffMin : void 0;
  if (asked === void 0) return [];
  const time = limits(asked.least, asked.most, "min");
  const begun = lastOf(eventsOf(evidence, "flash-off-start"));
  if (begun === null) return [unheard("flash-off", time)];
  return [held("flash-off", time, inUnitOf(between(begun, marks.pressureOn), MS_PER_MIN))];
}
function recoatChecks(asked, evidence) {
  const { recipe, coats } = evidence.input;
  const coat = lastOf(eventsOf(evidence, "coat"));
  const checks = [];
  const recoatH = recipe.kind === "oven" ? recipe.recoatH : void 0;
  if (recoatH !== void 0) {
    for (const bakedMs of lastBakes(coats)) {
      const abraded = lastOf(eventsOf(evidence, "abraded"));
      const renewed = bakedMs !== null && abraded !== null && abraded.earliestMs >= bakedMs;
      const time = limits(recoatH.least, renewed ? void 0 : recoatH.most, "h");
      const baked = bakedMs === null ? null : { earliestMs: bakedMs, latestMs: bakedMs };
      checks.push(
        coat === null || baked === null ? unheard("recoat", time) : held("recoat", time, inUnitOf(between(baked, coat), MS_PER_H))
      );
    }
  }
  const cool = limits(void 0, asked.pieceMaxC, "°C");
  if (isAsked(cool)) {
    const before = eventsOf(evidence, "piece-temperature").filter(
      ({ latestMs }) => coat === null || latestMs <= coat.latestMs
    );
    const last = lastOf(before);
    const c = last?.numbers["tempC"];
    const doubtK = last?.numbers["expandedK"] ?? 0;
    checks.push(
      last === null || c === void 0 ? unheard("piece", cool) : held("piece", cool, { low: c - doubtK, high: c + doubtK, atMs: last.latestMs })
    );
  }
  return checks;
}
function lastBakes(coats) {
  const ofParts = /* @__PURE__ */ new Map();
  for (const { endMs, own } of coats) {
    const parts = (own?.parts ?? []).join("\n");
    const known2 = ofParts.get(parts) ?? null;
    ofParts.set(parts, endMs === void 0 ? known2 : Math.max(known2 ?? endMs, endMs));
  }
  return [...new Set(ofParts.values())].sort((a, b) => (a ?? 0) - (b ?? 0));
}
function restChecks(asked, evidence) {
  const { input } = evidence;
  const least = asked.minD !== void 0 ? asked.minD * MS_PER_D : (asked.minMin ?? 0) * MS_PER_MIN;
  const unit = asked.minD !== void 0 ? "d" : "min";
  const msPerUnit = asked.minD !== void 0 ? MS_PER_D : MS_PER_MIN;
  const time = limits(least / msPerUnit, void 0, unit);
  if (input.station.kind === "store") {
    const rested = between(input.marks.pressureOn, endMark(evidence.input));
    return [held("rest", time, inUnitOf(rested, msPerUnit))];
  }
  const end = input.marks.open ?? endMark(evidence.input);
  const moved = firstOf(
    eventsOf(evidence, "part-moved").filter(({ latestMs }) => latestMs >= end.earliestMs)
  );
  if (moved === null) return null;
  return [held("rest", time, inUnitOf(between(end, moved), msPerUnit))];
}
function limits(least, most, unit) {
  return { least: least ?? null, most: most ?? null, unit };
}

// shared-models/score/requirements/samples.ts
function all(what, limits2, samples) {
  if (!isAsked(limits2)) return [];
  const extremes = extremesOf(samples);
  return [extremes === null ? unheard(what, limits2) : heldThroughout(what, limits2, extremes)];
}
function pieceTemperatureChecks({ minC, maxC, coveredBy }, evidence) {
  const { fold } = evidence;
  const limits2 = { least: minC ?? null, most: maxC ?? null, unit: "°C" };
  const byHand = entered(eventsOf(evidence, "piece-temperature"), "tempC", "expandedK");
  if (coveredBy !== "measured" || byHand.length > 0) {
    return all("piece-temperature", limits2, byHand);
  }
  const started = fold.zones.flatMap((zone) => {
    if (zone === null || zone.start.point === null || zone.start.ageMs === null) return [];
    const { lowC, highC, expandedK } = zone.start;
    return [{ low: lowC - expandedK, high: highC + expandedK, atMs: fold.grid.startMs }];
  });
  return all("piece-temperature", limits2, started);
}
function moistureChecks({ minPct, maxPct }, evidence) {
  const limits2 = { least: minPct ?? null, most: maxPct ?? null, unit: "%" };
  return all("moisture", limits2, entered(eventsOf(evidence, "moisture"), "pct", "expandedPct"));
}
function mixRatioChecks({ partsPer100, tolerance }, evidence) {
  const limits2 = {
    least: partsPer100 - tolerance,
    most: partsPer100 + tolerance,
    unit: "parts to 100"
  };
  const ratios = eventsOf(evidence, "mix").flatMap(({ numbers, latestMs }) => {
    const { resinG, hardenerG } = numbers;
    const weighed = resinG !== void 0 && hardenerG !== void 0 && resinG > 0 ? 100 * hardenerG / resinG : void 0;
    const parts = numbers["partsPer100"] ?? weighed;
    return parts === void 0 ? [] : [{ low: parts, high: parts, atMs: latestMs }];
  });
  return all("mix-ratio", limits2, ratios);
}
function filmBuildChecks(asked, evidence) {
  const { minGPerM2, maxGPerM2, minUm, maxUm } = asked;
  const coats = eventsOf(evidence, "coat");
  const spread = { least: minGPerM2 ?? null, most: maxGPerM2 ?? null, unit: "g/m²" };
  const thick = { least: minUm ?? null, most: maxUm ?? null, unit: "µm" };
  return [
    ...all("spread", spread, entered(coats, "gPerM2", "expandedGPerM2")),
    ...all("thickness", thick, entered(coats, "um", "expandedUm"))
  ];
}
function testChecks({ method, min, max, unit }, evidence) {
  const results = eventsOf(evidence, "test-result").filter(
    ({ names }) => names["method"] === method && (unit === void 0 || (names["unit"] ?? unit) === unit)
  );
  if (results.length === 0) return null;
  const limits2 = { least: min ?? null, most: max ?? null, unit: unit ?? "1" };
  const values = entered(results, "value", "expanded");
  if (isAsked(limits2)) return all(method, limits2, values);
  const passed = { least: 1, most: null, unit: "1" };
  return all(method, passed, entered(results, "passed", ""));
}

// shared-models/score/requirements/precure.ts
function precureChecks({ most, contactToPressureMaxS }, { input, fold }, { perLawUnit, unit }) {
  const { contact, pressureOn } = input.marks;
  const checks = [];
  if (most !== void 0) {
    const limits2 = { least: null, most, unit };
    const known2 = { low: 0, high: 0, atMs: pressureOn.latestMs };
    for (const zone of fold.zones) {
      zone?.piece.spots.forEach((_spot, spot) => {
        const own = precureOf(zone, spot);
        known2.low = Math.max(known2.low, own.low * perLawUnit);
        known2.high = Math.max(known2.high, own.high * perLawUnit);
      });
    }
    const judged = contact !== null && fold.zones.some((zone) => zone !== null);
    checks.push(judged ? held("precure", limits2, known2) : unheard("precure", limits2));
  }
  if (contactToPressureMaxS !== void 0) {
    const limits2 = { least: null, most: contactToPressureMaxS, unit: "s" };
    if (contact === null) checks.push(unheard("contact to pressure", limits2));
    else {
      const { low, high, atMs } = inUnitOf(between(contact, pressureOn), 1e3);
      const known2 = { low: Math.max(0, low), high: Math.max(0, high), atMs };
      checks.push(held("contact to pressure", limits2, known2));
    }
  }
  return checks;
}

// shared-models/score/requirements/windows.ts
var MS_PER_D2 = 864e5;
function resultOf(kind, checks, evidence) {
  const verdict = worstVerdict(checks.map((check) => check.verdict));
  const side = checks.find((check) => check.verdict === verdict)?.side ?? null;
  return {
    kind,
    coveredBy: "measured",
    procedure: null,
    verdict,
    side,
    checks,
    deviations: [],
    evidence
  };
}
function restOf(input, { calendarLeastMs }) {
  if (calendarLeastMs === null) return null;
  const end = endMark(input);
  const rested = inUnitOf(between(input.marks.pressureOn, end), MS_PER_D2);
  const limits2 = { least: calendarLeastMs / MS_PER_D2, most: null, unit: "d" };
  return resultOf("rest", [held("calendar", limits2, rested)], `${rested.low} d`);
}
function totalOf(input, places, { unit }, results) {
  const { recipe, coats } = input;
  if (recipe.kind !== "oven" || places.length === 0) return [];
  const missed = missedBakes(coats, recipe.window.step.least, unit);
  const byOwn = results.flatMap((coat) => ownTotal(coat) ?? []);
  const { most } = recipe.window.total ?? {};
  const added = most === void 0 ? [] : addedTotals(input, places, { least: null, most, unit });
  const checks = [...added, ...byOwn];
  if (checks.length === 0) return missed;
  return [...missed, resultOf("total", checks, mostOf(checks, unit))];
}
function mostOf(checks, unit) {
  const alike = checks.filter((check) => check.unit === unit);
  const shown = alike.length > 0 ? alike : checks;
  const low = Math.max(...shown.map((check) => check.low ?? 0));
  const high = Math.max(...shown.map((check) => check.high ?? 0));
  return `${low} to ${high} ${shown[0].unit}`;
}
function missedBakes(coats, least, unit) {
  const missed = coats.filter(({ step }) => step === "under");
  if (missed.length === 0) return [];
  const checks = missed.map(({ coat, low, high, own }) => ({
    what: `coat ${coat}`,
    least: own?.step.window.least ?? least,
    most: null,
    unit: own === void 0 ? unit : createLaw(own.law).unit,
    low: own?.step.low ?? low,
    high: own?.step.high ?? high,
    atMs: null,
    verdict: "under",
    side: "short"
  }));
  const names = missed.map(({ coat }) => coat).join(", ");
  return [resultOf("earlier-coat", checks, `coat ${names}: short of its own bake`)];
}
function ownTotal({ coat, law, states, total, unjudged }) {
  const most = total?.window.most ?? null;
  if (most === null) return null;
  const { unit } = createLaw(law);
  const limits2 = { least: null, most, unit };
  const through = placesOf(law, states);
  const low = Math.max(0, ...through.map((place) => place.low));
  const high = Math.max(0, ...through.map((place) => place.high));
  const check = held(`coat ${coat}`, limits2, { low, high, atMs: null });
  if (unjudged === void 0 || check.verdict === "over") return check;
  return { ...check, high: null, verdict: "unproven", side: "long" };
}
function addedTotals({ recipe, coats }, places, limits2) {
  const here = {
    low: Math.min(...places.map(({ low }) => low)),
    high: Math.max(...places.map(({ high }) => high)),
    atMs: null
  };
  const numbered = recipe.kind === "oven" && recipe.coat !== void 0;
  const none = { coat: coats.length + 1, low: 0, high: 0 };
  const sums = [...coats.filter(({ own }) => own === void 0), ...numbered ? [] : [none]];
  return sums.map(
    ({ coat, low, high }) => held(`coat ${coat}`, limits2, { low: low + here.low, high: high + here.high, atMs: null })
  );
}

// shared-models/score/requirements.ts
function requirementResults(input, fold, places, judged, coats) {
  const evidence = { input, fold };
  const asked = input.recipe.requirements.map(
    (requirement) => resultOf2(requirement, checksOf(requirement, evidence, judged), input)
  );
  const windows = [restOf(input, judged), ...totalOf(input, places, judged, coats)];
  return [...asked, ...windows.filter((each) => each !== null)];
}
function checksOf(requirement, evidence, judged) {
  switch (requirement.kind) {
    case "precure":
      return precureChecks(requirement, evidence, judged);
    case "pressure":
      return pressureChecks(requirement, evidence);
    case "assembly-time":
      return assemblyChecks(requirement, evidence);
    case "piece-temperature":
      return pieceTemperatureChecks(requirement, evidence);
    case "moisture":
      return moistureChecks(requirement, evidence);
    case "mix-age":
      return mixAgeChecks(requirement, evidence);
    case "mix-ratio":
      return mixRatioChecks(requirement, evidence);
    case "material-life":
      return materialLifeChecks(requirement, evidence);
    case "opening":
      return evidence.input.endMs === null ? null : openingChecks(requirement, evidence);
    case "face-difference":
      return faceDifferenceChecks(requirement, evidence);
    case "flash-off":
      return flashOffChecks(evidence);
    case "recoat":
      return recoatChecks(requirement, evidence);
    case "film-build":
      return filmBuildChecks(requirement, evidence);
    case "air":
      return airChecks(requirement, evidence);
    case "rest":
      return restChecks(requirement, evidence);
    case "test":
      return testChecks(requirement, evidence);
  }
}
var measuredKinds = [
  ...["precure", "pressure", "opening", "face-difference", "air", "rest"]
];
function resultOf2(requirement, found, { station }) {
  const { kind, coveredBy } = requirement;
  const procedure = typeof coveredBy === "object" ? coveredBy.notMonitored : null;
  const isKnown = ({ low }) => low !== null;
  const optional = procedure !== null || coveredBy === "sampled";
  const checks = optional ? (found ?? []).filter(isKnown) : found ?? [];
  const awaited = kind === "test" && (station.kind === "store" || coveredBy !== "sampled");
  const by = measuredKinds.includes(kind) ? "measured" : "entered";
  if (checks.length === 0) {
    const open = procedure === null && found === null && awaited;
    return {
      kind,
      coveredBy: procedure === null && open ? coveredByOf(coveredBy, by) : "not-monitored",
      procedure,
      verdict: open ? "unproven" : "not-monitored",
      side: open ? "short" : null,
      checks: [],
      deviations: [],
      evidence: procedure === null ? nothingSaid(found, coveredBy) : null
    };
  }
  const judged = checks.map((check) => severeOf(requirement, check));
  const verdict = worstVerdict(judged.map((check) => check.verdict));
  return {
    kind,
    coveredBy: coveredByOf(coveredBy, by),
    procedure,
    verdict,
    side: sideOf2(judged, verdict),
    checks,
    deviations: checks.flatMap((check) => deviationOf(requirement, check)),
    evidence: checks.map(told).join(", ")
  };
}
function coveredByOf(coveredBy, known2) {
  return typeof coveredBy === "object" ? known2 : coveredBy;
}
function nothingSaid(found, coveredBy) {
  if (typeof coveredBy === "object") return null;
  if (found === null) return "not yet";
  return coveredBy === "sampled" ? "no sample of this load" : "nothing is asked here";
}
function severeOf({ severity }, check) {
  const { side } = check;
  const mild = (end) => severity?.[end] === "deviation";
  if (side === null) return check;
  if (side === "both") {
    if (mild("short") && mild("long")) return { ...check, verdict: "in-window", side: null };
    return { ...check, side: mild("short") ? "long" : mild("long") ? "short" : "both" };
  }
  return mild(side) ? { ...check, verdict: "in-window", side: null } : check;
}
function deviationOf({ severity, kind }, check) {
  const { side, least, most, low, high, unit, atMs } = check;
  if (low === null || high === null) return [];
  return ["short", "long"].flatMap((end) => {
    if (severity?.[end] !== "deviation" || side !== end && side !== "both") return [];
    const by = end === "short" ? (least ?? low) - low : high - (most ?? high);
    return [{ phase: "requirement", zone: null, what: kind, side: end, by, unit, atMs }];
  });
}
function sideOf2(checks, verdict) {
  const sides = checks.filter((check) => check.verdict === verdict).map(({ side }) => side);
  const short = sides.includes("short") || sides.includes("both");
  const long = sides.includes("long") || sides.includes("both");
  if (short && long) return "both";
  return short ? "short" : long ? "long" : null;
}
function told({ what, low, high, unit }) {
  if (low === null || high === null) return `${what}: nothing was said`;
  const number = (value) => String(Number(value.toPrecision(4)));
  const range = low === high ? number(low) : `${number(low)} to ${number(high)}`;
  return `${what} ${range} ${unit}`;
}

// shared-models/score/score.ts
function score(input, readingsCsv) {
  return scoreReadings(input, parseReadings(readingsCsv));
}
function scoreReadings(input, readings) {
  return resultOf3(input, foldLoad(input, readings));
}
function resultOf3(input, fold) {
  const law = runLaws(input.recipe.law).nominal;
  const judged = judgedWindow(input.recipe, law.unit);
  const possible = isRefused(input) ? [] : placesOf2(fold, judged);
  const places = isUnread(input, fold) ? [] : possible;
  const worst = worstPlace(places, judged);
  const coats = coatsAfter(input, fold);
  const requirements = requirementResults(input, fold, places, judged, coats);
  const budget = worst === null ? [] : budgetOf(fold, judged, worst);
  const verdicts = [worstVerdict(places.map(({ verdict: verdict2 }) => verdict2))];
  if (fold.zones.includes(null)) verdicts.push("unproven");
  for (const { verdict: verdict2 } of requirements) if (verdict2 !== "not-monitored") verdicts.push(verdict2);
  const verdict = worstVerdict(verdicts);
  return {
    format: 1,
    state: input.endMs === null ? "open" : "ended",
    verdict,
    side: sideOf3(verdict, possible, requirements),
    measure: law.measure,
    unit: judged.unit,
    window: judged.window,
    worst: worst === null ? null : worstOf(input, worst, judged),
    places,
    ...coats.length === 0 ? {} : { coats },
    repress: repressOf(input.recipe, places),
    requirements,
    deviations: deviationsOf(input, fold, requirements),
    budget,
    quality: qualityOf(input, fold),
    reasons: reasonsOf(input, fold, judged, worst, requirements, budget)
  };
}
function placesOf2(fold, { perLawUnit, window }) {
  return fold.zones.flatMap((zone) => {
    if (zone === null) return [];
    return zone.piece.spots.map(({ glueLine, depthMm }, spot) => {
      const earned2 = intervalOf(zone, spot);
      const interval = {
        low: earned2.low * perLawUnit,
        nominal: earned2.nominal * perLawUnit,
        high: earned2.high * perLawUnit
      };
      return {
        zone: zone.zone.id,
        glueLine,
        depthMm,
        ...interval,
        ...said(zone, interval, window)
      };
    });
  });
}
function said(zone, interval, window) {
  const decided = decide(interval, window);
  if (decided.verdict !== "in-window" || !isBlind(zone)) return decided;
  return { verdict: "unproven", side: "both" };
}
function worstPlace(places, { window }) {
  const equal = EQUAL_MARGIN_SHARE * window.least;
  let worst = null;
  for (const place of places) {
    if (worst === null || marginOf(worst, window) - marginOf(place, window) > equal) worst = place;
  }
  return worst;
}
function worstOf(input, place, { window, calendarLeastMs }) {
  const { zone, glueLine, depthMm } = place;
  const own = marginOf(place, window);
  if (calendarLeastMs === null) return { zone, glueLine, depthMm, margin: own };
  const restedMs = (input.endMs ?? input.asOfMs) - input.startMs;
  const margin = Math.min(own, (restedMs - calendarLeastMs) / 864e5);
  return { zone, glueLine, depthMm, margin };
}
function sideOf3(verdict, places, requirements) {
  if (verdict === "in-window") return null;
  const decisive = [...places, ...requirements].filter((each) => each.verdict === verdict);
  const sides = (decisive.length > 0 ? decisive : places).map(({ side }) => side);
  const short = sides.includes("short") || sides.includes("both");
  const long = sides.includes("long") || sides.includes("both");
  if (short && long) return "both";
  if (short || long) return short ? "short" : "long";
  if (verdict === "under") return "short";
  return verdict === "over" ? "long" : "both";
}
function qualityOf(input, { histories, gaps }) {
  const quality = {
    readings: 0,
    doubtful: 0,
    conflicts: 0,
    duplicates: 0,
    gaps,
    silent: []
  };
  const untilMs = input.endMs ?? input.asOfMs;
  const seams = pointsOf(input).flatMap((point) => {
    const sensor = input.sensors[point];
    return sensor === void 0 ? [] : seamsOf(point, sensor, gridStartMs(input), untilMs);
  });
  if (seams.length > 0) quality.seams = seams;
  for (const point of pointsOf(input)) {
    const history = histories.get(point);
    if (history === void 0) continue;
    quality.readings += history.timesMs.length;
    quality.doubtful += history.doubtful;
    quality.conflicts += history.conflicts;
    quality.duplicates += history.duplicates;
    const last = gaps.filter((gap) => gap.point === point).at(-1);
    if (history.timesMs.length === 0) quality.silent.push({ point, sinceMs: null });
    else if (last !== void 0 && (last.toMs === null || last.toMs === untilMs)) {
      quality.silent.push({ point, sinceMs: last.fromMs });
    }
  }
  return quality;
}

// shared-models/score/trace.ts
var USUAL_TIMES = 300;
function trace(input, readingsCsv, view = {}) {
  const readings = parseReadings(readingsCsv);
  const { worst, places, unit, quality } = scoreReadings(input, readings);
  const { perLawUnit } = judgedWindow(input.recipe, unit);
  const looked = places.find(
    (place) => place.zone === view.zone && place.glueLine === (view.glueLine ?? null)
  );
  const { zone: zoneId, glueLine } = looked ?? worst ?? { zone: "", glueLine: null };
  const drawn = {
    timesMs: [],
    measuredC: [],
    lines: [],
    section: null,
    cure: { zone: zoneId, glueLine, low: [], nominal: [], high: [] },
    gaps: quality.gaps
  };
  const grid = gridOfLoad(input);
  const [first, last] = stepsSeen(grid, view);
  const every = Math.max(1, Math.ceil((last - first + 1) / ((view.points ?? USUAL_TIMES) - 1)));
  const watch = (zone, steps) => {
    if (zone.zone.id !== zoneId || steps < first || steps > last) return;
    if ((steps - first) % every !== 0 && steps !== last) return;
    drawn.timesMs.push(gridTimeMs(grid, steps));
    drawZone(drawn, zone, glueLine, perLawUnit);
  };
  const { histories } = foldLoad(input, readings, watch);
  drawn.measuredC = measured(input, drawn.timesMs, histories);
  return drawn;
}
function stepsSeen(grid, { fromMs, toMs }) {
  const stepAt = (ms) => Math.floor((ms - grid.startMs) / grid.stepMs);
  const first = fromMs === void 0 ? 0 : Math.max(0, stepAt(fromMs));
  const last = toMs === void 0 ? grid.steps : Math.min(grid.steps, stepAt(toMs) + 1);
  return first < last ? [first, last] : [0, grid.steps];
}
function drawZone(drawn, zone, glueLine, perLawUnit) {
  const { spots, slab, ownNodes } = zone.piece;
  const id = zone.zone.id;
  if (drawn.lines.length === 0) {
    drawn.lines = spots.map((spot) => ({
      zone: id,
      glueLine: spot.glueLine,
      lowC: [],
      nominalC: [],
      highC: []
    }));
    if (slab !== null) {
      drawn.section = { zone: id, depthsMm: slab.depthsMm.slice(...ownNodes), tempC: [] };
    }
  }
  spots.forEach((spot, s) => {
    const line = drawn.lines[s];
    const nominalC = zone.nominal.spotC(s);
    line.nominalC.push(nominalC);
    line.lowC.push(Math.min(nominalC, ...zone.lows.map((run) => run.spotC(s))));
    line.highC.push(Math.max(nominalC, ...zone.highs.map((run) => run.spotC(s))));
    if (spot.glueLine !== glueLine) return;
    const { low, nominal, high } = intervalOf(zone, s);
    drawn.cure.low.push(low * perLawUnit);
    drawn.cure.nominal.push(nominal * perLawUnit);
    drawn.cure.high.push(high * perLawUnit);
  });
  drawn.section?.tempC.push([...zone.nominal.tempC.subarray(...ownNodes)]);
}
function measured(input, timesMs, histories) {
  return pointsOf(input).flatMap((point) => {
    const zone = input.zones.find(
      (z) => [z.upper, z.lower, z.air].includes(point) || z.belt?.zones.some((each) => each.air === point) === true
    );
    const history = histories.get(point);
    if (zone === void 0 || history === void 0) return [];
    const face = zone.upper === point ? "upper" : zone.lower === point ? "lower" : "air";
    const aliveMs = heartbeatInTimeMs(input.sensors[point]?.onChange);
    const oldMs = Math.max(3 * (history.spacingMs ?? 0) + 5e3, aliveMs);
    let next = 0;
    const valuesC = timesMs.map((t) => {
      while (next < history.timesMs.length && history.timesMs[next] <= t) next += 1;
      const known2 = next > 0 && t - history.timesMs[next - 1] <= oldMs;
      return known2 ? history.valuesC[next - 1] : null;
    });
    return [{ point, zone: zone.id, face, valuesC, ...boundsAt(input, point, history, timesMs) }];
  });
}
function boundsAt(input, point, history, timesMs) {
  const sensor = input.sensors[point];
  if (sensor === void 0) return {};
  const envelope = new Envelope(history, ratesOf(input, sensor));
  const ends = timesMs.map((t) => {
    envelope.at(t);
    return [envelope.low, envelope.high];
  });
  return { lowC: ends.map(([low]) => low), highC: ends.map(([, high]) => high) };
}
export {
  canonicalJson,
  canonicalReadings,
  carriedTo,
  parseReadings,
  score,
  scoreCoats,
  trace
};

// node score.mjs input.json readings.csv
if (typeof process === "object" && process.argv !== undefined && process.argv[1] !== undefined) {
  const { pathToFileURL } = await import("node:url");
  const { readFileSync, realpathSync } = await import("node:fs");
  if (import.meta.url === pathToFileURL(realpathSync(process.argv[1])).href) {
    const [inputFile, readingsFile] = process.argv.slice(2);
    if (readingsFile === undefined) {
      process.stderr.write("expected: node score.mjs input.json readings.csv\n");
      process.exit(2);
    }
    const input = JSON.parse(readFileSync(inputFile, "utf8"));
    process.stdout.write(canonicalJson(score(input, readFileSync(readingsFile, "utf8"))));
  }
}

