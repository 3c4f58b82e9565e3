import type { Law } from './law.ts';

/**
 * State after a profile that is linear between its rows.
 *
 * The grid is the rows: a segment is always integrated whole between two neighbouring rows. Splitting
 * the list of rows (the last row of one part is the first of the next) therefore does the same
 * operations in the same order and gives the same bytes. Cutting a segment in two gives the same
 * value within the law's stated error, not the same bytes: whoever needs bytes keeps the rows.
 *
 * @param timesS ascending [s]
 * @param temps one a time [°C] (dose: irradiance [mW/cm²])
 * @param state where the fold starts; the law's own initial state by default
 */
export function foldProfile(
  law: Law,
  timesS: readonly number[],
  temps: readonly number[],
  state: number = law.initial,
): number {
  let folded = state;
  for (let i = 1; i < timesS.length; i++) {
    folded = law.advance(folded, temps[i - 1]!, temps[i]!, timesS[i]! - timesS[i - 1]!);
  }
  return folded;
}
