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

/** How far the second stage starts beyond the first one's end: (1 − γ)/γ of what that brought. */
const SECOND_STAGE = (1 - GAMMA) / GAMMA;

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
  /** Where the elimination from both faces meets. */
  private readonly middle: number;
  /** 1: an even number of nodes, of which one more lies above the middle than below it. */
  private readonly lone: 0 | 1;
  /**
   * C + θ·dt·K factored: what a node has of its own temperature, of its neighbour's (the face's) outwards and
   * of that inwards. At the middle: of the one above and the one below.
   */
  private readonly own: Float64Array;
  private readonly outer: Float64Array;
  private readonly inner: Float64Array;
  private readonly stage: Float64Array;

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
    const size = slab.depthsMm.length;
    const stageS = order === 1 ? stepS : GAMMA * stepS;
    this.middle = Math.floor(size / 2);
    this.lone = size % 2 === 0 ? 1 : 0;
    this.own = new Float64Array(size);
    this.outer = new Float64Array(size);
    this.inner = new Float64Array(size);
    this.stage = new Float64Array(order === 1 ? 0 : size);
    const factors = { layer: vary.diffusivity, contact: vary.contact, platen: 1 };
    const between = slab.conductanceWPerM2K.map((value, i) => factors[slab.variesAs[i]] * value);
    const upper = Math.min(contacts.upperWPerM2K, HELD_WPerM2K);
    const lower = Math.min(contacts.lowerWPerM2K, HELD_WPerM2K);
    this.factor(
      slab.capacityJPerM2K,
      [upper, ...between, lower].map((each) => stageS * each),
    );
  }

  /** @param beside θ·dt·K between each node and the one above; the faces' at its ends */
  private factor(capacity: readonly number[], beside: readonly number[]): void {
    const { middle, own, outer, inner } = this;
    const size = own.length;
    const pivots = capacity.map((value, i) => value + beside[i] + beside[i + 1]);
    const eliminate = (i: number, outwards: number, inwards: number) => {
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
  step(
    tempC: Float64Array,
    upperFromC: number,
    upperToC: number,
    lowerFromC: number,
    lowerToC: number,
  ): void {
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
  private solve(tempC: Float64Array, upperC: number, lowerC: number, into: Float64Array): void {
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
}
