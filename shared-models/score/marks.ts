import { stepSecondsOf } from './grid.ts';
import type { Mark, ScoreInput } from './shape.ts';

/** When a run's piece is heated and when that counts [ms]; `Infinity` while the load is open. */
export interface Credit {
  /** On the grid. */
  heatFromMs: number;
  /** End of precure: pressure is on. */
  pressureMs: number;
  fromMs: number;
  toMs: number;
}

/** First time anything may have touched the piece [ms]: the grid begins there. */
export function gridStartMs({ marks, startMs }: ScoreInput): number {
  return marks.contact === null ? startMs : Math.min(startMs, marks.contact.earliestMs);
}

/** Last time heat is followed to [ms]: a line that is still shut goes on taking heat. */
export function gridEndMs({ endMs, asOfMs, marks }: ScoreInput): number {
  return endMs === null ? asOfMs : Math.max(endMs, marks.open?.latestMs ?? endMs);
}

/**
 * What counts in a run.
 *
 * Cure is credited from pressure-on to release-start, and the doubt of both marks is taken against
 * the low run and for the high one. Heat before pressure and after release never proves; it counts
 * for the high run, because it can over-cure.
 */
export function creditOf(input: ScoreInput, direction: -1 | 0 | 1): Credit {
  const { contact, pressureOn, releaseStart } = input.marks;
  const startMs = gridStartMs(input);
  const stepMs = stepSecondsOf(input.station.kind) * 1000;
  const steps = (timeOf(contact ?? pressureOn, -direction) - startMs) / stepMs;
  const heatFromMs =
    startMs +
    stepMs * (direction < 0 ? Math.ceil(steps) : Math.floor(steps + (direction > 0 ? 0 : 0.5)));
  const pressureMs = contact === null ? heatFromMs : timeOf(pressureOn, direction);
  if (direction > 0) return { heatFromMs, pressureMs, fromMs: heatFromMs, toMs: Infinity };
  return {
    heatFromMs,
    pressureMs,
    fromMs: timeOf(pressureOn, -direction),
    toMs: releaseStart === null ? Infinity : timeOf(releaseStart, direction),
  };
}

export function sameCredit(a: Credit, b: Credit): boolean {
  return a.heatFromMs === b.heatFromMs && a.fromMs === b.fromMs && a.toMs === b.toMs;
}

/** A mark's latest (1), earliest (−1) or middle time [ms]. */
function timeOf({ earliestMs, latestMs }: Mark, end: number): number {
  if (end === 0) return 0.5 * (earliestMs + latestMs);
  return end > 0 ? latestMs : earliestMs;
}
