import { quantile } from 'simple-statistics';
import type { HeatUp } from './heat-up.ts';

/** Heat-ups that began within so much of each other are alike [K], unless there are too few. */
const likeStartK = 4;
const mostHeatUps = 60;
const leastHeatUps = 10;

export interface UsualCurve {
  /** By minute from the start [°C]. */
  lowC: number[];
  highC: number[];
  heatUps: number;
  startLowC: number;
  startHighC: number;
}

/**
 * The newest whole heat-ups that began alike; of any start where too few did.
 *
 * @returns none for fewer than 10
 */
export function likeHeatUps(past: readonly HeatUp[], startC: number): HeatUp[] {
  const whole = past.filter(({ readyMs, interrupted }) => readyMs !== null && interrupted === null);
  const alike = whole.filter((each) => Math.abs(each.startC - startC) <= likeStartK);
  const taken = (alike.length >= leastHeatUps ? alike : whole).slice(-mostHeatUps);
  return taken.length < leastHeatUps ? [] : taken;
}

/**
 * Where 8 of 10 heat-ups of like start lay, minute by minute.
 *
 * @param past whole heat-ups of one face, in order of time, without the one that is compared
 * @param startC of that one
 * @returns null for fewer than 10
 */
export function usualCurve(past: readonly HeatUp[], startC: number): UsualCurve | null {
  const taken = likeHeatUps(past, startC);
  if (taken.length === 0) return null;
  const minutes = Math.min(...taken.map(({ curveC }) => curveC.length));
  const at = (minute: number, share: number) =>
    quantile(
      taken.map(({ curveC, startC: from }) => curveC[minute] ?? filled(curveC, minute) ?? from),
      share,
    );
  const every = Array.from({ length: minutes }, (_, minute) => minute);
  const startsC = taken.map((each) => each.startC);
  return {
    lowC: every.map((minute) => at(minute, 0.1)),
    highC: every.map((minute) => at(minute, 0.9)),
    heatUps: taken.length,
    startLowC: Math.min(...startsC),
    startHighC: Math.max(...startsC),
  };
}

/** Between the readings beside a minute that has none. */
function filled(curveC: readonly (number | null)[], minute: number): number | null {
  let before = minute;
  let after = minute;
  while (before >= 0 && curveC[before] == null) before--;
  while (after < curveC.length && curveC[after] == null) after++;
  const a = curveC[before];
  const b = curveC[after];
  if (a == null || b == null) return a ?? b ?? null;
  return a + ((minute - before) / (after - before)) * (b - a);
}
