import { its90 } from '@setwell/shared-models/metrology/its90';
import {
  celsiusOfOhm,
  leadErrorOhm,
  ohmOfCelsius,
} from '@setwell/shared-models/metrology/resistance';
import { celsiusOf, kelvinDifferenceOf } from '@setwell/shared-models/metrology/temperature-unit';
import {
  celsiusByInversePolynomial,
  celsiusOfMillivolt,
  hotJunctionC,
  millivoltOfCelsius,
  terminalMillivolt,
  thermocoupleRange,
  thermocoupleTypes,
} from '@setwell/shared-models/metrology/thermocouple';
import type { ThermocoupleType } from '@setwell/shared-models/metrology/thermocouple';
import {
  standardNamed,
  toleranceK,
  toleranceOf,
  tolerancesOf,
} from '@setwell/shared-models/metrology/tolerance';
import type { ElementType, ToleranceStandard } from '@setwell/shared-models/metrology/tolerance';
import fc from 'fast-check';
import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';

const itsPoints = JSON.parse(
  readFileSync(new URL('../fixtures/thermocouple/its90-points.json', import.meta.url), 'utf8'),
) as { points: Record<ThermocoupleType, { tempC: number; emfMv: number }[]> };

const everyType = thermocoupleTypes.map((type) => ({ type }));

describe('thermocouples', () => {
  // Source: NIST Monograph 175 / IEC 60584-1 tables, read to 1 µV.
  test.each([
    ['K', -200, -5.891],
    ['K', 42, 1.694],
    ['K', 500, 20.644],
    ['K', 1372, 54.886],
    ['J', 760, 42.919],
    ['J', 1200, 69.553],
  ] as const)('type %s at %d °C gives the table’s %d mV', (type, tempC, tableMv) => {
    expect(Math.abs(millivoltOfCelsius(type, tempC)! - tableMv)).toBeLessThanOrEqual(0.0005);
    expect(celsiusOfMillivolt(type, tableMv)).toBeCloseTo(tempC, 1);
  });

  // Source: computed from the NIST coefficients by a separate program; see SOURCE.md beside them.
  test.each(
    Object.entries(itsPoints.points).flatMap(([type, points]) =>
      points.map((point) => ({ type: type as ThermocoupleType, ...point })),
    ),
  )('type $type at $tempC °C gives $emfMv mV', ({ type, tempC, emfMv }) => {
    expect(Math.abs(millivoltOfCelsius(type, tempC)! - emfMv)).toBeLessThanOrEqual(6e-7);
  });

  // Source: NIST ITS-90 Thermocouple Database, error columns of the inverse coefficient tables. They are
  // printed to 0.01 K, so half of that is added.
  test.each(everyType)(
    'the published inverse of type $type stays in its published band everywhere',
    ({ type }) => {
      const { inverse } = its90[type];
      const { fromC, toC } = celsiusEnds(type, inverse[0]!.fromMv, inverse.at(-1)!.toMv);
      fc.assert(
        fc.property(fc.double({ min: fromC, max: toC, noNaN: true }), (tempC) => {
          const emfMv = millivoltOfCelsius(type, tempC)!;
          const piece = inverse.find((each) => emfMv <= each.toMv) ?? inverse.at(-1)!;
          const errorK = celsiusByInversePolynomial(type, emfMv)! - tempC;
          expect(errorK).toBeGreaterThanOrEqual(piece.errorK[0] - 0.005);
          expect(errorK).toBeLessThanOrEqual(piece.errorK[1] + 0.005);
        }),
        { numRuns: 5000, seed: 20260302 },
      );
    },
  );

  test.each(everyType)(
    'a lost sign in any inverse coefficient of type $type leaves the band',
    ({ type }) => {
      for (const piece of its90[type].inverse) {
        const { fromC, toC } = celsiusEnds(type, piece.fromMv, piece.toMv);
        for (let i = 0; i < piece.coefficients.length; i++) {
          const flipped = piece.coefficients.map((each, at) => (at === i ? -each : each));
          if (flipped[i] === 0) continue;
          const errorsK = Array.from({ length: 201 }, (_, step) => {
            const tempC = fromC + ((toC - fromC) * step) / 200;
            return polynomial(flipped, millivoltOfCelsius(type, tempC)!) - tempC;
          });
          const inBand = errorsK.every(
            (errorK) => errorK >= piece.errorK[0] - 0.005 && errorK <= piece.errorK[1] + 0.005,
          );
          expect(inBand, `coefficient ${i} from ${piece.fromMv} mV`).toBe(false);
        }
      }
    },
  );

  test.each(everyType)('type $type comes back from its own millivolts to 1e-9 K', ({ type }) => {
    const { fromMv, toMv } = thermocoupleRange(type);
    const { fromC, toC } = celsiusEnds(type, fromMv, toMv);
    fc.assert(
      fc.property(fc.double({ min: fromC, max: toC, noNaN: true }), (tempC) => {
        const back = celsiusOfMillivolt(type, millivoltOfCelsius(type, tempC)!)!;
        // Type K's two pieces meet at 0 °C with a step of 2e-9 mV.
        expect(Math.abs(back - tempC)).toBeLessThan(Math.abs(tempC) < 0.001 ? 1e-7 : 1e-9);
      }),
      { numRuns: 2000, seed: 20260302 },
    );
  });

  // Source: computed from the NIST reference functions. Hot junction 180 °C, terminals 25 °C.
  test.each([
    ['K', 6.3398],
    ['J', 8.3921],
    ['T', 7.2446],
    ['N', 4.6008],
  ] as const)('type %s at 180 °C over terminals at 25 °C is %d mV', (type, terminalsMv) => {
    expect(terminalMillivolt(type, 180, 25)).toBeCloseTo(terminalsMv, 4);
    expect(hotJunctionC(type, terminalsMv, 25)).toBeCloseTo(180, 2);
  });

  test('adding the terminals’ temperature instead of their millivolts would be 5.7 K off for type T', () => {
    const added = celsiusOfMillivolt('T', terminalMillivolt('T', 180, 25)!)! + 25;
    expect(added).toBeCloseTo(185.71, 1);
    expect(hotJunctionC('T', terminalMillivolt('T', 180, 25)!, 25)).toBeCloseTo(180, 9);
  });

  test.each(everyType)('type $type has no temperature outside its millivolts', ({ type }) => {
    const { fromMv, toMv, toC } = thermocoupleRange(type);
    for (const emfMv of [fromMv - 0.001, toMv + 0.001, NaN, Infinity, -Infinity]) {
      expect(celsiusOfMillivolt(type, emfMv)).toBeNull();
    }
    expect(millivoltOfCelsius(type, toC + 0.001)).toBeNull();
    expect(millivoltOfCelsius(type, NaN)).toBeNull();
    expect(hotJunctionC(type, 1, 5000)).toBeNull();
  });
});

