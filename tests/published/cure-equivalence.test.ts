import { createLaw } from '@setwell/shared-models/cure/create-law';
import { foldProfile } from '@setwell/shared-models/cure/profile';
import { describe, expect, test } from 'vitest';
import { answerOf, csvFile, textFile } from '../fixtures/command.ts';

const closeTo = (value: number, expected: number, relative: number) =>
  expect(Math.abs(value / expected - 1), `${value} beside ${expected}`).toBeLessThanOrEqual(
    relative,
  );

/** A profile of steps: each temperature held for so long. */
function held(temps: number[], eachS: number): [number[], number[]] {
  return [
    temps.flatMap((_, i) => [i * eachS, (i + 1) * eachS]),
    temps.flatMap((tempC) => [tempC, tempC]),
  ];
}

// Source: computed from the Arrhenius integral (SciPy, rtol 1e-11): 20 → 180 °C at 10 K/min, 80 kJ/mol.
describe('equivalent time of a ramp', () => {
  const spec = {
    form: 'equivalent-time',
    referenceC: 180,
    activationEnergyJPerMol: 80_000,
  } as const;

  test('whole, and sampled as coarsely as a logger does: never the trapezium’s 2 %', () => {
    const law = createLaw(spec);
    closeTo(law.advance(0, 20, 180, 960), 1.957177271, 1e-9);
    for (const everyS of [60, 30, 6, 1]) {
      const timesS = Array.from({ length: 960 / everyS + 1 }, (_, i) => i * everyS);
      const value = foldProfile(
        law,
        timesS,
        timesS.map((timeS) => 20 + timeS / 6),
      );
      closeTo(value, 1.957177271, 1e-9);
    }
  });

  test('by the command', async () => {
    const { document } = await answerOf([
      'cure',
      '--law',
      textFile('law.json', JSON.stringify(spec)),
      '--profile',
      csvFile('time_s,temp_c\n0,20\n960,180\n'),
      '--at',
      '960,0',
    ]);
    expect(document).toMatchObject({ measure: 'equivalent-time', unit: 'min', notes: [] });
    closeTo(document['value'] as number, 1.957177271, 1e-9);
    expect(document['at']).toEqual([
      { timeS: 960, value: document['value'] },
      { timeS: 0, value: 0 },
    ]);
  });
});

// Source: computed (SciPy): T = 180 − 160·e^(−t/4 min), 20 min, reference 180 °C.
test.each([
  [62_000, 10.578046311],
  [80_000, 9.65260455],
])('20 min in an oven at 180 °C, E %d: %d min at 180 °C', (energy, expected) => {
  const timesS = Array.from({ length: 4801 }, (_, i) => i / 4);
  const law = createLaw({
    form: 'equivalent-time',
    referenceC: 180,
    activationEnergyJPerMol: energy,
  });
  const temps = timesS.map((timeS) => 180 - 160 * Math.exp(-timeS / 240));
  closeTo(foldProfile(law, timesS, temps), expected, 1e-7);
});

describe('z-value', () => {
  const law = createLaw({ form: 'z-value', referenceC: 121.11, zK: 10 });

  // Source: M. Mullan, dairyscience.info: 110 °C, z 10 °C → 0.077; the other digits computed.
  test.each([
    [110, 0.0774462],
    [118, 0.488652],
    [125, 2.449063],
  ])('lethal rate at %d °C', (tempC, rate) => {
    closeTo(law.advance(0, tempC, tempC, 60), rate, 1e-6);
  });

  // Source: computed in closed form.
  test('ramp up, hold, cool', () => {
    const upS = (31.11 / 2) * 60;
    const downS = (31.11 / 3) * 60;
    closeTo(law.advance(0, 90, 121.11, upS), 2.169790687, 1e-9);
    closeTo(law.advance(0, 121.11, 90, downS), 1.446527125, 1e-9);
    const timesS = [0, upS, upS + 300, upS + 300 + downS];
    closeTo(foldProfile(law, timesS, [90, 121.11, 121.11, 90]), 8.616317812, 1e-9);
  });

  // Source: IEC 60076-7 / IEEE C57.91, V = 2^((T − 98)/6), as in the tests of the public repository
  // alliander-opensource/transformer-thermal-model (98 and 100 °C); the others by the formula.
  test.each([
    [98, 1],
    [100, 1.259921],
    [80, 0.125],
    [86, 0.25],
    [92, 0.5],
    [104, 2],
    [110, 4],
  ])('relative ageing of a day at %d °C: %d days', (tempC, days) => {
    const ageing = createLaw({ form: 'z-value', referenceC: 98, zK: 6 / Math.log10(2) });
    closeTo(ageing.advance(0, tempC, tempC, 86_400) / 1440, days, 1e-6);
  });

  // Source: Kosow, Electric Machinery and Transformers, ex. 13-1: 125 instead of 105 °C ages fourfold.
  test('ten-degree rule', () => {
    const rule = createLaw({ form: 'z-value', referenceC: 105, zK: 10 / Math.log10(2) });
    closeTo(10 / rule.advance(0, 125, 125, 60), 2.5, 1e-12);
  });
});

