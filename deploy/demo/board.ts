/** What a board really is; no recipe knows it exactly. */
export interface BoardNature {
  plies: number;
  plyMm: number;
  conductivityWPerMK: number;
  densityKgPerM3: number;
  heatCapacityJPerKgK: number;
  contactWPerM2K: number;
  startC: number;
}

const cellsPerPly = 2;

/**
 * A flat board between two hot plates: finite volumes, implicit in time.
 *
 *   ρ c Δx dT_i/dt = k (T_{i−1} − 2 T_i + T_{i+1}) / Δx
 *
 * with half a cell and the contact in series at each face.
 *
 * @source the standard finite-volume form of one-dimensional conduction (S. V. Patankar, Numerical
 *   Heat Transfer and Fluid Flow, 1980, ch. 4; from memory)
 */
export class Board {
  readonly #tempC: Float64Array;
  readonly #nature: BoardNature;
  readonly #cellM: number;
  readonly #above: Float64Array;
  readonly #right: Float64Array;

  constructor(nature: BoardNature) {
    const cells = nature.plies * cellsPerPly;
    this.#nature = nature;
    this.#tempC = new Float64Array(cells).fill(nature.startC);
    this.#above = new Float64Array(cells);
    this.#right = new Float64Array(cells);
    this.#cellM = nature.plyMm / 1000 / cellsPerPly;
  }

  /**
   * Moves on by one step.
   *
   * @returns heat drawn from the upper and the lower plate at the end of the step [W/m²]
   */
  advance(upperC: number, lowerC: number, stepS: number): { upper: number; lower: number } {
    const { conductivityWPerMK: k, densityKgPerM3, heatCapacityJPerKgK } = this.#nature;
    const last = this.#tempC.length - 1;
    const between = k / this.#cellM;
    const face = 1 / (1 / this.#nature.contactWPerM2K + this.#cellM / 2 / k);
    const store = (densityKgPerM3 * heatCapacityJPerKgK * this.#cellM) / stepS;
    // Elimination down, then substitution up.
    for (let i = 0; i <= last; i++) {
      const up = i === 0 ? face : between;
      const down = i === last ? face : between;
      let diagonal = store + up + down;
      let right =
        store * this.#cell(i) + (i === 0 ? face * upperC : 0) + (i === last ? face * lowerC : 0);
      if (i > 0) {
        diagonal -= between * (this.#above[i - 1] ?? 0);
        right += between * (this.#right[i - 1] ?? 0);
      }
      this.#above[i] = i === last ? 0 : between / diagonal;
      this.#right[i] = right / diagonal;
    }
    for (let i = last; i >= 0; i--)
      this.#tempC[i] =
        (this.#right[i] ?? 0) + (i === last ? 0 : (this.#above[i] ?? 0) * this.#cell(i + 1));
    return { upper: face * (upperC - this.#cell(0)), lower: face * (lowerC - this.#cell(last)) };
  }

  /** Temperature of a glue line, numbered from the top, from 1 [°C]. */
  lineC(line: number): number {
    const below = line * cellsPerPly;
    return (this.#cell(below - 1) + this.#cell(below)) / 2;
  }

  get lines(): number {
    return this.#nature.plies - 1;
  }

  #cell(i: number): number {
    return this.#tempC[i] ?? this.#nature.startC;
  }
}
