import { median } from 'simple-statistics';
import type { HeatUp } from './heat-up.ts';
import { likeHeatUps } from './usual-curve.ts';

/** Before so much of the usual way is behind it, today's pace is not told from its beginning [min]. */
const leastPaceMin = 5;
/** A pace beyond these is a heat-up of another kind, not a slow one [1]. */
const paceLeast = 0.5;
const paceMost = 3;
const minuteMs = 60_000;

/** A face on its way, its newest reading [ms, °C], and its heat-ups of before. */
export interface FaceHeating {
  now: HeatUp;
  newest: { t: number; c: number };
  past: readonly HeatUp[];
}

/**
 * When a station will be ready [ms]: with its last face. What each has left is what was left in its
 * heat-ups of like start from the same temperature on, at today's pace; the middle one of them counts.
 *
 *   left = (M − m(T)) · t / m(T)
 *
 * M minutes to ready of an earlier heat-up, m(T) those until it passed today's temperature T, t today's
 * minutes until then.
 *
 * @param faces of one station, those under way that are not ready
 * @returns null where there is none, or one has fewer than ten heat-ups to tell by
 */
export function readyForecast(faces: readonly FaceHeating[]): number | null {
  const each = faces.map(faceReadyMs);
  const known = each.filter((ms) => ms !== null);
  return known.length === 0 || known.length < each.length ? null : Math.max(...known);
}

function faceReadyMs({ now, newest, past }: FaceHeating): number | null {
  const alike = likeHeatUps(past, now.startC);
  const todayMin = (newest.t - now.startMs) / minuteMs;
  const left = alike.flatMap((before) => {
    const whole = ((before.readyMs ?? before.startMs) - before.startMs) / minuteMs;
    const passed = Math.min(whole, passedMin(before.curveC, newest.c) ?? whole);
    const pace = passed < leastPaceMin ? 1 : todayMin / passed;
    return [(whole - passed) * Math.min(paceMost, Math.max(paceLeast, pace))];
  });
  return left.length === 0 ? null : newest.t + median(left) * minuteMs;
}

/** When a heat-up passed a temperature, between the minutes beside it; null where it never did. */
function passedMin(curveC: readonly (number | null)[], c: number): number | null {
  let before: { minute: number; c: number } | null = null;
  for (const [minute, here] of curveC.entries()) {
    if (here === null) continue;
    if (here >= c) {
      if (before === null) return 0;
      return before.minute + ((c - before.c) / (here - before.c)) * (minute - before.minute);
    }
    before = { minute, c: here };
  }
  return null;
}
