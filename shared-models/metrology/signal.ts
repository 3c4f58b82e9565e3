import { celsiusOfOhm, resistanceTypes } from './resistance.ts';
import type { ResistanceType } from './resistance.ts';
import { celsiusOf } from './temperature-unit.ts';
import type { TemperatureUnit } from './temperature-unit.ts';
import { hotJunctionC, thermocoupleTypes } from './thermocouple.ts';
import type { ThermocoupleType } from './thermocouple.ts';
import { elementTypeNamed } from './tolerance.ts';

/** How a point's raw value stands for a temperature. Every other signal is its own value, in its own unit. */
export type TemperatureSignal =
  | { signal: TemperatureUnit }
  /** `leadOhm`: what the wires add; see `Wiring`. */
  | { signal: 'ohm'; type: ResistanceType; leadOhm: number }
  | { signal: 'millivolt'; type: ThermocoupleType; terminalsC: number };

/** Of a point and what is fitted there, as the plant file writes it. */
export interface WrittenSignal {
  signal: string;
  element?:
    { type: string; leadOhm?: number | undefined; terminalsC?: number | undefined } | undefined;
}

/**
 * How a point's raw values become temperatures.
 *
 * @returns null where the file does not say: no element, one of another kind, millivolts of terminals at
 * an unknown temperature. Such a raw value is no temperature, whatever number it is.
 */
export function temperatureSignalOf({ signal, element }: WrittenSignal): TemperatureSignal | null {
  const type = element === undefined ? null : elementTypeNamed(element.type);
  switch (signal) {
    case 'celsius':
    case 'fahrenheit':
    case 'kelvin':
      return { signal };
    case 'ohm': {
      const platinum = resistanceTypes.find((each) => each === type);
      if (platinum === undefined) return null;
      return { signal, type: platinum, leadOhm: element?.leadOhm ?? 0 };
    }
    case 'millivolt': {
      const thermocouple = thermocoupleTypes.find((each) => each === type);
      if (thermocouple === undefined || element?.terminalsC === undefined) return null;
      return { signal, type: thermocouple, terminalsC: element.terminalsC };
    }
    default:
      return null;
  }
}

/** What an instrument shows, before any correction. */
export interface Indicated {
  kind: 'indicated';
  indicatedC: number;
}

/** Nothing the element can show: a broken or shorted wire, a wrong type, no number. */
export interface NoTemperature {
  kind: 'no-temperature';
  raw: number;
}

/** The temperature a raw value stands for, before any correction. */
export function indicated(raw: number, from: TemperatureSignal): Indicated | NoTemperature {
  const indicatedC = celsiusOfSignal(raw, from);
  return indicatedC === null ? { kind: 'no-temperature', raw } : { kind: 'indicated', indicatedC };
}

/** The same as a number [°C]; null where the raw value is no temperature. */
export function celsiusOfSignal(raw: number, from: TemperatureSignal): number | null {
  if (!Number.isFinite(raw)) return null;
  switch (from.signal) {
    case 'ohm':
      return celsiusOfOhm(from.type, raw - from.leadOhm);
    case 'millivolt':
      return hotJunctionC(from.type, raw, from.terminalsC);
    case 'celsius':
    case 'fahrenheit':
    case 'kelvin':
      return celsiusOf(raw, from.signal);
  }
}
