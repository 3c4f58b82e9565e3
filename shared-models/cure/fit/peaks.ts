import { exp } from '../../units/exponential.ts';
import { log } from '../../units/logarithm.ts';
import { ABSOLUTE_ZERO_C, GAS_CONSTANT } from '../../units/temperature.ts';
import type { FitWarning } from './fit-warning.ts';
import { straightLine } from './straight-line.ts';

/** Where the rate of a scan is greatest, at a heating rate. */
export interface PeakRow {
  rateKPerMin: number;
  peakC: number;
}

export interface PeaksFit {
  activationEnergyJPerMol: number;
  preExponentialPerS: number;
  /** Of the activation energy [J/mol]; null for two rows. */
  standardError: number | null;
  /** Of ln A [1]; null for two rows. */
  lnPreExponentialStandardError: number | null;
  /** Of ln(β/Tp²), one a row [1]. */
  residuals: number[];
  warnings: FitWarning[];
}

export type PeaksRefusal =
  { code: 'one-rate' } | { code: 'peak-does-not-rise'; activationEnergyJPerMol: number };

/**
 * Activation energy and pre-exponential factor from peak temperatures of scans at several rates.
 *
 *   ln(β/Tp²) = ln(A·R/E) − E/(R·Tp), least squares, β in K/s
 *
 * @param rows two at least, rates > 0
 * @source Kissinger, Anal. Chem. 29 (1957) 1702-1706; ASTM E698
 */
export function fitPeaks(
  rows: readonly PeakRow[],
): { ok: true; fit: PeaksFit } | { ok: false; refusal: PeaksRefusal } {
  const kelvins = rows.map(({ peakC }) => peakC - ABSOLUTE_ZERO_C);
  if (kelvins.every((tempK) => tempK === kelvins[0])) {
    return { ok: false, refusal: { code: 'one-rate' } };
  }
  const line = straightLine(
    kelvins.map((tempK) => -1 / (GAS_CONSTANT * tempK)),
    rows.map(({ rateKPerMin }, i) => log(rateKPerMin / 60 / (kelvins[i]! * kelvins[i]!))),
  );
  if (!(line.slope > 0)) {
    return {
      ok: false,
      refusal: { code: 'peak-does-not-rise', activationEnergyJPerMol: line.slope },
    };
  }
  const warnings: FitWarning[] = [];
  if (rows.length === 2) {
    warnings.push({
      code: 'two-rows',
      text: 'two rates: no test of the law itself. A third rate would tell.',
    });
  }
  return {
    ok: true,
    fit: {
      activationEnergyJPerMol: line.slope,
      preExponentialPerS: (exp(line.intercept) * line.slope) / GAS_CONSTANT,
      standardError: line.slopeStandardError,
      lnPreExponentialStandardError: line.interceptStandardError,
      residuals: line.residuals,
      warnings,
    },
  };
}
