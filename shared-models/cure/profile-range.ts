import type { LawSpec } from './law-spec.ts';

/** Time a profile spends outside a law's own limits. */
export interface RangeLeft {
  limit: 'validC' | 'floorC' | 'ceilingC';
  side: 'below' | 'above';
  limitC: number;
  seconds: number;
}

/**
 * How long a profile, linear between its rows, lies below a law's floor, above its ceiling, or
 * outside the range its source vouches for.
 *
 * @param timesS ascending [s]
 * @param tempsC one a time
 */
export function rangesLeft(
  spec: LawSpec,
  timesS: readonly number[],
  tempsC: readonly number[],
): RangeLeft[] {
  const limits: Omit<RangeLeft, 'seconds'>[] = [];
  const { validC, floorC, ceilingC } = spec;
  if (floorC !== undefined) limits.push({ limit: 'floorC', side: 'below', limitC: floorC });
  if (ceilingC !== undefined) limits.push({ limit: 'ceilingC', side: 'above', limitC: ceilingC });
  if (validC !== undefined) {
    limits.push({ limit: 'validC', side: 'below', limitC: validC[0] });
    limits.push({ limit: 'validC', side: 'above', limitC: validC[1] });
  }
  return limits
    .map((limit) => ({ ...limit, seconds: secondsPast(limit, timesS, tempsC) }))
    .filter(({ seconds }) => seconds > 0);
}

function secondsPast(
  { side, limitC }: Pick<RangeLeft, 'side' | 'limitC'>,
  timesS: readonly number[],
  tempsC: readonly number[],
): number {
  const sign = side === 'above' ? 1 : -1;
  let seconds = 0;
  for (let i = 1; i < timesS.length; i++) {
    const from = sign * (tempsC[i - 1]! - limitC);
    const to = sign * (tempsC[i]! - limitC);
    const share =
      from > 0 && to > 0 ? 1 : from <= 0 && to <= 0 ? 0 : Math.max(from, to) / Math.abs(to - from);
    seconds += share * (timesS[i]! - timesS[i - 1]!);
  }
  return seconds;
}
