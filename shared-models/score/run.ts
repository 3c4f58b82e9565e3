import type { Law, Segments } from '../cure/law.ts';
import type { Credit } from './marks.ts';
import { followsAir, sizeOf, stepOf, waterOf } from './piece.ts';
import type { Piece, Step, Variation } from './piece.ts';

/** One way the load may have gone: piece, law, credit, and what is moved in them. */
export interface RunPlan {
  piece: Piece;
  law: Law;
  /** Multiplies the time in which the law earns: its rate. */
  lawFactor: number;
  order: 1 | 2;
  variation: Variation;
  /** Added to both faces [K]: instruments and the place in the zone. */
  shiftK: number;
  /** Null: the piece has its air's temperature. */
  initialC: number | null;
  /** Of the tool at the open face; null: there is none. */
  coldToolC: number | null;
  waterShare: number;
  credit: Credit;
}

/** Temperatures of both faces at one time [°C]; a rack, oven or store has its air in both. */
export interface FacePair {
  upperC: number;
  lowerC: number;
}

/**
 * A run in progress. Its state is all it needs to go on, so that any split of the grid gives the
 * whole, and a copy can look ahead.
 */
export class Run {
  readonly plan: RunPlan;
  readonly tempC: Float64Array;
  /** State of the law at each spot, for what counts. */
  readonly earned: Float64Array;
  /** The same from contact to pressure-on: precure. */
  readonly precured: Float64Array;
  /** Left in each glue line [kg/m²]. */
  private readonly waterKgPerM2: Float64Array;
  private readonly before: Float64Array;
  private readonly segments: Segments;
  private readonly steps: Map<number, Step>;
  private usualS = 0;
  private usualStep: Step | null = null;

  constructor(plan: RunPlan, start: FacePair, from?: Run) {
    const { piece, law, initialC, waterShare } = plan;
    const spots = piece.spots.length;
    this.plan = plan;
    this.tempC =
      from?.tempC.slice() ??
      new Float64Array(sizeOf(piece)).fill(followsAir(piece) ? start.upperC : (initialC ?? 0));
    if (from === undefined && followsAir(piece)) this.tempC[0] += plan.shiftK;
    if (from === undefined && piece.slab !== null) {
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
      durationS: new Float64Array(spots),
    };
    this.steps = from !== undefined && from.plan === plan ? from.steps : new Map<number, Step>();
  }

  copy(): Run {
    return new Run(this.plan, { upperC: 0, lowerC: 0 }, this);
  }

  /** What each spot has earned, in the law's unit. */
  value(spot: number): number {
    return this.plan.law.value(this.earned[spot]);
  }

  /** What each spot had earned before pressure, in the law's unit. */
  precure(spot: number): number {
    const { law } = this.plan;
    return law.value(this.precured[spot]) - law.value(law.initial);
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
    from: FacePair,
    to: FacePair,
    barred: Uint8Array | null,
  ): void {
    const { piece, shiftK, credit } = this.plan;
    const { spots } = piece;
    const { tempC, before } = this;
    for (let s = 0; s < spots.length; s += 1) before[s] = tempC[spots[s].node];
    if (toMs > credit.heatFromMs) {
      this.stepFor((toMs - fromMs) / 1000)(
        tempC,
        this.waterKgPerM2,
        from.upperC + shiftK,
        to.upperC + shiftK,
        from.lowerC + shiftK,
        to.lowerC + shiftK,
      );
    }
    this.earn(this.earned, fromMs, toMs, credit.fromMs, credit.toMs, barred);
    if (fromMs < credit.pressureMs) {
      this.earn(this.precured, fromMs, toMs, credit.heatFromMs, credit.pressureMs, null);
    }
  }

  private earn(
    states: Float64Array,
    fromMs: number,
    toMs: number,
    creditFromMs: number,
    creditToMs: number,
    barred: Uint8Array | null,
  ): void {
    const { law, lawFactor, piece } = this.plan;
    const from = Math.max(fromMs, creditFromMs);
    const to = Math.min(toMs, creditToMs);
    if (to <= from) return;
    const startShare = (from - fromMs) / (toMs - fromMs);
    const endShare = (to - fromMs) / (toMs - fromMs);
    const earningS = ((to - from) / 1000) * lawFactor;
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
  private stepFor(stepS: number): Step {
    if (this.usualStep !== null && this.usualS === stepS) return this.usualStep;
    let step = this.steps.get(stepS);
    if (step === undefined) {
      const { piece, order, variation } = this.plan;
      step = stepOf(piece, stepS, order, variation);
      // A live load ends each look at another fraction of a step.
      if (this.steps.size > 4) this.steps.clear();
      this.steps.set(stepS, step);
    }
    this.usualS = stepS;
    this.usualStep = step;
    return step;
  }
}
