/** 0 K on the Celsius scale [°C]. @source SI Brochure, 9th ed. (2019), §2.3.1: t/°C = T/K − 273.15 */
export const ABSOLUTE_ZERO_C = -273.15;

/** Molar gas constant [J/(mol·K)], exact product N_A·k. @source CODATA 2018 (NIST SP 961) */
export const GAS_CONSTANT = 8.314462618;

export function kelvinOfCelsius(tempC: number): number {
  return tempC - ABSOLUTE_ZERO_C;
}

export function celsiusOfKelvin(tempK: number): number {
  return tempK + ABSOLUTE_ZERO_C;
}

/** A temperature, not a difference: 32 °F is 0 °C. */
export function celsiusOfFahrenheit(tempF: number): number {
  return ((tempF - 32) * 5) / 9;
}
