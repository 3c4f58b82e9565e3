import { describe, expect, test } from 'vitest';
import { answerOf, refusalOf, wordsOf } from '../fixtures/command.ts';

const sensor = (words: string) => ['sensor', ...words.split(' ')];

describe('setwell sensor', () => {
  // Sources: NIST Monograph 175 / IEC 60584-1 tables (mV), IEC 60751 tables (Ω), the standards' tolerances.
  test.each([
    ['--type K --celsius -200', { celsius: -200, millivolt: -5.891 }, null],
    ['--type K --celsius 42', { celsius: 42, millivolt: 1.694 }, null],
    ['--type K --celsius 500', { celsius: 500, millivolt: 20.644 }, null],
    ['--type K --celsius 1372', { celsius: 1372, millivolt: 54.886 }, null],
    ['--type J --celsius 760 --class 2', { celsius: 760, millivolt: 42.919 }, null],
    ['--type J --celsius 1200', { celsius: 1200, millivolt: 69.553 }, null],
    ['--type J --celsius 400 --class 2', { celsius: 400 }, 3],
    ['--type J --celsius 200 --class 1', { celsius: 200 }, 1.5],
    ['--type N --celsius 500 --class 1', { celsius: 500 }, 2],
    ['--type N --celsius 100 --class 2', { celsius: 100 }, 2.5],
    ['--type T --celsius 100 --class 1', { celsius: 100 }, 0.5],
    ['--type T --celsius 200 --class 2', { celsius: 200 }, 1.5],
    ['--type K --celsius 180 --cold-junction 25', { celsius: 180, millivolt: 6.3398 }, null],
    ['--type J --celsius 180 --cold-junction 25', { celsius: 180, millivolt: 8.3921 }, null],
    ['--type T --celsius 180 --cold-junction 25', { celsius: 180, millivolt: 7.2446 }, null],
    ['--type N --celsius 180 --cold-junction 25', { celsius: 180, millivolt: 4.6008 }, null],
    ['--type K --celsius 400 --standard E230 --class standard', { celsius: 400 }, 3],
    ['--type K --celsius 100 --standard IEC60584 --class 2', { celsius: 100 }, 2.5],
    ['--type K --celsius 400 --standard E230 --class special', { celsius: 400 }, 1.6],
    ['--type Pt100 --celsius 100 --class AA', { celsius: 100, ohm: 138.51 }, 0.27],
    ['--type Pt100 --celsius 150 --class C', { celsius: 150, ohm: 157.33 }, 2.1],
    ['--type Pt100 --celsius 200 --class B', { celsius: 200, ohm: 175.86 }, 1.3],
    ['--type Pt100 --celsius -100 --class A', { celsius: -100, ohm: 60.26 }, 0.35],
    ['--type pt1000 --celsius 150', { celsius: 150, ohm: 1573.3 }, null],
  ])('%s', async (words, values, toleranceK) => {
    const { document, exit } = await answerOf(sensor(words));
    expect(exit).toBe(0);
    for (const [name, value] of Object.entries(values)) {
      // Half of the table's last digit.
      const within =
        name === 'celsius' ? 0 : name === 'millivolt' ? 0.0005 : value > 1000 ? 0.05 : 0.005;
      expect(Math.abs((document[name] as number) - value)).toBeLessThanOrEqual(within);
    }
    if (toleranceK === null) expect(document['toleranceK']).toBeNull();
    else expect(document['toleranceK']).toBeCloseTo(toleranceK, 9);
    expect(Object.keys(document)).toHaveLength(3);
  });

  // Source: computed from the NIST reference functions; type T shows what adding temperatures would lose.
  test('millivolts of a cold junction are added, then inverted', async () => {
    const cold = await answerOf(sensor('--type T --millivolt 7.2446 --cold-junction 25'));
    expect(cold.document['celsius']).toBeCloseTo(180, 2);
    expect(cold.document['millivolt']).toBe(7.2446);
    const back = await answerOf(sensor('--type T --celsius 180 --cold-junction 25'));
    expect(back.document['millivolt']).toBeCloseTo(7.2446, 4);
  });

  // Source: computed from IEC 60751.
  test('a lead of 1 Ω reads 2.65 K too hot until it is told', async () => {
    const untold = await answerOf(sensor('--type Pt100 --ohm 147.0676'));
    expect(untold.document['celsius']).toBeCloseTo(122.65, 2);
    const told = await answerOf(sensor('--type Pt100 --ohm 147.0676 --lead-ohm 1'));
    expect(told.document['celsius']).toBeCloseTo(120, 2);
  });

  test('the words name the standard of the tolerance, or where it ends', async () => {
    expect(await wordsOf(sensor('--type K --celsius 400 --class 2'))).toContain(
      '±3 K by IEC 60584-1 class 2',
    );
    expect(await wordsOf(sensor('--type Pt100 --celsius 300 --class AA'))).toContain(
      'ends at -50 and 250 °C',
    );
  });

  test.each([
    ['--type Q --celsius 1', 'unknown-type', '--type'],
    ['--type K', 'no-value', undefined],
    ['--type K --celsius 1 --millivolt 1', 'too-many-values', '--celsius --millivolt'],
    ['--type K --ohm 100', 'other-signal', '--ohm'],
    ['--type Pt100 --millivolt 1', 'other-signal', '--millivolt'],
    ['--type Pt100 --ohm 100 --cold-junction 20', 'other-signal', '--cold-junction'],
    ['--type K --celsius 100 --lead-ohm 1', 'other-signal', '--lead-ohm'],
    ['--type K --celsius 1373', 'outside-range', '--celsius'],
    ['--type K --millivolt 55', 'outside-range', '--millivolt'],
    ['--type K --millivolt 1 --cold-junction 5000', 'outside-range', '--cold-junction'],
    ['--type Pt100 --ohm 1000000', 'outside-range', '--ohm'],
    ['--type Pt100 --ohm 0', 'outside-range', '--ohm'],
    ['--type Pt100 --celsius 851', 'outside-range', '--celsius'],
    ['--type K --celsius 20,5', 'no-number', '--celsius'],
    ['--type K --celsius NaN', 'no-number', '--celsius'],
    ['--type K --celsius 1e999', 'no-number', '--celsius'],
    ['--type K --celsius 100 --class A', 'unknown-class', '--class'],
    ['--type K --celsius 100 --class 2 --standard E230', 'unknown-class', '--class'],
    ['--type K --celsius 100 --class 2 --standard JIS', 'unknown-standard', '--standard'],
    ['--type K --celsius 100 --standard E230', 'missing-class', '--class'],
  ])('refuses %s', async (words, code, field) => {
    const refusal = await refusalOf(sensor(words));
    expect(refusal).toMatchObject({ exit: 2, code, ...(field === undefined ? {} : { field }) });
    expect(refusal.found).not.toBe('');
    expect(refusal.expected).not.toBe('');
  });
});
