import { ABSOLUTE_ZERO_C } from '../units/temperature.ts';
import type { GlassTransition } from './glass-transition.ts';
import type { KineticStage } from './kinetic-stage.ts';
import { eachAlone, type Law } from './law.ts';
import { dormandPrinceStep, type Step } from './runge-kutta.ts';
import { refuseSegment } from './segment.ts';

/**
 * A step's estimate may be off by this share of what it adds, so that errors never outgrow the sum.
 * At 1e-8 the last digits of laws with an order below 1 were lost near their end; smooth ones keep 1e-12.
 */
const RELATIVE_ERROR = 1e-9;

/** What rounding alone does to a conversion near 1. */
const ROUNDING = 4e-15;

/** Where the rate is not smooth, steps are not cut below this share of the segment or of 1/rate. */
const SHORTEST_SHARE = 1e-12;

/** On the glass transition within this [K]: a linear segment's own rounding is a hundredth of it. */
const ON_GLASS_K = 1e-10;

/** 30,000 years: what takes longer never happens. */
const NEVER_S = 1e12;

/** Samples of the slide along the glass transition in one segment. */
const SLIDE_SAMPLES = 32;

/** What a segment's stretch was integrated to: degree of cure, and seconds since its start. */
interface Progress {
  alpha: number;
  timeS: number;
}

/**
 * Degree of cure after kinetic stages, to 1e-8 relative.
 *
 * Within a stage: Dormand-Prince 5(4) with the error held against what each step adds. A switch, and
 * the moment the mix turns to glass or softens again, end a stretch exactly there; the next stretch
 * starts anew. While a mix that reacts faster than it is heated turns to glass and softens again and
 * again, its glass transition follows the temperature, and so does its degree of cure.
 */
export function kineticLaw(stages: readonly KineticStage[], initial: number): Law {
  return {
    measure: 'degree-of-cure',
    unit: '1',
    initial,
    advance(alpha, fromC, toC, durationS) {
      if (!(durationS >= 0 && fromC >= ABSOLUTE_ZERO_C && toC >= ABSOLUTE_ZERO_C)) {
        refuseSegment(fromC, toC, durationS);
      }
      // Shorter than any reaction, and too short for a slope to be a number.
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
    risesWithTemperature: (fromC, toC) =>
      stages.every((stage, i) =>
        ratesRise(stage, stages[i - 1]?.untilAlpha ?? initial, fromC, toC),
      ),
  };
}

/** Runs until the time is up or the target is reached. */
function react(
  stages: readonly KineticStage[],
  initialAlpha: number,
  fromK: number,
  slopeKPerS: number,
  durationS: number,
  target: number,
): Progress {
  const at: Progress = { alpha: initialAlpha, timeS: 0 };
  while (at.timeS < durationS && at.alpha < target) {
    const stage = stages.find(({ untilAlpha }) => at.alpha < untilAlpha);
    if (stage === undefined) break;
    const stopAlpha = Math.min(stage.untilAlpha, target);
    if (stage.glass === null) {
      stretch(stage, at, fromK, slopeKPerS, durationS, stopAlpha);
      continue;
    }
    const tempK = fromK + slopeKPerS * at.timeS;
    const aboveK = tempK - stage.glass.tempK(at.alpha);
    if (aboveK < -ON_GLASS_K) {
      // Glass: nothing reacts until the temperature has risen to Tg.
      if (slopeKPerS <= 0) break;
      at.timeS = Math.min(durationS, at.timeS - aboveK / slopeKPerS);
    } else if (aboveK > ON_GLASS_K) {
      stretch(stage, at, fromK, slopeKPerS, durationS, stopAlpha);
    } else if (slopeKPerS <= 0) {
      break;
    } else if (
      !outpacesHeating(stage, stage.glass, tempK, slopeKPerS) ||
      !slide(stage, stage.glass, at, fromK, slopeKPerS, durationS, stopAlpha)
    ) {
      stretch(stage, at, fromK, slopeKPerS, durationS, stopAlpha, true);
    }
  }
  return at;
}

/** Integrates one stage until the time is up, its end is reached or the mix turns to glass. */
function stretch(
  stage: KineticStage,
  at: Progress,
  fromK: number,
  slopeKPerS: number,
  durationS: number,
  stopAlpha: number,
  leavesGlass = false,
): void {
  const step: Step = { alpha: 0, error: 0 };
  const { ratePerS, glass } = stage;
  // A mix that leaves the glass may fall back into it; small first steps cannot miss that.
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
      const past = (alpha: number, afterS: number) =>
        Math.max(
          alpha - stopAlpha,
          glass === null || !softened
            ? -1
            : (glass.tempK(alpha) - tempK - slopeKPerS * afterS) / 1e3,
        );
      const untilS = firstCrossing(ratePerS, at.alpha, tempK, slopeKPerS, h, past, step);
      // What is little beside the whole step's gain may be much beside the part's.
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
    softened ||=
      glass !== null && fromK + slopeKPerS * at.timeS > glass.tempK(at.alpha) + ON_GLASS_K;
    const growth = step.error === 0 ? 4 : 0.9 * fourthRoot(allowed / step.error);
    h *= Math.min(4, Math.max(0.2, growth));
  }
}