describe('platinum resistance thermometers', () => {
  // Source: IEC 60751 table, read to 0.01 Ω.
  test.each([
    [-100, 60.26],
    [0, 100],
    [100, 138.51],
    [150, 157.33],
    [200, 175.86],
  ])('a Pt100 at %d °C is the table’s %d Ω, a Pt1000 ten times that', (tempC, tableOhm) => {
    expect(Math.abs(ohmOfCelsius('Pt100', tempC)! - tableOhm)).toBeLessThanOrEqual(0.005);
    expect(Math.abs(ohmOfCelsius('Pt1000', tempC)! - 10 * tableOhm)).toBeLessThanOrEqual(0.05);
    expect(celsiusOfOhm('Pt100', tableOhm)).toBeCloseTo(tempC, 1);
  });

  test('resistance comes back as the temperature to 1e-9 K, from −200 to 850 °C', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -200, max: 850, noNaN: true }),
        fc.constantFrom('Pt100', 'Pt1000'),
        (tempC, type) => {
          const back = celsiusOfOhm(type as 'Pt100', ohmOfCelsius(type as 'Pt100', tempC)!)!;
          // Type K's two pieces meet at 0 °C with a step of 2e-9 mV.
          expect(Math.abs(back - tempC)).toBeLessThan(Math.abs(tempC) < 0.001 ? 1e-7 : 1e-9);
        },
      ),
      { numRuns: 4000, seed: 20260302 },
    );
  });

  // Source: computed from IEC 60751's relation.
  test('two wires of together 1 Ω read 122.65 °C at 120 °C; three and four wires read 120 °C', () => {
    const twoWire = { wires: 2, leadOhm: 1 } as const;
    const measuredOhm = ohmOfCelsius('Pt100', 120)! + leadErrorOhm(twoWire);
    expect(celsiusOfOhm('Pt100', measuredOhm)).toBeCloseTo(122.65, 2);
    expect(celsiusOfOhm('Pt100', measuredOhm - leadErrorOhm(twoWire))).toBeCloseTo(120, 9);
    expect(leadErrorOhm({ wires: 3, imbalanceOhm: 0 })).toBe(0);
    expect(leadErrorOhm({ wires: 3, imbalanceOhm: 0.1 })).toBe(0.1);
    expect(leadErrorOhm({ wires: 4 })).toBe(0);
  });

  test('a broken or shorted wire has no temperature', () => {
    for (const ohm of [0, -1, 18.4, 391, 1e6, Infinity, NaN]) {
      expect(celsiusOfOhm('Pt100', ohm)).toBeNull();
    }
    expect(ohmOfCelsius('Pt100', -201)).toBeNull();
    expect(ohmOfCelsius('Pt100', 851)).toBeNull();
  });
});

