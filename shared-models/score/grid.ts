import type { StationKind } from '../plant/plant-schema.ts';

/** Step of the fixed grid [s]: a hundredth or less of the shortest thing that happens at the kind. */
const STEP_S: Record<StationKind, number> = { press: 1, bench: 1, oven: 5, rack: 60, store: 600 };

export function stepSecondsOf(kind: StationKind): number {
  return STEP_S[kind];
}

/** Steps of a fixed grid from a start to an end; the last may be shorter. */
export interface Grid {
  startMs: number;
  endMs: number;
  stepMs: number;
  steps: number;
}

export function gridOf(startMs: number, endMs: number, stepS: number): Grid {
  const stepMs = stepS * 1000;
  return { startMs, endMs, stepMs, steps: Math.max(0, Math.ceil((endMs - startMs) / stepMs)) };
}

/** Time at the end of so many steps [ms]. */
export function gridTimeMs({ startMs, endMs, stepMs }: Grid, steps: number): number {
  return Math.min(startMs + steps * stepMs, Math.max(startMs, endMs));
}
