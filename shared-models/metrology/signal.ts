import { celsiusOfOhm, elementOhm } from './resistance.ts';
import type { ResistanceType, Wiring } from './resistance.ts';
import { celsiusOf } from './temperature-unit.ts';
import type { TemperatureUnit } from './temperature-unit.ts';
import { hotJunctionC } from './thermocouple.ts';
import type { ThermocoupleType } from './thermocouple.ts';

/** How a point's raw value stands for a temperature. Every other signal is its own value, in its own unit. */
export type TemperatureSignal =
  | { signal: TemperatureUnit }
  | { signal: 'ohm'; type: ResistanceType; wiring: Wiring }
  | { signal: 'millivolt'; type: ThermocoupleType; terminalsC: number };

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
  return indicatedC === null || !Number.isFinite(indicatedC)
    ? { kind: 'no-temperature', raw }
    : { kind: 'indicated', indicatedC };
}

function celsiusOfSignal(raw: number, from: TemperatureSignal): number | null {
  switch (from.signal) {
    case 'ohm':
      return celsiusOfOhm(from.type, elementOhm(raw, from.wiring));
    case 'millivolt':
      return hotJunctionC(from.type, raw, from.terminalsC);
    case 'celsius':
    case 'fahrenheit':
    case 'kelvin':
      return celsiusOf(raw, from.signal);
  }
}
