export const resistanceTypes = ['Pt100', 'Pt1000'] as const;
export type ResistanceType = (typeof resistanceTypes)[number];

/** Callendar-Van Dusen coefficients. @source IEC 60751:2008, clause 4.2 */
const A = 3.9083e-3;
const B = -5.775e-7;
const C = -4.183e-12;

/** Range of the resistance-temperature relation [°C]. @source IEC 60751:2008, clause 4.2 */
export const resistanceRangeC = { fromC: -200, toC: 850 } as const;

/** Tables give 0.01 Ω of a Pt100: half of that belongs to the range. */
const ROUNDING_SHARE = 0.00005;

/** The start is at most 2.4 K off; each step squares the error in units of 1000 K. */
const NEWTON_STEPS = 4;

export function resistanceAt0C(type: ResistanceType): number {
  return type === 'Pt100' ? 100 : 1000;
}

/** R(t)/R(0 °C) [1]. */
function ratioAt(tempC: number): number {
  const quadratic = 1 + tempC * (A + B * tempC);
  return tempC >= 0 ? quadratic : quadratic + C * (tempC - 100) * tempC * tempC * tempC;
}

/** d(R/R0)/dt below 0 °C [1/K]. */
function slopeBelow0(tempC: number): number {
  return A + 2 * B * tempC + C * tempC * tempC * (4 * tempC - 300);
}

/**
 * Resistance of a platinum element [Ω].
 *
 *   R = R0·(1 + A·t + B·t²), below 0 °C + R0·C·(t − 100)·t³
 *
 * @returns null outside −200…850 °C
 * @source IEC 60751:2008, clause 4.2
 */
export function ohmOfCelsius(type: ResistanceType, tempC: number): number | null {
  if (!(tempC >= resistanceRangeC.fromC && tempC <= resistanceRangeC.toC)) return null;
  return resistanceAt0C(type) * ratioAt(tempC);
}

/**
 * Temperature of a platinum element [°C], inverting the same relation to 1e-9 K: closed above 0 °C, by a
 * fixed number of Newton steps below.
 *
 * @returns null outside −200…850 °C: a broken or shorted wire, another element
 */
export function celsiusOfOhm(type: ResistanceType, elementOhm: number): number | null {
  const ratio = elementOhm / resistanceAt0C(type);
  const inside =
    ratio >= ratioAt(resistanceRangeC.fromC) - ROUNDING_SHARE &&
    ratio <= ratioAt(resistanceRangeC.toC) + ROUNDING_SHARE;
  if (!inside) return null;
  // The root that stays exact near 0 °C, where A − √(A² …) would cancel.
  let tempC = (2 * (ratio - 1)) / (A + Math.sqrt(A * A - 4 * B * (1 - ratio)));
  if (ratio >= 1) return tempC;
  for (let step = 0; step < NEWTON_STEPS; step++) {
    tempC -= (ratioAt(tempC) - ratio) / slopeBelow0(tempC);
  }
  return tempC;
}

/** How an element is connected, and what that leaves in the measured resistance. */
export type Wiring =
  /** Both conductors are in the measurement. `leadOhm` is the two together. */
  | { wires: 2; leadOhm: number }
  /** The third wire takes one conductor out; what remains is the difference of the two. */
  | { wires: 3; imbalanceOhm: number }
  /** Current and voltage have their own wires: nothing remains. */
  | { wires: 4 };

/** What the wires add to the element's resistance [Ω], to be taken off what was measured. */
export function leadErrorOhm(wiring: Wiring): number {
  switch (wiring.wires) {
    case 2:
      return wiring.leadOhm;
    case 3:
      return wiring.imbalanceOhm;
    case 4:
      return 0;
  }
}
