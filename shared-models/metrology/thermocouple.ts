import { exp } from '../units/exponential.ts';
import { its90 } from './its90.ts';
import type { InversePiece, ReferenceFunction, ThermocoupleType } from './its90.ts';

export type { ThermocoupleType };
export const thermocoupleTypes = ['K', 'J', 'T', 'N'] as const satisfies ThermocoupleType[];

/** Ends of a published range are rounded to 1 µV, so half of that belongs to the range. */
const ROUNDING_MV = 0.0005;

/** From an inverse polynomial's 0.06 K two steps reach the last bits; a third changes nothing. */
const NEWTON_STEPS = 2;

/** From where to where a type is defined. */
export interface ThermocoupleRange {
  /** Of the reference function. */
  fromC: number;
  toC: number;
  /** Of the inverse functions, which end at −200 °C (J: −210 °C). */
  fromMv: number;
  toMv: number;
}

export function thermocoupleRange(type: ThermocoupleType): ThermocoupleRange {
  const { forward, inverse } = its90[type];
  return {
    fromC: forward[0]!.fromC,
    toC: forward.at(-1)!.toC,
    fromMv: inverse[0]!.fromMv,
    toMv: inverse.at(-1)!.toMv,
  };
}

/** Value and slope of the reference function, continued beyond its ends [mV], [mV/K]. */
function reference(type: ReferenceFunction, tempC: number): { emfMv: number; slopeMvPerK: number } {
  let piece = type.forward[0]!;
  for (const each of type.forward) {
    if (tempC <= each.fromC) break;
    piece = each;
  }
  const { coefficients } = piece;
  let emfMv = 0;
  let slopeMvPerK = 0;
  for (let i = coefficients.length - 1; i >= 0; i--) {
    slopeMvPerK = slopeMvPerK * tempC + emfMv;
    emfMv = emfMv * tempC + coefficients[i]!;
  }
  if (type.exponential !== null && tempC > 0) {
    const { a0Mv, a1, a2C } = type.exponential;
    const fromPeakK = tempC - a2C;
    const bumpMv = a0Mv * exp(a1 * fromPeakK * fromPeakK);
    emfMv += bumpMv;
    slopeMvPerK += 2 * a1 * fromPeakK * bumpMv;
  }
  return { emfMv, slopeMvPerK };
}

/**
 * Thermoelectric voltage with the reference junction at 0 °C [mV].
 *
 * @returns null where the type's reference function ends
 * @source NIST Monograph 175; IEC 60584-1:2013
 */
export function millivoltOfCelsius(type: ThermocoupleType, tempC: number): number | null {
  const { forward } = its90[type];
  if (!(tempC >= forward[0]!.fromC && tempC <= forward.at(-1)!.toC)) return null;
  return reference(its90[type], tempC).emfMv;
}

function inversePiece(type: ThermocoupleType, emfMv: number): InversePiece | null {
  const { inverse } = its90[type];
  if (!(emfMv >= inverse[0]!.fromMv - ROUNDING_MV)) return null;
  for (const piece of inverse) if (emfMv <= piece.toMv) return piece;
  const last = inverse.at(-1)!;
  return emfMv <= last.toMv + ROUNDING_MV ? last : null;
}

/**
 * Temperature by the published inverse polynomial alone [°C]: within `errorK` of the reference function.
 *
 * @returns null outside the inverse functions' range
 */
export function celsiusByInversePolynomial(type: ThermocoupleType, emfMv: number): number | null {
  const piece = inversePiece(type, emfMv);
  if (piece === null) return null;
  let tempC = 0;
  for (let i = piece.coefficients.length - 1; i >= 0; i--) {
    tempC = tempC * emfMv + piece.coefficients[i]!;
  }
  return tempC;
}

/**
 * Temperature of the hot junction with the reference junction at 0 °C [°C]: the reference function
 * inverted, the published inverse polynomial being where the iteration starts, so that a reading and
 * its millivolts agree to 1e-9 K and not to the polynomial's 0.06 K.
 *
 * @returns null outside the range of the published inverse functions: an open wire, another type
 */
export function celsiusOfMillivolt(type: ThermocoupleType, emfMv: number): number | null {
  let tempC = celsiusByInversePolynomial(type, emfMv);
  if (tempC === null) return null;
  for (let step = 0; step < NEWTON_STEPS; step++) {
    const { emfMv: atMv, slopeMvPerK } = reference(its90[type], tempC);
    tempC -= (atMv - emfMv) / slopeMvPerK;
  }
  return tempC;
}

/**
 * What a voltmeter reads whose terminals are at `terminalsC` [mV]: E(hot) − E(terminals).
 *
 * @returns null where either temperature leaves the reference function
 */
export function terminalMillivolt(
  type: ThermocoupleType,
  hotC: number,
  terminalsC: number,
): number | null {
  const hotMv = millivoltOfCelsius(type, hotC);
  const terminalsMv = millivoltOfCelsius(type, terminalsC);
  return hotMv === null || terminalsMv === null ? null : hotMv - terminalsMv;
}

/**
 * Temperature of the hot junction from the voltage at terminals of a known temperature [°C].
 *
 * Millivolts are added, then inverted. Adding the terminals' temperature to the inverted voltage is wrong
 * by as much as the curve bends: 5.7 K for type T at 180 °C.
 *
 * @returns null outside the type's range
 */
export function hotJunctionC(
  type: ThermocoupleType,
  measuredMv: number,
  terminalsC: number,
): number | null {
  const terminalsMv = millivoltOfCelsius(type, terminalsC);
  return terminalsMv === null ? null : celsiusOfMillivolt(type, measuredMv + terminalsMv);
}
