import { exp } from '../../units/exponential.ts';
import { log } from '../../units/logarithm.ts';
import { ABSOLUTE_ZERO_C, GAS_CONSTANT } from '../../units/temperature.ts';
import type { EquivalentTime } from '../law-spec.ts';
import type { FitWarning } from './fit-warning.ts';
import { straightLine } from './straight-line.ts';

/** A row of a cure schedule: so long at this temperature cures as well as any other row. */
export interface ScheduleRow {
  tempC: number;
  minutes: number;
}

export interface ScheduleFit {
  activationEnergyJPerMol: number;
  /** Of the activation energy [J/mol]; null for two rows. */
  standardError: number | null;
  referenceC: number;
  minutesAtReference: number;
  minutesStandardError: number | null;
  /** ln(minutes / minutes of the law) of each row [1]: 0.01 is one per cent longer. */
  residuals: number[];
  /** Every activation energy whose minutes would be printed like these [J/mol]; null where none is. */
  allowedByRounding: { printedToMin: number; low: number; high: number } | null;
  /** Of activation energy [J/mol] and ln(minutes at reference) [1]; null for two rows. */
  covariance: [[number, number], [number, number]] | null;
  law: EquivalentTime;
  warnings: FitWarning[];
}

/** Rows that no law of this kind can have made. */
export type ScheduleRefusal =
  | { code: 'one-temperature'; rows: number[] }
  | { code: 'contradictory-rows'; rows: [hotter: number, colder: number] }
  | { code: 'rate-does-not-rise'; activationEnergyJPerMol: number };

/**
 * Activation energy and time at a reference temperature from equally cured rows.
 *
 *   ln t = ln t_ref + (E/R)·(1/T − 1/T_ref), least squares in ln t
 *
 * The reference is the harmonic mean of the rows' kelvin unless given: there E and t_ref are not
 * correlated. Minutes are printed rounded, and the range of E that the rounding allows is the
 * doubt that the residuals of a short table cannot show.
 *
 * @param rows two at least, minutes > 0
 * @param printedToMin rounding of the minutes; by default the last decimal that any row uses
 * @source ASTM C1074-19, A1 (activation energy from times of equal maturity); the printed rounding by
 * the pairwise condition for a line through intervals
 */
// Longer than the limit because each refusal stands beside the sum that it guards.
export function fitSchedule(
  rows: readonly ScheduleRow[],
  {
    referenceC,
    printedToMin,
  }: { referenceC?: number | undefined; printedToMin?: number | undefined } = {},
): { ok: true; fit: ScheduleFit } | { ok: false; refusal: ScheduleRefusal } {
  const kelvins = rows.map(({ tempC }) => tempC - ABSOLUTE_ZERO_C);
  const coldestC = Math.min(...rows.map(({ tempC }) => tempC));
  const hottestC = Math.max(...rows.map(({ tempC }) => tempC));
  if (coldestC === hottestC) {
    return { ok: false, refusal: { code: 'one-temperature', rows: rows.map((_, i) => i) } };
  }
  for (let hotter = 0; hotter < rows.length; hotter++) {
    for (let colder = 0; colder < rows.length; colder++) {
      if (
        rows[hotter]!.tempC > rows[colder]!.tempC &&
        rows[hotter]!.minutes > rows[colder]!.minutes
      ) {
        return { ok: false, refusal: { code: 'contradictory-rows', rows: [hotter, colder] } };
      }
    }
  }
  const harmonicK = rows.length / kelvins.reduce((sum, tempK) => sum + 1 / tempK, 0);
  const referenceK = referenceC === undefined ? harmonicK : referenceC - ABSOLUTE_ZERO_C;
  const x = kelvins.map((tempK) => (1 / tempK - 1 / referenceK) / GAS_CONSTANT);
  const line = straightLine(
    x,
    rows.map(({ minutes }) => log(minutes)),
  );
  if (!(line.slope > 0)) {
    return {
      ok: false,
      refusal: { code: 'rate-does-not-rise', activationEnergyJPerMol: line.slope },
    };
  }
  const rounding = printedToMin ?? lastDecimal(rows.map(({ minutes }) => minutes));
  const allowed = energiesAllowed(rows, x, rounding);
  const minutesAtReference = exp(line.intercept);
  const { slopeStandardError, interceptStandardError } = line;
  const meanX = x.reduce((sum, value) => sum + value, 0) / x.length;
  const covariance: ScheduleFit['covariance'] =
    slopeStandardError === null || interceptStandardError === null
      ? null
      : [
          [
            slopeStandardError * slopeStandardError,
            -meanX * slopeStandardError * slopeStandardError,
          ],
          [
            -meanX * slopeStandardError * slopeStandardError,
            interceptStandardError * interceptStandardError,
          ],
        ];
  const fitted = {
    activationEnergyJPerMol: line.slope,
    standardError: slopeStandardError,
    referenceC: referenceC ?? harmonicK + ABSOLUTE_ZERO_C,
    minutesAtReference,
    minutesStandardError:
      interceptStandardError === null ? null : minutesAtReference * interceptStandardError,
    residuals: line.residuals,
    allowedByRounding: allowed,
    covariance,
  };
  return {
    ok: true,
    fit: {
      ...fitted,
      law: {
        form: 'equivalent-time',
        referenceC: fitted.referenceC,
        activationEnergyJPerMol: line.slope,
        validC: [coldestC, hottestC],
        source: `fitted to a schedule of ${rows.length} rows, ${coldestC} to ${hottestC} °C`,
        ...(slopeStandardError === null
          ? {}
          : { standardErrors: { activationEnergyJPerMol: slopeStandardError } }),
        covariance: {
          names: ['activationEnergyJPerMol', 'lnReferenceMin'],
          matrix: covariance ?? covarianceOfRounding(rows, x, rounding),
        },
      },
      warnings: scheduleWarnings(rows.length, [coldestC, hottestC], fitted, rounding),
    },
  };
}

