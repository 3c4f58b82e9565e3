import { describe, expect, it } from 'vitest';
import { answerOf, csvFile, refusalOf, textFile } from '../fixtures/command.ts';

interface Bar {
  k: number;
  rho: number;
  cp: number;
  startC: number;
  faces: string;
}

/** A bar of 100 mm as a lay-up file. */
function bar({ k, rho, cp, startC, faces }: Bar): string {
  return textFile(
    'layup.yaml',
    `layers:
  - { thicknessMm: 100, conductivityWPerMK: ${k}, densityKgPerM3: ${rho}, heatCapacityJPerKgK: ${cp} }
initialC: ${startC}
faces: ${faces}
`,
  );
}

const steady = (upperC: number, lowerC: number, timesS: number[]) =>
  csvFile(['time_s,upper_c,lower_c', ...timesS.map((t) => `${t},${upperC},${lowerC}`)].join('\n'));

async function temperatures(layup: string, faces: string, positions: string): Promise<number[][]> {
  const words = ['heat', '--layup', layup, '--faces', faces, '--positions', positions];
  const { exit, document } = await answerOf(words);
  expect(exit).toBe(0);
  return document['tempC'] as number[][];
}

describe('setwell heat against published temperatures, within 0.02 K', () => {
  // NIST Fire Dynamics Simulator verification suite, heat_conduction_a; Carslaw & Jaeger §3.10,
  // 100 terms, rounding 0.005 K. Insulated above, convective below.
  it.each([
    {
      name: 'Bi 100',
      k: 0.1,
      rho: 100,
      h: 100,
      timesS: [0, 200, 1000, 2000],
      expected: [
        [20.0, 20.01, 20.23, 24.06, 49.43, 116.02],
        [24.79, 27.7, 37.43, 55.97, 83.88, 118.22],
        [42.06, 45.61, 56.06, 72.77, 94.37, 118.75],
      ],
    },
    {
      name: 'Bi 1',
      k: 1,
      rho: 1000,
      h: 10,
      timesS: [0, 1000, 5000, 10000],
      expected: [
        [20.69, 21.22, 23.16, 27.48, 35.38, 47.64],
        [42.75, 43.88, 47.24, 52.76, 60.26, 69.55],
        [66.61, 67.4, 69.74, 73.57, 78.77, 85.18],
      ],
    },
  ])('slab, one face convective, $name', async ({ k, rho, h, timesS, expected }) => {
    const layup = bar({
      k,
      rho,
      cp: 1000,
      startC: 20,
      faces: `{ upper: { insulated: true }, lower: { contactWPerM2K: ${h} } }`,
    });
    const [start, ...rows] = await temperatures(
      layup,
      steady(20, 120, timesS),
      '0,20,40,60,80,100',
    );
    expect(start).toEqual([20, 20, 20, 20, 20, 20]);
    expected.forEach((expectedC, time) =>
      expectedC.forEach((value, position) => {
        expect(Math.abs((rows[time]?.[position] ?? NaN) - value)).toBeLessThan(0.02);
      }),
    );
  });

  it('ramped surface', async () => {
    // NAFEMS benchmark T3, target 36.6 °C; the series gives 36.603116.
    const layup = bar({
      k: 35,
      rho: 7200,
      cp: 440.5,
      startC: 0,
      faces: '{ upper: { fixed: true }, lower: { fixed: true } }',
    });
    const times = Array.from({ length: 321 }, (_, i) => i / 10);
    const rows = times.map((s) => `${s},0,${100 * Math.sin((Math.PI * s) / 40)}`);
    const faces = csvFile(['time_s,upper_c,lower_c', ...rows].join('\n'));
    const last = (await temperatures(layup, faces, '80')).at(-1)?.[0] ?? NaN;
    expect(Math.abs(last - 36.6)).toBeLessThan(0.05);
    expect(Math.abs(last - 36.603116)).toBeLessThan(0.02);
  });

  it('both faces held: the centre at fractions of the way', async () => {
    // f = 1 − (4/π) Σ (−1)ⁿ/(2n+1) e^{−(2n+1)²π²Fo/4}, Carslaw & Jaeger §3.3; Fo to six figures.
    const fractionAtFo: [number, number][] = [
      [0.130159, 0.1],
      [0.212452, 0.25],
      [0.378748, 0.5],
      [0.750183, 0.8],
      [1.031105, 0.9],
      [1.964308, 0.99],
    ];
    const halfM = 0.05;
    const alpha = 1e-6;
    const layup = bar({
      k: 1,
      rho: 1000,
      cp: 1000,
      startC: 0,
      faces: '{ upper: { fixed: true }, lower: { fixed: true } }',
    });
    const timesS = [0, ...fractionAtFo.map(([fo]) => (fo * halfM * halfM) / alpha)];
    const rows = await temperatures(layup, steady(100, 100, timesS), '50');
    fractionAtFo.forEach(([, fraction], i) => {
      expect(Math.abs((rows[i + 1]?.[0] ?? NaN) - 100 * fraction)).toBeLessThan(0.02);
    });
  });

  it('half the thickness takes a quarter of the time', async () => {
    const of = (thicknessMm: number) =>
      textFile(
        'layup.yaml',
        `layers: [{ thicknessMm: ${thicknessMm}, conductivityWPerMK: 0.17, densityKgPerM3: 720, heatCapacityJPerKgK: 1700 }]
initialC: 20
faces: { upper: { fixed: true }, lower: { fixed: true } }
`,
      );
    const thick = await temperatures(of(20), steady(138, 138, [0, 200, 400, 800]), '10');
    const thin = await temperatures(of(10), steady(138, 138, [0, 50, 100, 200]), '5');
    thick.forEach((row, i) => expect(row[0]).toBeCloseTo(thin[i]?.[0] ?? NaN, 2));
  });
});

