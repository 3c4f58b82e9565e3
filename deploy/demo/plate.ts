/** What a heated plate really is: its steel, its heater, its faults. */
export interface PlateNature {
  /** How many faces draw from it; stores and heater are a face's own. */
  faces: 1 | 2;
  /** Heat it takes to warm the skin, and the core behind it [J/(m² K)]. */
  skinJPerM2K: number;
  coreJPerM2K: number;
  /** From core to skin: how fast a dip is filled up again [W/(m² K)]. */
  coreToSkinWPerM2K: number;
  /** Greatest heat its oil or heater brings to the core [W/m²]. */
  heaterWPerM2: number;
  /** Lost to the room, per kelvin above it [W/(m² K)]. */
  lossWPerM2K: number;
  /** It settles so far from its set point: a starved channel, a tired heater [K]. */
  offsetK: number;
}

/** Share of full heat per kelvin below the set point; what is missing for long is added over `integralS`. */
const gainPerK = 0.07;
const integralS = 1500;

/** The element sits in a drilled hole: it follows the steel with this lag. */
const elementLagS = 6;

/** A zone of a platen or tool: a skin that dips, a core that fills it up, one controller. */
export class Plate {
  /** Of the skin, where the board touches [°C]. */
  tempC: number;
  /** Of the element in it [°C]. */
  elementC: number;
  /** Of the controller's element, in the core behind the skin [°C]. */
  deepElementC: number;
  /** Share of full heat, 0 … 1. */
  output = 0;
  #coreC: number;
  #integralKS = 0;
  readonly #nature: PlateNature;

  constructor(nature: PlateNature, tempC: number) {
    this.#nature = nature;
    this.tempC = tempC;
    this.elementC = tempC;
    this.deepElementC = tempC;
    this.#coreC = tempC;
  }

  /**
   * @param setC set point [°C]; null: heat is off
   * @param drawnWPerM2 what the boards on all its faces take
   */
  advance(setC: number | null, roomC: number, drawnWPerM2: number, stepS: number): void {
    const { faces, skinJPerM2K, coreJPerM2K, coreToSkinWPerM2K, heaterWPerM2 } = this.#nature;
    // A controller that is switched on begins with nothing added up.
    if (setC === null) this.#integralKS = 0;
    this.output = setC === null ? 0 : this.#control(setC + this.#nature.offsetK, stepS);
    const toSkin = coreToSkinWPerM2K * (this.#coreC - this.tempC);
    const lost = this.#nature.lossWPerM2K * (this.tempC - roomC);
    this.tempC += ((toSkin - lost - drawnWPerM2 / faces) / skinJPerM2K) * stepS;
    this.#coreC += ((this.output * heaterWPerM2 - toSkin) / coreJPerM2K) * stepS;
    const follows = Math.min(1, stepS / elementLagS);
    this.elementC += (this.tempC - this.elementC) * follows;
    this.deepElementC += (this.#coreC - this.deepElementC) * follows;
  }

  #control(setC: number, stepS: number): number {
    const missingK = setC - this.elementC;
    const wanted = gainPerK * (missingK + this.#integralKS / integralS);
    const output = Math.min(1, Math.max(0, wanted));
    // A controller at its stop that went on adding up would overshoot.
    if (wanted === output) this.#integralKS += missingK * stepS;
    return output;
  }
}
