import type { Slab } from './slab.ts';

/** What a face of the slab touches; `Infinity` holds it at the face temperature, 0 insulates it. */
export interface FaceContacts {
  upperWPerM2K: number;
  lowerWPerM2K: number;
}

/** A held face is a contact so good that its error is below 1e-4 K; it keeps one kind of equation. */
export const HELD_WPerM2K = 1e9;

/** γ = 1 − 1/√2 of the two-stage, second-order, L-stable method. */
export const GAMMA = 1 - Math.sqrt(0.5);

/**
 * Steps one slab through time with one fixed step, its equations factored once.
 *
 *   C dT/dt = −K T + h_u·T_u + h_l·T_l     (one row a node, tridiagonal)
 *
 * Boards' diffusivity and contacts inside may be scaled to ask "what if they were different"; the faces'
 * own contacts come as they are.
 *
 * @source Carslaw & Jaeger, Conduction of Heat in Solids, §1.6 (equation); Alexander,
 * SIAM J. Numer. Anal. 14 (1977) 1006-1021 (the two-stage method)
 */
export class Conduction {
  private readonly size: number;
  private readonly upperWPerM2K: number;
  private readonly lowerWPerM2K: number;
  private readonly capacity: Float64Array;
  /** C + θ·dt·K factored: its off-diagonal, one over its pivots, and their product. */
  private readonly beside: Float64Array;
  private readonly perPivot: Float64Array;
  private readonly ratio: Float64Array;
  private readonly stageS: number;
  private readonly stepS: number;
  private readonly stage: Float64Array;
  private readonly rhs: Float64Array;

  /**
   * @param stepS [s], > 0
   * @param order 1 keeps the maximum principle (implicit Euler), 2 is more exact
   */
  constructor(
    slab: Slab,
    contacts: FaceContacts,
    stepS: number,
    order: 1 | 2,
    vary: { diffusivity: number; contact: number } = { diffusivity: 1, contact: 1 },
  ) {
    this.size = slab.depthsMm.length;
    this.upperWPerM2K = Math.min(contacts.upperWPerM2K, HELD_WPerM2K);
    this.lowerWPerM2K = Math.min(contacts.lowerWPerM2K, HELD_WPerM2K);
    this.stepS = stepS;
    this.stageS = order === 1 ? stepS : GAMMA * stepS;
    this.capacity = Float64Array.from(slab.capacityJPerM2K);
    const factors = { layer: vary.diffusivity, contact: vary.contact, platen: 1 };
    this.beside = Float64Array.from(
      slab.conductanceWPerM2K,
      (value, i) => this.stageS * factors[slab.variesAs[i]] * value,
    );
    this.perPivot = new Float64Array(this.size);
    this.ratio = new Float64Array(this.size);
    this.stage = new Float64Array(order === 1 ? 0 : this.size);
    this.rhs = new Float64Array(this.size);
    this.factor();
  }

  private factor(): void {
    const { size, beside, capacity, perPivot, ratio, stageS } = this;
    for (let i = 0; i < size; i += 1) {
      const above = i === 0 ? stageS * this.upperWPerM2K : beside[i - 1];
      const below = i === size - 1 ? stageS * this.lowerWPerM2K : beside[i];
      let pivot = capacity[i] + above + below;
      if (i > 0) {
        ratio[i] = beside[i - 1] * perPivot[i - 1];
        pivot -= ratio[i] * beside[i - 1];
      }
      perPivot[i] = 1 / pivot;
    }
  }

  /**
   * Advances temperatures in place over one step.
   *
   * @param tempC one value a node [°C]
   * @param upperFromC, upperToC, lowerFromC, lowerToC face temperatures, linear over the step [°C]
   */
  step(
    tempC: Float64Array,
    upperFromC: number,
    upperToC: number,
    lowerFromC: number,
    lowerToC: number,
  ): void {
    const { stage, stageS, stepS } = this;
    if (stage.length === 0) {
      this.solve(tempC, tempC, 0, upperToC, lowerToC, tempC);
      return;
    }
    const upperC = upperFromC + GAMMA * (upperToC - upperFromC);
    const lowerC = lowerFromC + GAMMA * (lowerToC - lowerFromC);
    this.solve(tempC, tempC, 0, upperC, lowerC, stage);
    this.solve(tempC, stage, (stepS - stageS) / stageS, upperToC, lowerToC, tempC);
  }

  /** Solves (C + θ·dt·K) x = C·(T + weight·(stage − T)) + faces into `into`. */
  private solve(
    tempC: Float64Array,
    stage: Float64Array,
    weight: number,
    upperC: number,
    lowerC: number,
    into: Float64Array,
  ): void {
    const { size, beside, capacity, perPivot, ratio, rhs, stageS } = this;
    const last = size - 1;
    const fromUpper = stageS * this.upperWPerM2K * upperC;
    const fromLower = stageS * this.lowerWPerM2K * lowerC;
    let carried = 0;
    for (let i = 0; i < size; i += 1) {
      let value = capacity[i] * (tempC[i] + weight * (stage[i] - tempC[i])) + ratio[i] * carried;
      if (i === 0) value += fromUpper;
      if (i === last) value += fromLower;
      rhs[i] = carried = value;
    }
    let below = rhs[last] * perPivot[last];
    into[last] = below;
    for (let i = last - 1; i >= 0; i -= 1) {
      below = (rhs[i] + beside[i] * below) * perPivot[i];
      into[i] = below;
    }
  }
}