function scheduleWarnings(
  rows: number,
  [coldestC, hottestC]: [number, number],
  fit: Pick<ScheduleFit, 'activationEnergyJPerMol' | 'referenceC' | 'allowedByRounding'>,
  rounding: number,
): FitWarning[] {
  const warnings: FitWarning[] = [];
  const { allowedByRounding: allowed, referenceC } = fit;
  if (rows === 2) {
    warnings.push({
      code: 'two-rows',
      text: 'two rows: no test of the law itself. A third row or a trial would tell.',
    });
  }
  if (allowed === null) {
    warnings.push({
      code: 'rows-off-the-law',
      text: `no activation energy gives all ${rows} rows within their rounding of ${rounding} min: the rows do not follow one Arrhenius law`,
    });
  } else if (allowed.high - allowed.low > 0.1 * fit.activationEnergyJPerMol) {
    warnings.push({
      code: 'rounding',
      text: `minutes printed to ${rounding} min allow ${kilojoules(allowed.low)} to ${kilojoules(allowed.high)} kJ/mol`,
    });
  }
  if (referenceC < coldestC || referenceC > hottestC) {
    warnings.push({
      code: 'reference-outside',
      text: `the reference of ${referenceC} °C lies outside the rows' ${coldestC} to ${hottestC} °C: its minutes are extrapolated`,
    });
  }
  return warnings;
}

/**
 * What is known of two rows' doubt, which leave no residuals: their printed minutes, each anywhere
 * within its rounding.
 *
 * @source JCGM 100:2008, 4.3.7 (half-width a: variance a²/3), 5.1.2
 */
function covarianceOfRounding(
  rows: readonly ScheduleRow[],
  x: readonly number[],
  printedToMin: number,
): [[number, number], [number, number]] {
  const count = rows.length;
  const meanX = x.reduce((sum, value) => sum + value, 0) / count;
  const squares = x.reduce((sum, value) => sum + (value - meanX) * (value - meanX), 0);
  let [ofEnergy, ofBoth, ofMinutes] = [0, 0, 0];
  rows.forEach(({ minutes }, i) => {
    const half = printedToMin / 2 / minutes;
    const variance = (half * half) / 3;
    const perEnergy = (x[i]! - meanX) / squares;
    const perMinutes = 1 / count - meanX * perEnergy;
    ofEnergy += perEnergy * perEnergy * variance;
    ofBoth += perEnergy * perMinutes * variance;
    ofMinutes += perMinutes * perMinutes * variance;
  });
  return [
    [ofEnergy, ofBoth],
    [ofBoth, ofMinutes],
  ];
}

/** Every slope of a line that passes each row between the minutes that round to the printed ones. */
function energiesAllowed(
  rows: readonly ScheduleRow[],
  x: readonly number[],
  printedToMin: number,
): ScheduleFit['allowedByRounding'] {
  const half = printedToMin / 2;
  const lowest = rows.map(({ minutes }) => (minutes > half ? log(minutes - half) : -Infinity));
  const highest = rows.map(({ minutes }) => log(minutes + half));
  let low = 0;
  let high = Infinity;
  for (let i = 0; i < rows.length; i++) {
    for (let j = 0; j < rows.length; j++) {
      const run = x[i]! - x[j]!;
      if (run > 0) {
        low = Math.max(low, (lowest[i]! - highest[j]!) / run);
        high = Math.min(high, (highest[i]! - lowest[j]!) / run);
      } else if (run === 0 && lowest[i]! > highest[j]!) {
        return null;
      }
    }
  }
  return low <= high ? { printedToMin, low, high } : null;
}

/** 1 for whole minutes, 0.1 where a row has one decimal, and so on. */
function lastDecimal(minutes: readonly number[]): number {
  const decimals = Math.max(
    ...minutes.map((value) => (/\.(\d+)$/.exec(String(value))?.[1] ?? '').length),
  );
  let place = 1;
  for (let i = 0; i < decimals; i++) place /= 10;
  return place;
}

function kilojoules(joules: number): string {
  return (joules / 1000).toFixed(0);
}
