import { resistanceTypes } from './resistance.ts';
import type { ResistanceType } from './resistance.ts';
import { thermocoupleTypes } from './thermocouple.ts';
import type { ThermocoupleType } from './thermocouple.ts';

export type ElementType = ThermocoupleType | ResistanceType;
export const elementTypes: readonly ElementType[] = [...thermocoupleTypes, ...resistanceTypes];

export const toleranceStandards = ['IEC 60751', 'IEC 60584-1', 'ASTM E230'] as const;
export type ToleranceStandard = (typeof toleranceStandards)[number];

/** What a new element of a class may be off, by one named standard. */
export interface Tolerance {
  standard: ToleranceStandard;
  class: string;
  types: readonly ElementType[];
  /** `sum`: constantK + share·|t|. `greater`: the greater of the two, as thermocouple standards have it. */
  form: 'sum' | 'greater';
  constantK: number;
  /** Of |t| in °C [1]. */
  share: number;
  /** Where the standard promises it [°C], inclusive. */
  fromC: number;
  toC: number;
}

const platinum = (
  name: string,
  constantK: number,
  share: number,
  fromC: number,
  toC: number,
): Tolerance => ({
  standard: 'IEC 60751',
  class: name,
  types: resistanceTypes,
  form: 'sum',
  constantK,
  share,
  fromC,
  toC,
});

const thermocouple = (
  standard: ToleranceStandard,
  name: string,
  types: readonly ThermocoupleType[],
  constantK: number,
  share: number,
  [fromC, toC]: readonly [number, number],
): Tolerance => ({
  standard,
  class: name,
  types,
  form: 'greater',
  constantK,
  share,
  fromC,
  toC,
});

/**
 * IEC 60751:2008: ranges of wire-wound elements, the widest there are (film elements of class AA end at
 * 0 and 150 °C, A at −30 and 300, B and C at −50 and 500 or 600; class C's range is from memory).
 * IEC 60584-1:2013 with the ranges of its predecessor IEC 60584-2. ASTM E230: below 0 °C it promises
 * something only to an order that asks for it, so nothing is assumed there.
 */
const tolerances: readonly Tolerance[] = [
  platinum('AA', 0.1, 0.0017, -50, 250),
  platinum('A', 0.15, 0.002, -100, 450),
  platinum('B', 0.3, 0.005, -196, 600),
  platinum('C', 0.6, 0.01, -196, 600),
  thermocouple('IEC 60584-1', '1', ['K', 'N'], 1.5, 0.004, [-40, 1000]),
  thermocouple('IEC 60584-1', '1', ['J'], 1.5, 0.004, [-40, 750]),
  thermocouple('IEC 60584-1', '1', ['T'], 0.5, 0.004, [-40, 350]),
  thermocouple('IEC 60584-1', '2', ['K', 'N'], 2.5, 0.0075, [-40, 1200]),
  thermocouple('IEC 60584-1', '2', ['J'], 2.5, 0.0075, [-40, 750]),
  thermocouple('IEC 60584-1', '2', ['T'], 1, 0.0075, [-40, 350]),
  thermocouple('ASTM E230', 'standard', ['K', 'N'], 2.2, 0.0075, [0, 1260]),
  thermocouple('ASTM E230', 'standard', ['J'], 2.2, 0.0075, [0, 760]),
  thermocouple('ASTM E230', 'standard', ['T'], 1, 0.0075, [0, 370]),
  thermocouple('ASTM E230', 'special', ['K', 'N'], 1.1, 0.004, [0, 1260]),
  thermocouple('ASTM E230', 'special', ['J'], 1.1, 0.004, [0, 760]),
  thermocouple('ASTM E230', 'special', ['T'], 0.5, 0.004, [0, 370]),
];

const standardByNumber: Record<string, ToleranceStandard> = {
  '60751': 'IEC 60751',
  '60584': 'IEC 60584-1',
  E230: 'ASTM E230',
};

/** The standard meant by what people write: "IEC60584", "EN 60584-1", "E230". Null: none of ours. */
export function standardNamed(written: string): ToleranceStandard | null {
  const number = /^(?:DIN|BS|EN|IEC|ASTM|[\s-])*(60751|60584|E230)\b/i.exec(written)?.[1];
  return number === undefined ? null : (standardByNumber[number.toUpperCase()] ?? null);
}

/** The type meant: capitals aside, with or without the word "type". Null: not one of ours. */
export function elementTypeNamed(written: string): ElementType | null {
  const bare = written
    .trim()
    .replace(/^type[ -]/i, '')
    .toLowerCase();
  return elementTypes.find((type) => type.toLowerCase() === bare) ?? null;
}

/** Classes that a type has, with their standards, in the order of the standards. */
export function tolerancesOf(type: ElementType): Tolerance[] {
  return tolerances.filter((each) => each.types.includes(type));
}

/**
 * The tolerance of a type's class.
 *
 * @param className as the standard writes it: AA, A, B, C; 1, 2; standard, special
 * @param standard where null, the one that has a class of that name for this type: no two do
 * @returns null where the standard has no such class for the type
 */
export function toleranceOf(
  type: ElementType,
  className: string,
  standard: ToleranceStandard | null = null,
): Tolerance | null {
  const named = tolerancesOf(type).filter(
    (each) => each.class.toLowerCase() === className.toLowerCase(),
  );
  return named.find((each) => standard === null || each.standard === standard) ?? null;
}

/**
 * Tolerance at a temperature, a half-width [K].
 *
 * @returns null where the standard promises nothing
 */
export function toleranceK(tolerance: Tolerance, tempC: number): number | null {
  if (!(tempC >= tolerance.fromC && tempC <= tolerance.toC)) return null;
  const shareK = tolerance.share * Math.abs(tempC);
  return tolerance.form === 'sum'
    ? tolerance.constantK + shareK
    : Math.max(tolerance.constantK, shareK);
}

/** An element as a plant file writes it. */
export interface WrittenElement {
  type: string;
  class?: string | undefined;
  standard?: string | undefined;
}

/**
 * The tolerance of a fitted element. Without a class it is the widest its standard has, since nothing
 * narrower is known.
 *
 * @returns null where type, class or standard is none of ours
 */
export function toleranceOfElement(element: WrittenElement): Tolerance | null {
  const type = elementTypeNamed(element.type);
  const standard = element.standard === undefined ? null : standardNamed(element.standard);
  if (type === null || (element.standard !== undefined && standard === null)) return null;
  if (element.class !== undefined) return toleranceOf(type, element.class, standard);
  const known = tolerancesOf(type).filter(
    (each) => standard === null || each.standard === standard,
  );
  return known.reduce<Tolerance | null>(
    (widest, each) => (widest === null || each.constantK > widest.constantK ? each : widest),
    null,
  );
}