describe('tolerances', () => {
  // Sources: IEC 60751:2008 table 3; IEC 60584-1:2013; ASTM E230. Break points where the two thermocouple
  // terms meet: 375 °C (1.5 = 0.4 %), 333 °C (2.5 = 0.75 %), 125 and 133 °C for type T, 293 and 275 °C by E230.
  test.each([
    ['Pt100', 'AA', 'IEC 60751', 100, 0.27],
    ['Pt100', 'A', 'IEC 60751', 0, 0.15],
    ['Pt100', 'A', 'IEC 60751', -100, 0.35],
    ['Pt100', 'A', 'IEC 60751', 120, 0.39],
    ['Pt100', 'B', 'IEC 60751', 120, 0.9],
    ['Pt1000', 'B', 'IEC 60751', 200, 1.3],
    ['Pt100', 'C', 'IEC 60751', 100, 1.6],
    ['K', '1', 'IEC 60584-1', 374, 1.5],
    ['K', '1', 'IEC 60584-1', 376, 1.504],
    ['K', '2', 'IEC 60584-1', 333, 2.5],
    ['K', '2', 'IEC 60584-1', 400, 3],
    ['N', '2', 'IEC 60584-1', 334, 2.505],
    ['J', '1', 'IEC 60584-1', 500, 2],
    ['J', '2', 'IEC 60584-1', -40, 2.5],
    ['T', '1', 'IEC 60584-1', 125, 0.5],
    ['T', '1', 'IEC 60584-1', 200, 0.8],
    ['T', '2', 'IEC 60584-1', 133, 1],
    ['T', '2', 'IEC 60584-1', 200, 1.5],
    ['K', 'standard', 'ASTM E230', 293, 2.2],
    ['K', 'standard', 'ASTM E230', 400, 3],
    ['K', 'special', 'ASTM E230', 275, 1.1],
    ['K', 'special', 'ASTM E230', 500, 2],
  ] as [ElementType, string, ToleranceStandard, number, number][])(
    '%s class %s by %s at %d °C is ±%d K',
    (type, className, standard, tempC, expectedK) => {
      const tolerance = toleranceOf(type, className, standard)!;
      expect(tolerance.standard).toBe(standard);
      expect(toleranceK(tolerance, tempC)).toBeCloseTo(expectedK, 9);
    },
  );

  test('the same letter under two standards is two tolerances, and each names its own', () => {
    expect(toleranceK(toleranceOf('K', '2')!, 100)).toBe(2.5);
    expect(toleranceK(toleranceOf('K', 'standard')!, 100)).toBe(2.2);
    expect(toleranceOf('K', '2', 'ASTM E230')).toBeNull();
    expect(toleranceOf('Pt100', '1')).toBeNull();
    expect(tolerancesOf('J').map((each) => `${each.standard} ${each.class}`)).toEqual([
      'IEC 60584-1 1',
      'IEC 60584-1 2',
      'ASTM E230 standard',
      'ASTM E230 special',
    ]);
  });

  test('nothing is promised where the standard promises nothing', () => {
    expect(toleranceK(toleranceOf('Pt100', 'AA')!, 251)).toBeNull();
    expect(toleranceK(toleranceOf('K', '1')!, -41)).toBeNull();
    expect(toleranceK(toleranceOf('T', 'special')!, -1)).toBeNull();
    expect(toleranceK(toleranceOf('K', '1')!, NaN)).toBeNull();
  });

  test.each([
    ['IEC60584', 'IEC 60584-1'],
    ['DIN EN IEC 60751', 'IEC 60751'],
    ['e230', 'ASTM E230'],
    ['ASTM E230/E230M', 'ASTM E230'],
    ['IEC 60584-1', 'IEC 60584-1'],
    ['JIS C1602', null],
    ['607510', null],
  ])('the standard written %s is %s', (written, standard) => {
    expect(standardNamed(written)).toBe(standard);
  });
});

describe('units of temperature', () => {
  test('a temperature moves with the scale’s zero, a difference does not', () => {
    expect(celsiusOf(212, 'fahrenheit')).toBe(100);
    expect(celsiusOf(-40, 'fahrenheit')).toBe(-40);
    expect(celsiusOf(373.15, 'kelvin')).toBeCloseTo(100, 12);
    expect(kelvinDifferenceOf(9, 'fahrenheit')).toBe(5);
    expect(kelvinDifferenceOf(0, 'fahrenheit')).toBe(0);
    expect(kelvinDifferenceOf(2, 'kelvin')).toBe(2);
  });
});

function polynomial(coefficients: readonly number[], x: number): number {
  return coefficients.reduceRight((sum, each) => sum * x + each, 0);
}

/** Temperatures at the ends of an inverse range, kept inside the reference function. */
function celsiusEnds(type: ThermocoupleType, fromMv: number, toMv: number) {
  const range = thermocoupleRange(type);
  return {
    fromC: Math.max(range.fromC, celsiusOfMillivolt(type, fromMv)!),
    toC: Math.min(range.toC, celsiusOfMillivolt(type, toMv)!),
  };
}
