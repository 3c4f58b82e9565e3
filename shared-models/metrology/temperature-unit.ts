import { celsiusOfFahrenheit, celsiusOfKelvin } from '../units/temperature.ts';

export type TemperatureUnit = 'celsius' | 'fahrenheit' | 'kelvin';

/** A temperature on another scale [°C]: 212 °F is 100 °C. */
export function celsiusOf(value: number, unit: TemperatureUnit): number {
  switch (unit) {
    case 'celsius':
      return value;
    case 'fahrenheit':
      return celsiusOfFahrenheit(value);
    case 'kelvin':
      return celsiusOfKelvin(value);
  }
}

/**
 * A difference, tolerance, correction, deadband or rate on another scale [K]: 9 °F of difference are 5 K.
 * The scales' zeros have no part in it.
 */
export function kelvinDifferenceOf(difference: number, unit: TemperatureUnit): number {
  return unit === 'fahrenheit' ? (difference * 5) / 9 : difference;
}
