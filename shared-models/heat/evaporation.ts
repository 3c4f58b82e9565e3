import type { FaceContacts } from './conduction.ts';
import { GAMMA, HELD_WPerM2K } from './conduction.ts';
import type { Slab } from './slab.ts';

/** Boiling point of water at 1013 hPa. @source IAPWS-95, 99.974 °C */
const BOILING_C = 99.974;

/** Latent heat at the boiling point. @source IAPWS-95, 2256.5 kJ/kg */
const LATENT_J_PER_KG = 2.2565e6;

/** What a glue line's water does in a step. */
const COLD = 0;
/** It stays at the boiling point, and what heat comes evaporates. */
const BOILING = 1;
/** All that was left goes. */
const DRYING = 2;

/** The states settle in a few rounds; a line more or less than that is rounding. */
const MOST_ROUNDS = 40;

/**
 * Steps a slab with wet glue lines through time: water is driven out at the boiling point.
 *
 *   C dT/dt + L dw/dt = −K T + h_u·T_u + h_l·T_l     w: water gone, T = boiling while 0 < w < all
 *
 * A line that holds water stays at the boiling point until what heat brings beyond it has evaporated
 * the water: no more heat is kept or lost than comes in, and a hotter face never makes a line colder.
 * Each step finds which lines boil together with the temperatures, so that the plateau's length does
 * not hang on the step's. Real lines plateau a little higher or lower with their pressure and moisture;
 * the declared band of the share that has to go is wide for that reason.
 *
 * @source Elliott & Ockendon, Weak and Variational Methods for Moving Boundary Problems (1982), ch. 2
 * (implicit enthalpy form; typed from memory); the time steps are those of `Conduction`
 */
export class WetConduction {
  private readonly slab: Slab;
  private readonly upperWPerM2K: number;
  private readonly lowerWPerM2K: number;
  private readonly stageS: number;
  private readonly order: 1 | 2;
  private readonly beside: Float64Array;
  /** Of each glue line: in this round, and as the equations were factored last. */
  private readonly states: Int8Array;
  private readonly factored: Int8Array;
  private readonly perPivot: Float64Array;
  private readonly ratio: Float64Array;
  private readonly back: Float64Array;
  private readonly boils: Uint8Array;
  private readonly known: Float64Array;
  private readonly stage: Float64Array;
  private readonly rhs: Float64Array;
  private readonly gone: Float64Array;

  /** @param order 1 keeps the maximum principle (implicit Euler), 2 is more exact */
  constructor(
    slab: Slab,
    contacts: FaceContacts,
    stepS: number,
    order: 1 | 2,
    vary: { diffusivity: number; contact: number } = { diffusivity: 1, contact: 1 },
  ) {
    const size = slab.depthsMm.length;
    this.slab = slab;
    this.upperWPerM2K = Math.min(contacts.upperWPerM2K, HELD_WPerM2K);
    this.lowerWPerM2K = Math.min(contacts.lowerWPerM2K, HELD_WPerM2K);
    this.order = order;
    this.stageS = order === 1 ? stepS : GAMMA * stepS;
    const factors = { layer: vary.diffusivity, contact: vary.contact, platen: 1 };
    this.beside = Float64Array.from(
      slab.conductanceWPerM2K,
      (value, i) => this.stageS * factors[slab.variesAs[i]] * value,
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
  step(
    tempC: Float64Array,
    waterKgPerM2: Float64Array,
    upperFromC: number,
    upperToC: number,
    lowerFromC: number,
    lowerToC: number,
  ): void {
    const { capacityJPerM2K, glueLineNodes } = this.slab;
    const { known, gone, stage } = this;
    for (let i = 0; i < tempC.length; i += 1) known[i] = capacityJPerM2K[i] * tempC[i];
    glueLineNodes.forEach((node, line) => {
      const boils = waterKgPerM2[line] > 0 && tempC[node] >= BOILING_C;
      this.states[line] = boils ? BOILING : COLD;
    });
    if (this.order === 2) {
      const upperC = upperFromC + GAMMA * (upperToC - upperFromC);
      const lowerC = lowerFromC + GAMMA * (lowerToC - lowerFromC);
      this.settle(waterKgPerM2, upperC, lowerC, stage);
      // Heat at the second stage's start: as much more as the first one brought, evaporation with it.
      const weight = (1 - GAMMA) / GAMMA;
      for (let i = 0; i < tempC.length; i += 1) {
        known[i] += weight * (capacityJPerM2K[i] * stage[i] - known[i]);
      }
      glueLineNodes.forEach((node, line) => {
        known[node] += weight * LATENT_J_PER_KG * gone[line];
      });
    }
    this.settle(waterKgPerM2, upperToC, lowerToC, tempC);
    for (let line = 0; line < gone.length; line += 1) {
      waterKgPerM2[line] = Math.max(0, waterKgPerM2[line] - gone[line]);
    }
  }

  /** Finds which lines boil, and the temperatures with them. */
  private settle(
    waterKgPerM2: Float64Array,
    upperC: number,
    lowerC: number,
    into: Float64Array,
  ): void {
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

  private stateAfter(now: number, waterKgPerM2: number, nodeC: number, goneKg: number): number {
    if (waterKgPerM2 <= 0) return COLD;
    if (now === COLD) return nodeC > BOILING_C ? BOILING : COLD;
    if (now === DRYING) return nodeC < BOILING_C ? BOILING : DRYING;
    if (goneKg < 0) return COLD;
    return goneKg > waterKgPerM2 ? DRYING : BOILING;
  }

  /** Solves (C + θ·dt·K) x + L·gone = known + faces, boiling lines held at the boiling point. */
  private solve(
    waterKgPerM2: Float64Array,
    upperC: number,
    lowerC: number,
    into: Float64Array,
  ): void {
    if (this.states.some((state, line) => state !== this.factored[line])) this.factor();
    const { states, beside, perPivot, ratio, back, boils, known, rhs, gone, stageS } = this;
    const { glueLineNodes, capacityJPerM2K } = this.slab;
    rhs.set(known);
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
      const come =
        known[node] +
        beside[node - 1] * (into[node - 1] - BOILING_C) +
        beside[node] * (into[node + 1] - BOILING_C);
      gone[line] = (come - capacityJPerM2K[node] * BOILING_C) / LATENT_J_PER_KG;
    });
  }

  private factor(): void {
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
      // A boiling neighbour above is held: it does not give way.
      if (i > 0 && boils[i - 1] === 0) pivot -= ratio[i] * beside[i - 1];
      perPivot[i] = 1 / pivot;
      back[i] = i === last ? 0 : beside[i];
    }
  }
}
