import type { Calibration } from '../plant/plant-schema.ts';
import { correctionK } from './calibration.ts';
import { dayOfDate } from './calendar-day.ts';

/** An instrument that came back from calibration further off than it was said to be. */
export interface AsFoundOff {
  /** Where it was farthest off [°C]. */
  atC: number;
  /** What it showed too much there beside what had been corrected [K]; negative: too little. */
  errorK: number;
  /** How many times what both certificates allow; above 1 is out of limits. */
  en: number;
  /** The certificate that had counted until then; null: none, and the nominal value counted. */
  before: { certificate: string; date: string } | null;
}

/**
 * Whether as-found rows are out of limits: E_n above 1 against the certificate that counted before, or,
 * without one, beyond the tolerance of its class.
 *
 *   E_n = |x − x_before| / √(U² + U_before²), both expanded at k = 2
 *
 * @param earlier certificates of the instrument, in any order; the one that came back may be among them
 * @param toleranceK of its class at a temperature; null where no class is known
 * @returns the farthest row; null where all are inside, or nothing was recorded as found
 * @source E_n of ISO/IEC 17043, annex B (from memory)
 */
export function asFoundOff(
  found: Calibration,
  earlier: readonly Calibration[],
  toleranceK: (atC: number) => number | null,
): AsFoundOff | null {
  const before = earlier
    .filter(({ certificate, date }) => certificate !== found.certificate && date <= found.date)
    .sort((a, b) => dayOfDate(a.date) - dayOfDate(b.date))
    .at(-1);
  let farthest: AsFoundOff | null = null;
  for (const { atC, correctionK: isK, expandedK } of found.asFound ?? []) {
    const wasK = before === undefined ? 0 : correctionK(before.points, atC);
    const allowedK = before === undefined ? toleranceK(atC) : expandedAt(before, atC);
    if (wasK === null || allowedK === null) continue;
    const errorK = wasK - isK;
    // A half-width of a class counts as 2a/√3, as everywhere.
    const widthK = before === undefined ? (2 * allowedK) / Math.sqrt(3) : (2 * allowedK) / before.k;
    const en =
      Math.abs(errorK) /
      Math.max(1e-9, Math.sqrt(squared((2 * expandedK) / found.k) + squared(widthK)));
    if (farthest !== null && en <= farthest.en) continue;
    const by = before === undefined ? null : { certificate: before.certificate, date: before.date };
    farthest = { atC, errorK, en, before: by };
  }
  return farthest !== null && farthest.en > 1 ? farthest : null;
}

function squared(x: number): number {
  return x * x;
}

/** The greater of the rows beside a temperature: between two, neither is better. */
function expandedAt({ points }: Calibration, atC: number): number | null {
  const above = points.findIndex((row) => row.atC >= atC);
  if (above < 0) return null;
  const rows = points[above]?.atC === atC ? [points[above]] : [points[above - 1], points[above]];
  return rows.reduce<number | null>((most, row) => Math.max(most ?? 0, row?.expandedK ?? 0), null);
}
