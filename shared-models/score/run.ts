import type { Law } from '../cure/law.ts';
import { sizeOf, stepOf, type Piece, type Step, type Variation } from './body.ts';

/** Temperatures of both faces at the grid times [°C]; a rack, oven or store has its air in both. */
export interface Faces {
  upperC: Float64Array;
  lowerC: Float64Array;
}

/** One way the load may have gone: faces, piece, law, credit. */
export interface RunPlan {
  piece: Piece;
  law: Law;
  /** Multiplies what the law earns. */
  lawFactor: number;
  order: 1 | 2;
  variation: Variation;
  /** Added to both faces [K]: instruments and the place in the zone. */
  shiftK: number;
  initialC: number;
  creditFromMs: number;
  /** `Infinity` while the load is open. */
  creditToMs: number;
}

/**
 * A run in progress. Its state is all it needs to go on, so that any split of the grid gives the
 * whole, and a copy can look ahead.
 */
export class Run {
  readonly plan: RunPlan;
  readonly tempC: Float64Array;
  readonly earned: Float64Array;
  private readonly steps = new Map<number, Step>();
  private readonly before: Float64Array;

  constructor(plan: RunPlan, from?: Run) {
    this.plan = plan;
    const spots = plan.piece.spots.length;
    this.tempC = from?.tempC.slice() ?? new Float64Array(sizeOf(plan.piece)).fill(plan.initialC);
    this.earned = from?.earned.slice() ?? new Float64Array(spots).fill(plan.law.initial);
    this.before = new Float64Array(spots);
    // Factored equations may be shared while piece, variation and order are the same.
    if (from !== undefined && from.plan.order === plan.order) this.steps = from.steps;
  }

  /** What each spot has earned, in the law's unit. */
  value(spot: number): number {
    const { law, lawFactor } = this.plan;
    return law.value(this.earned[spot]) * lawFactor;
  }

  /** Temperature of a spot now [°C]. */
  spotC(spot: number): number {
    return this.tempC[this.plan.piece.spots[spot].node];
  }

  /**
   * Goes one grid step.
   *
   * @param barred spots that earn nothing in it; null: none
   */
  step(
    fromMs: number,
    toMs: number,
    upperFromC: number,
    upperToC: number,
    lowerFromC: number,
    lowerToC: number,
    barred: Uint8Array | null,
  ): void {
    const { piece, shiftK } = this.plan;
    const { spots } = piece;
    const { tempC, before } = this;
    for (let s = 0; s < spots.length; s += 1) before[s] = tempC[spots[s].node];
    this.stepFor((toMs - fromMs) / 1000)(
      tempC,
      upperFromC + shiftK,
      upperToC + shiftK,
      lowerFromC + shiftK,
      lowerToC + shiftK,
    );
    this.credit(fromMs, toMs, barred);
  }

  private credit(fromMs: number, toMs: number, barred: Uint8Array | null): void {
    const { creditFromMs, creditToMs, law, piece } = this.plan;
    const { spots } = piece;
    const from = Math.max(fromMs, creditFromMs);
    const to = Math.min(toMs, creditToMs);
    if (to <= from) return;
    const startShare = (from - fromMs) / (toMs - fromMs);
    const endShare = (to - fromMs) / (toMs - fromMs);
    const durationS = (to - from) / 1000;
    for (let s = 0; s < spots.length; s += 1) {
      if (barred !== null && barred[s] !== 0) continue;
      const atStartC = this.before[s];
      const riseK = this.tempC[spots[s].node] - atStartC;
      this.earned[s] = law.advance(
        this.earned[s],
        atStartC + startShare * riseK,
        atStartC + endShare * riseK,
        durationS,
      );
    }
  }

  /** A step's equations are factored once for each length of step. */
  private stepFor(stepS: number): Step {
    let step = this.steps.get(stepS);
    if (step === undefined) {
      const { piece, order, variation } = this.plan;
      step = stepOf(piece, stepS, order, variation);
      this.steps.set(stepS, step);
    }
    return step;
  }
}