// Source: formulas ASTM C1074; values computed. 2 h steps at the step's mean temperature.
describe('maturity', () => {
  const steps = [22, 26, 33, 41, 46, 44, 38, 31, 26, 23, 21, 20];
  const [timesS, temps] = held(steps, 7200);

  test.each([
    [-10, 982],
    [0, 742],
  ])('Nurse-Saul above %d °C: %d °C·h', (baseC, expected) => {
    const law = createLaw({ form: 'degree-time', baseC });
    closeTo(foldProfile(law, timesS, temps) / 60, expected, 1e-12);
  });

  const ageH = (zeroC: number, energyPerR = 5000) => {
    const shift = zeroC - 273.15;
    const law = createLaw({
      form: 'equivalent-time',
      referenceC: 20 + shift,
      activationEnergyJPerMol: energyPerR * 8.314462618,
    });
    return foldProfile(
      law,
      timesS,
      temps.map((tempC) => tempC + shift),
    );
  };

  test('equivalent age at Q = 5000 K; 273 for 273.15 is another number, and not ours', () => {
    closeTo(ageH(273.15) / 60, 49.121327, 1e-7);
    closeTo(ageH(273) / 60, 49.161932, 1e-7);
    expect(Math.abs(ageH(273.15) / 60 - 49.161932)).toBeGreaterThan(0.04);
  });

  // Computed with T = 273 + t, as the tables of that form do.
  test.each([
    [-10, 0.14276],
    [0, 0.28646],
    [10, 0.54717],
    [30, 1.75628],
    [40, 2.97548],
    [60, 7.76659],
  ])('age factor at %d °C: %d', (tempC, factor) => {
    const law = createLaw({
      form: 'equivalent-time',
      referenceC: 20 - 0.15,
      activationEnergyJPerMol: 5000 * 8.314462618,
    });
    expect(Math.abs(law.advance(0, tempC - 0.15, tempC - 0.15, 60) - factor)).toBeLessThan(5.1e-6);
  });
});

describe('constants that circulate wrongly', () => {
  // Computed: R = 8.314 moves k by 0.13 % at 80 kJ/mol; E that doubles the rate within ten kelvin.
  test('the gas constant is CODATA’s unless a law pins another', () => {
    const k = (gasConstant?: number) =>
      createLaw({
        form: 'n-th-order',
        aPerS: 1e8,
        activationEnergyJPerMol: 80_000,
        n: 1,
        ...(gasConstant === undefined ? {} : { gasConstant }),
      }).secondsToReach(0, 0.5, 140);
    closeTo(k(8.314) / k(8.314462618), 1.0013, 1e-4);
    expect(k()).toBe(k(8.314462618));
  });

  test.each([
    [20, 51_216],
    [80, 73_910],
    [120, 91_345],
  ])('×2 from %d °C within 10 K is %d J/mol there, and nowhere else', (tempC, energy) => {
    const law = createLaw({
      form: 'equivalent-time',
      referenceC: tempC,
      activationEnergyJPerMol: energy,
    });
    closeTo(law.advance(0, tempC + 10, tempC + 10, 60), 2, 2e-5);
    expect(law.advance(0, tempC + 60, tempC + 60, 60) / 2 ** 6).toBeLessThan(0.85);
  });

  // E values of polyurethanes: Polym. Mater. Sci. Eng. 28(5) 2012; the factors computed.
  test.each([
    [34_020, 1.5847],
    [41_580, 1.7555],
  ])('a polyurethane of %d J/mol quickens by %d from 20 to 30 °C, not by 2', (energy, factor) => {
    const law = createLaw({
      form: 'equivalent-time',
      referenceC: 20,
      activationEnergyJPerMol: energy,
    });
    closeTo(law.advance(0, 30, 30, 60), factor, 1e-4);
  });
});
