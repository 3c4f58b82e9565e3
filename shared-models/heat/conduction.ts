import type { Slab } from './slab.ts';

/** What a face of the slab touches; `Infinity` holds it at the face temperature, 0 insulates it. */
export interface FaceContacts {
  upperWPerM2K: number;
  lowerWPerM2K: number;
}

/** A held face is a contact so good that its error is below 1e-4 K; it keeps one kind of equation. */
const HELD_WPerM2K = 1e9;

/** γ = 1 − 1/√2 of the two-stage, second-order, L-stable method. */
const GAMMA = 1 - Math.sqrt(0.5);

/**
 * Steps one slab through time with one fixed step, its equations factored once.
 *
 *   C dT/dt = −K T + h_u·T_u + h_l·T_l     (one row a node, tridiagonal)
 *
 * Conductivity and diffusivity may be scaled to ask "what if the board were different".
 *
 * @source Carslaw & Jaeger, Conduction of Heat in Solids, §1.6 (equation); Alexander,
 * SIAM J. Numer. Anal. 14 (1977) 1006-1021 (the two-stage method)
 */
export class Conduction {
  private readonly size: number;
  private readonly upperWPerM2K: number;
  private readonly lowerWPerM2K: number;
  private readonly capacity: Float64Array;
  private readonly between: Float64Array;
  /** Factored I + θ·dt·C⁻¹K, in the symmetric form C + θ·dt·K. */
  private readonly pivot: Float64Array;
  private readonly ratio: Float64Array;
  private readonly stageS: number;
  private readonly stepS: number;
  private readonly slopes: Float64Array;
  private readonly rhs: Float64Array;

  /**
   * @param stepS [s], > 0
   * @param order 1 keeps the maximum principle (implicit Euler), 2 is more exact
   */
  constructor(slab: Slab, contacts: FaceContacts, stepS: number, order: 1 | 2, diffusivity = 1) {
    this.size = slab.depthsMm.length;
    this.upperWPerM2K = Math.min(contacts.upperWPerM2K, HELD_WPerM2K);
    this.lowerWPerM2K = Math.min(contacts.lowerWPerM2K, HELD_WPerM2K);
    this.capacity = Float64Array.from(slab.capacityJPerM2K);
    this.between = Float64Array.from(slab.conductanceWPerM2K, (value) => value * diffusivity);
    this.stepS = stepS;
    this.stageS = order === 1 ? stepS : GAMMA * stepS;
    this.pivot = new Float64Array(this.size);
    this.ratio = new Float64Array(this.size);
    this.slopes = new Float64Array(order === 1 ? 0 : this.size);
    this.rhs = new Float64Array(this.size);
    this.factor();
  }

  private factor(): void {
    const { size, between, capacity, pivot, ratio, stageS } = this;
    for (let i = 0; i < size; i += 1) {
      const above = i === 0 ? this.upperWPerM2K : between[i - 1];
      const below = i === size - 1 ? this.lowerWPerM2K : between[i];
      pivot[i] = capacity[i] + stageS * (above + below);
      if (i > 0) {
        ratio[i] = (stageS * between[i - 1]) / pivot[i - 1];
        pivot[i] -= ratio[i] * stageS * between[i - 1];
      }
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
    const { size, capacity, rhs } = this;
    if (this.slopes.length === 0) {
      for (let i = 0; i < size; i += 1) rhs[i] = capacity[i] * tempC[i];
      rhs[0] += this.stepS * this.upperWPerM2K * upperToC;
      rhs[size - 1] += this.stepS * this.lowerWPerM2K * lowerToC;
      this.solve(tempC);
      return;
    }
    const { slopes, stageS, stepS } = this;
    for (let i = 0; i < size; i += 1) rhs[i] = capacity[i] * tempC[i];
    rhs[0] += stageS * this.upperWPerM2K * (upperFromC + GAMMA * (upperToC - upperFromC));
    rhs[size - 1] += stageS * this.lowerWPerM2K * (lowerFromC + GAMMA * (lowerToC - lowerFromC));
    this.solve(slopes);
    const forward = (stepS - stageS) / stageS;
    for (let i = 0; i < size; i += 1) {
      rhs[i] = capacity[i] * (tempC[i] + forward * (slopes[i] - tempC[i]));
    }
    rhs[0] += stageS * this.upperWPerM2K * upperToC;
    rhs[size - 1] += stageS * this.lowerWPerM2K * lowerToC;
    this.solve(tempC);
  }

  private solve(into: Float64Array): void {
    const { size, between, pivot, ratio, rhs, stageS } = this;
    for (let i = 1; i < size; i += 1) rhs[i] += ratio[i] * rhs[i - 1];
    into[size - 1] = rhs[size - 1] / pivot[size - 1];
    for (let i = size - 2; i >= 0; i -= 1) {
      into[i] = (rhs[i] + stageS * between[i] * into[i + 1]) / pivot[i];
    }
  }
}
