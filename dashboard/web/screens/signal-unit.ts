const units: Record<string, string> = {
  celsius: '°C',
  fahrenheit: '°F',
  kelvin: 'K',
  ohm: 'Ω',
  millivolt: 'mV',
  percent: '%',
  bar: 'bar',
  'metre-per-minute': 'm/min',
  ampere: 'A',
  'milliwatt-per-cm2': 'mW/cm²',
  switch: '',
};

/** A signal's own unit, as it stands beside its values. */
export function unitOf(signal: string): string {
  return units[signal] ?? signal;
}
