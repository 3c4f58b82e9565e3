import { createLaw } from '@setwell/shared-models/cure/create-law';
import type { EquivalentTime } from '@setwell/shared-models/cure/law-spec';
import { describe, expect, test } from 'vitest';
import { answerOf, csvFile, refusalOf, wordsOf } from '../fixtures/command.ts';

const schedule = (rows: string, ...options: string[]) => [
  ...['fit', 'schedule', csvFile(`temp_c,minutes\n${rows}\n`)],
  ...options,
];

const energyFor = (fromC: number, toC: number, factor: number) =>
  (8.314462618 * Math.log(factor)) / (1 / (fromC + 273.15) - 1 / (toC + 273.15));

describe('setwell fit schedule', () => {
  // Computed: what a rate that doubles within ten kelvin means in E.
  test.each([
    ['20,2\n30,1', 51_216],
    ['80,2\n90,1', 73_910],
    ['120,2\n130,1', 91_345],
  ])('two rows %o: %d J/mol, exactly and untested', async (rows, energy) => {
    const { exit, document } = await answerOf(schedule(rows));
    expect(exit).toBe(0);
    expect(document['activationEnergyJPerMol'] as number).toBeCloseTo(energy, -0.5);
    expect(document['standardError']).toBeNull();
    expect((document['warnings'] as { code: string }[]).map(({ code }) => code)).toContain(
      'two-rows',
    );
  });

  test('rounding of the printed minutes is doubt, told as a range of energies', async () => {
    const { document } = await answerOf(schedule('120,10\n135,5'));
    const { allowedByRounding } = document as {
      allowedByRounding: { printedToMin: number; low: number; high: number };
    };
    expect(allowedByRounding.printedToMin).toBe(1);
    expect(allowedByRounding.low).toBeCloseTo(energyFor(120, 135, 9.5 / 5.5), 6);
    expect(allowedByRounding.high).toBeCloseTo(energyFor(120, 135, 10.5 / 4.5), 6);
    expect(document['referenceC']).toBeCloseTo(2 / (1 / 393.15 + 1 / 408.15) - 273.15, 9);
    expect(await wordsOf(schedule('120,10\n135,5'))).toContain('two rows: no test of the law');
  });

  test('a law’s own rows give the law back, with its time at the reference asked for', async () => {
    const law = createLaw({
      form: 'equivalent-time',
      referenceC: 135,
      activationEnergyJPerMol: 90_000,
    });
    const rows = [110, 120, 130, 140, 150].map(
      (tempC) => `${tempC},${law.secondsToReach(0, 6, tempC) / 60}`,
    );
    const { document } = await answerOf(schedule(rows.join('\n'), '--reference', '135'));
    expect(document['activationEnergyJPerMol']).toBeCloseTo(90_000, 5);
    expect(document['minutesAtReference']).toBeCloseTo(6, 9);
    expect(document['standardError'] as number).toBeLessThan(1e-3);
    expect(document['referenceC']).toBe(135);
    expect((document['residuals'] as number[]).every((each) => Math.abs(each) < 1e-12)).toBe(true);
    expect(document['law']).toMatchObject({ form: 'equivalent-time', validC: [110, 150] });
  });

  // Computed: least squares of ln t over 1/RT with SciPy 1.10 (linregress) on these four rows.
  test('scattered rows give a standard error, and rows off every law a note', async () => {
    const { document } = await answerOf(schedule('110,24\n120,13\n130,8\n140,4'));
    expect(document['activationEnergyJPerMol'] as number).toBeCloseTo(77057.23778, 3);
    expect(document['standardError'] as number).toBeCloseTo(4237.5869, 3);
    const covariance = document['covariance'] as number[][];
    expect(Math.sqrt(covariance[0]![0]!)).toBeCloseTo(4237.5869, 3);
    expect((document['law'] as EquivalentTime).standardErrors).toEqual({
      activationEnergyJPerMol: document['standardError'],
    });
    const off = await answerOf(
      schedule('110,24.0\n120,13.0\n130,8.0\n140,1.0', '--printed-to=0.1'),
    );
    expect(off.document['allowedByRounding']).toBeNull();
    expect((off.document['warnings'] as { code: string }[]).map(({ code }) => code)).toContain(
      'rows-off-the-law',
    );
  });

  test('a reference outside the rows is said to be extrapolated', async () => {
    const { document } = await answerOf(schedule('120,10\n135,5', '--reference', '180'));
    expect((document['warnings'] as { code: string }[]).map(({ code }) => code)).toContain(
      'reference-outside',
    );
  });

  test.each([
    ['120,10\n130,12', 'contradictory-rows', 3, 'line 2'],
    ['120,10\n120,10', 'one-temperature', undefined, '120'],
    ['120,10\n130,10', 'rate-does-not-rise', undefined, '0 J/mol'],
    ['120,10', 'too-few-rows', 2, '1 row'],
    ['250,10\n275,5\n300,2', 'fahrenheit', 3, '°F'],
    ['-280,10\n130,5', 'too-small', 2, '-280'],
    ['120,0\n130,5', 'too-small', 2, '0'],
    ['120,NaN\n130,5', 'no-number', 2, 'NaN'],
    ['120,\n130,5', 'empty-cell', 2, 'empty'],
  ])('%o is refused as %s', async (rows, code, line, said) => {
    const refusal = await refusalOf(schedule(rows));
    expect(refusal).toMatchObject({ exit: 2, code, ...(line === undefined ? {} : { line }) });
    expect(refusal.found).toContain(said);
  });

  test('an empty file', async () => {
    expect(await refusalOf(['fit', 'schedule', csvFile('')])).toMatchObject({
      exit: 2,
      code: 'empty-file',
    });
  });
});

describe('setwell fit peaks', () => {
  const peaks = (rows: string) => [
    ...['fit', 'peaks', csvFile(`rate_k_per_min,peak_c\n${rows}\n`)],
  ];

  // Computed: the peak of a first-order reaction is where E·β/(R·Tp²) = A·e^(−E/RTp), solved with
  // SciPy (brentq, xtol 1e-12) for 80 kJ/mol and A = 1e8 1/s.
  test('gives back the reaction whose peaks they are', async () => {
    const { document } = await answerOf(
      peaks('2,118.1536243\n5,132.1005647\n10,143.301971\n20,155.1134512'),
    );
    expect(document['activationEnergyJPerMol'] as number).toBeCloseTo(80_000, -1);
    expect((document['preExponentialPerS'] as number) / 1e8).toBeCloseTo(1, 3);
    expect(document['standardError'] as number).toBeLessThan(1);
  });

  test('two rates test nothing; one rate or falling peaks are refused', async () => {
    const two = await answerOf(peaks('5,118\n10,129'));
    expect(two.document['standardError']).toBeNull();
    expect(await refusalOf(peaks('5,118\n10,118'))).toMatchObject({ exit: 2, code: 'one-rate' });
    expect(await refusalOf(peaks('5,130\n10,118'))).toMatchObject({
      exit: 2,
      code: 'peak-does-not-rise',
    });
    expect(await refusalOf(peaks('0,130\n10,118'))).toMatchObject({
      exit: 2,
      line: 2,
      field: 'rate_k_per_min',
    });
  });
});
