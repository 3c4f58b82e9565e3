import { pointHistory } from '@setwell/shared-models/score/point-history';
import type { ScoredSensor } from '@setwell/shared-models/score/shape';
import { expect, test } from 'vitest';

const sensor: ScoredSensor = {
  signal: 'ohm',
  conversion: { signal: 'ohm', type: 'Pt100', leadOhm: 0.4 },
  corrections: [
    { atC: 100, correctionK: -0.2 },
    { atC: 140, correctionK: -0.4 },
  ],
  expandedK: 0.5,
  resolutionK: 0.1,
  plausible: { minC: 0, maxC: 220, maxRateKPerMin: 60 },
  calibratedC: [100, 140],
};

const read = (ohms: number[], changed: Partial<ScoredSensor> = {}) => {
  const readings = ohms.map((value, i) => ({ point: 'p', tMs: i * 1000, value }));
  return pointHistory(readings, { ...sensor, ...changed }, Infinity);
};

// Source: IEC 60751, a Pt100 at 120 °C has 146.07 Ω.
test('raw ohms are scored as the temperature they stand for, wires taken out, then corrected', () => {
  const { valuesC, doubtful } = read([146.47, 146.47]);
  expect(doubtful).toBe(0);
  expect(valuesC[1]).toBeCloseTo(120 - 0.3, 1);
});

test('plausible range, certificate and steepness are asked of the temperature, not of the raw value', () => {
  // 130 and 160 Ω look like good degrees; they are 76 °C, below the certificate, and 156 °C, above it.
  expect(read([130, 160]).doubtful).toBe(2);
  // 2 Ω in a second are 5 K in a second.
  expect(read([146.47, 148.47], { calibratedC: null }).doubtful).toBe(1);
});

test('a broken wire is a gap', () => {
  const { valuesC, doubtful } = read([146.47, 1e6, 0, 146.47]);
  expect(doubtful).toBe(2);
  expect(valuesC).toHaveLength(2);
});

test('a raw value that nothing turns into °C is never taken for °C', () => {
  for (const signal of ['ohm', 'millivolt', 'fahrenheit', 'kelvin', 'bar']) {
    const unsaid = { ...sensor };
    delete unsaid.conversion;
    const readings = [{ point: 'p', tMs: 0, value: 120 }];
    const { valuesC, doubtful } = pointHistory(readings, { ...unsaid, signal }, Infinity);
    expect([valuesC.length, doubtful]).toEqual([0, 1]);
  }
});
