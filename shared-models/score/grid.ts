import type { StationKind } from '../plant/plant-schema.ts';

/** Step of the fixed grid [s]: a hundredth or less of the shortest thing that happens at the kind. */
const STEP_S: Record<StationKind, number> = { press: 1, bench: 1, oven: 5, rack: 60, store: 600 };

export function stepSecondsOf(kind: StationKind): number {
  return STEP_S[kind];
}

/** Times from the start in whole steps up to the end; the last step may be shorter. */
export function gridTimes(startMs: number, endMs: number, stepS: number): Float64Array {
  const spanMs = Math.max(0, endMs - startMs);
  const whole = Math.floor(spanMs / (stepS * 1000));
  const rest = spanMs - whole * stepS * 1000 > 0 ? 1 : 0;
  const times = new Float64Array(whole + 1 + rest);
  for (let i = 0; i <= whole; i += 1) times[i] = startMs + i * stepS * 1000;
  if (rest === 1) times[whole + 1] = endMs;
  return times;
}
