import type { Slab } from './slab.ts';

/** Boiling point of water at 1013 hPa. @source IAPWS-95, 99.974 °C */
const BOILING_C = 99.974;

/** Latent heat at the boiling point. @source IAPWS-95, 2256.5 kJ/kg */
const LATENT_J_PER_KG = 2.2565e6;

/**
 * Water in the glue lines, driven out at the boiling point.
 *
 * A line that holds water stays at the boiling point until what heat brings beyond it has evaporated
 * the water: no more heat is kept or lost than comes in, and a hotter face never makes a line colder.
 * Real lines plateau a little higher or lower with their pressure and moisture; the declared band of
 * the share that has to go is wide for that reason.
 */
export class Evaporation {
  private readonly slab: Slab;
  private readonly waterKgPerM2: Float64Array;

  /** @param waterKgPerM2 to be driven out of each glue line; one value for all, or one a line */
  constructor(slab: Slab, waterKgPerM2: number | Float64Array) {
    this.slab = slab;
    this.waterKgPerM2 =
      typeof waterKgPerM2 === 'number'
        ? new Float64Array(slab.glueLineNodes.length).fill(waterKgPerM2)
        : waterKgPerM2.slice();
  }

  copy(): Evaporation {
    return new Evaporation(this.slab, this.waterKgPerM2);
  }

  /** Takes out of the lines, after a step, what evaporating their water takes. */
  cool(tempC: Float64Array): void {
    const { waterKgPerM2 } = this;
    const { capacityJPerM2K, glueLineNodes } = this.slab;
    for (let line = 0; line < glueLineNodes.length; line += 1) {
      const node = glueLineNodes[line];
      if (waterKgPerM2[line] <= 0 || tempC[node] <= BOILING_C) continue;
      const beyondJ = capacityJPerM2K[node] * (tempC[node] - BOILING_C);
      const goneKg = Math.min(waterKgPerM2[line], beyondJ / LATENT_J_PER_KG);
      waterKgPerM2[line] -= goneKg;
      tempC[node] -= (goneKg * LATENT_J_PER_KG) / capacityJPerM2K[node];
    }
  }
}