/**
 * When in a step `past` turns from negative to positive; leaves the step up to there in `step`.
 *
 * Regula falsi (Illinois), a bisection where it does not stay inside; a shorter step errs less.
 */
function firstCrossing(
  ratePerS: KineticStage['ratePerS'],
  alpha: number,
  tempK: number,
  slopeKPerS: number,
  durationS: number,
  past: (alpha: number, afterS: number) => number,
  step: Step,
): number {
  let lowS = 0;
  let low = past(alpha, 0);
  let highS = durationS;
  let high = past(step.alpha, durationS);
  let atS = durationS;
  let sameSide = 0;
  for (let i = 0; i < 200 && highS - lowS > 1e-15 * durationS; i++) {
    const secantS = lowS + ((highS - lowS) * low) / (low - high);
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

/** Whether on the glass transition the reaction would raise Tg faster than the temperature rises. */
function outpacesHeating(
  stage: KineticStage,
  glass: GlassTransition,
  tempK: number,
  slopeKPerS: number,
): boolean {
  const alpha = glass.alphaAt(tempK);
  return stage.ratePerS(alpha, tempK) * glass.slopeK(alpha) > slopeKPerS;
}

/**
 * Follows Tg = T upwards until the heating outpaces the reaction, the time is up or the stage ends.
 *
 * @returns whether there was anything to follow
 */
function slide(
  stage: KineticStage,
  glass: GlassTransition,
  at: Progress,
  fromK: number,
  slopeKPerS: number,
  durationS: number,
  stopAlpha: number,
): boolean {
  const startS = at.timeS;
  const stopS = Math.max(
    startS,
    Math.min(durationS, (glass.tempK(stopAlpha) - fromK) / slopeKPerS),
  );
  let lowS = startS;
  let highS = stopS;
  const slides = (timeS: number) =>
    outpacesHeating(stage, glass, fromK + slopeKPerS * timeS, slopeKPerS);
  for (let i = 1; i <= SLIDE_SAMPLES; i++) {
    highS = startS + ((stopS - startS) * i) / SLIDE_SAMPLES;
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
  at.alpha =
    highS >= stopS && stopS < durationS ? stopAlpha : glass.alphaAt(fromK + slopeKPerS * highS);
  return true;
}

/** Compares rates a kelvin apart over the range, at a hundred degrees of cure of the stage. */
function ratesRise(stage: KineticStage, fromAlpha: number, fromC: number, toC: number): boolean {
  const rows = Math.max(1, Math.min(400, Math.ceil(toC - fromC)));
  for (let i = 0; i < 100; i++) {
    const alpha = fromAlpha + ((stage.untilAlpha - fromAlpha) * i) / 100;
    let before = 0;
    for (let row = 0; row <= rows; row++) {
      const tempK = fromC + ((toC - fromC) * row) / rows - ABSOLUTE_ZERO_C;
      const rate = stage.ratePerS(alpha, tempK);
      if (rate < before) return false;
      before = rate;
    }
  }
  return true;
}

function fourthRoot(x: number): number {
  return Math.sqrt(Math.sqrt(x));
}