describe('setwell heat refuses', () => {
  const layup = () =>
    bar({
      k: 1,
      rho: 1000,
      cp: 1000,
      startC: 20,
      faces: '{ upper: { fixed: true }, lower: { fixed: true } }',
    });
  const refused = (layupFile: string, positions: string, faces = steady(20, 120, [0, 60])) =>
    refusalOf(['heat', '--layup', layupFile, '--faces', faces, '--positions', positions]);

  it('a position outside the piece', async () => {
    expect(await refused(layup(), '50,101')).toMatchObject({
      exit: 2,
      code: 'outside-layup',
      field: '--positions',
      found: '101 mm',
    });
  });

  it('a material nothing is known of, with the nearest name', async () => {
    const file = textFile(
      'layup.yaml',
      'layers: [{ material: beach, thicknessMm: 1.5, count: 13 }]\ncontactWPerM2K: 500\ninitialC: 20\n',
    );
    const refusal = await refused(file, '3');
    expect(refusal).toMatchObject({
      exit: 2,
      code: 'unknown-material',
      field: 'layers[0].material',
    });
    expect(refusal.expected).toContain('beech');
  });

  it.each([
    ['zero thickness', 'thicknessMm: 0, conductivityWPerMK: 0.17'],
    ['a negative conductivity', 'thicknessMm: 1, conductivityWPerMK: -0.17'],
    ['a conductivity in W/(cm K) or the like', 'thicknessMm: 1, conductivityWPerMK: 1700'],
  ])('%s', async (_name, numbers) => {
    const file = textFile(
      'layup.yaml',
      `layers:\n  - { ${numbers}, densityKgPerM3: 720, heatCapacityJPerKgK: 1700 }\ncontactWPerM2K: 500\n`,
    );
    expect(await refused(file, '0.5')).toMatchObject({ exit: 2, line: 2 });
  });

  it('faces in °F', async () => {
    expect(await refused(layup(), '50', steady(280, 480, [0, 60]))).toMatchObject({
      exit: 2,
      code: 'fahrenheit',
    });
  });
});
