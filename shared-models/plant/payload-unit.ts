import type { Sensor } from './plant-schema.ts';

type Signal = Sensor['signal'];

/** Units as devices write them, each with the signal whose values stand in that very unit. */
const signals: Record<string, Signal> = {
  celsius: 'celsius',
  '°C': 'celsius',
  C: 'celsius',
  Cel: 'celsius',
  fahrenheit: 'fahrenheit',
  '°F': 'fahrenheit',
  F: 'fahrenheit',
  kelvin: 'kelvin',
  K: 'kelvin',
  ohm: 'ohm',
  Ohm: 'ohm',
  Ω: 'ohm',
  millivolt: 'millivolt',
  mV: 'millivolt',
  percent: 'percent',
  '%': 'percent',
  '%RH': 'percent',
  bar: 'bar',
  'metre-per-minute': 'metre-per-minute',
  'm/min': 'metre-per-minute',
  ampere: 'ampere',
  A: 'ampere',
  'milliwatt-per-cm2': 'milliwatt-per-cm2',
  'mW/cm²': 'milliwatt-per-cm2',
  'mW/cm2': 'milliwatt-per-cm2',
  switch: 'switch',
};

/** The signal that is measured in a unit; null for a unit nobody here measures in. */
export function signalOfUnit(unit: unknown): Signal | null {
  return typeof unit === 'string' && Object.hasOwn(signals, unit) ? signals[unit]! : null;
}

/**
 * SenML units whose values are another unit's times a factor.
 *
 * @source RFC 8428, 12.1 (units registry: V, Pa, m/s) and RFC 8798 (secondary units)
 */
const scaled: Record<string, { signal: Signal; factor: number }> = {
  V: { signal: 'millivolt', factor: 1000 },
  Pa: { signal: 'bar', factor: 1e-5 },
  'm/s': { signal: 'metre-per-minute', factor: 60 },
  '/': { signal: 'switch', factor: 1 },
};

/** What a SenML value in `unit` is multiplied by to stand in the point's signal; null: wrong unit. */
export function senmlFactor(unit: unknown, signal: Signal): number | null {
  if (signalOfUnit(unit) === signal) return 1;
  if (typeof unit !== 'string' || !Object.hasOwn(scaled, unit)) return null;
  const scale = scaled[unit]!;
  return scale.signal === signal ? scale.factor : null;
}
