import { barPosition } from '@setwell/shared-models/api/cure-bar';
import type { FloorLoad } from '@setwell/shared-models/api/floor';
import type { Gap, LoadTrace, Window } from '@setwell/shared-models/score/shape';
import { celsiusOf, shownDegrees } from '../degrees.ts';

/** Widths of the drawing [px of its own]: the plots share one time axis, names stand right of "now". */
export interface Plot {
  widthPx: number;
  leftPx: number;
  fromMs: number;
  toMs: number;
}

/** A part of the load's time that is looked at; null: all of it. */
export type Span = { fromMs: number; toMs: number } | null;

export const xOf = (plot: Plot, ms: number): number =>
  plot.leftPx + ((ms - plot.fromMs) / (plot.toMs - plot.fromMs)) * (plot.widthPx - plot.leftPx);

/** The growth picture's upright axis: the cure bar's own, with its kinks, so that nothing jumps. */
export const growthY =
  (window: Window, topPx: number, heightPx: number) =>
  (value: number): number =>
    topPx + heightPx * (1 - barPosition(value, window));

/** Round temperatures for grid lines, 3 to 6 of them, round in the device's degrees [°C]. */
export function gridC(minC: number, maxC: number): number[] {
  const min = shownDegrees(minC);
  const max = shownDegrees(maxC);
  const span = Math.max(1, max - min);
  const step = [1, 2, 5, 10, 20, 40, 50, 100].find((each) => span / each <= 5) ?? 200;
  const lines: number[] = [];
  for (let at = Math.ceil(min / step) * step; at <= max; at += step) lines.push(celsiusOf(at));
  return lines;
}

/** Least and greatest of everything a trace shows [°C], opened to whole tens. */
export function rangeC(trace: LoadTrace): { minC: number; maxC: number } {
  let minC = Infinity;
  let maxC = -Infinity;
  const see = (values: (number | null)[]): void => {
    for (const value of values) {
      if (value === null || !Number.isFinite(value)) continue;
      minC = Math.min(minC, value);
      maxC = Math.max(maxC, value);
    }
  };
  for (const { valuesC, lowC = [], highC = [] } of trace.measuredC) {
    for (const values of [valuesC, lowC, highC]) see(values);
  }
  for (const { lowC, highC } of trace.lines) {
    see(lowC);
    see(highC);
  }
  if (minC > maxC) return { minC: 0, maxC: 100 };
  return { minC: Math.floor((minC - 2) / 10) * 10, maxC: Math.ceil((maxC + 2) / 10) * 10 };
}

/** One hue from light to dark for a share of the range: no rainbow, readable in grey. */
export function hue(share: number): string {
  const u = Math.max(0, Math.min(1, share));
  return `hsl(${210 - 30 * u} ${25 + 35 * u}% ${94 - 66 * u}%)`;
}

/** Times in which some point was silent; what several points missed together is one gap. */
export function silentTimes(gaps: Gap[], untilMs: number): { fromMs: number; toMs: number }[] {
  const times: { fromMs: number; toMs: number }[] = [];
  const sorted = [...gaps].sort((a, b) => a.fromMs - b.fromMs);
  for (const { fromMs, toMs } of sorted) {
    const last = times[times.length - 1];
    const end = toMs ?? untilMs;
    // The pictures may be of a later moment than what is known of the load: that silence has no length yet.
    if (end <= fromMs) continue;
    if (last !== undefined && fromMs <= last.toMs) last.toMs = Math.max(last.toMs, end);
    else times.push({ fromMs, toMs: end });
  }
  return times;
}

/**
 * The axis of all three: what is looked at, else from the start to what comes last: the plan, the proof,
 * or now.
 */
export function plotOf(trace: LoadTrace, load: FloorLoad, widthPx: number, span: Span): Plot {
  if (span !== null) return { widthPx, leftPx, ...span };
  const first = trace.timesMs[0] ?? load.startMs;
  const lastMs = trace.timesMs[trace.timesMs.length - 1] ?? load.asOfMs;
  const fromMs = Math.min(first, load.startMs);
  const ends = [lastMs, load.endMs ?? load.asOfMs];
  if (load.state === 'open') {
    const soFarMs = lastMs - fromMs;
    // A proof days ahead would press the past into a line: shown up to twice the time so far.
    for (const ms of [load.plannedEndMs, load.forecast?.provenAtMs ?? null]) {
      if (ms !== null && ms < lastMs + 2 * soFarMs) ends.push(ms);
    }
  }
  const toMs = Math.max(...ends);
  const isNarrow = widthPx <= 600 || toMs - lastMs >= 0.4 * (toMs - fromMs);
  const roomMs = (toMs - fromMs) * (isNarrow ? 0.06 : 0.22);
  return { widthPx, leftPx, fromMs, toMs: toMs + Math.max(1000, roomMs) };
}

/** Room for the words of the upright axes. */
const leftPx = 64;

/** Index of the time nearest to one [ms]. */
export function nearest(timesMs: number[], ms: number): number {
  let best = 0;
  timesMs.forEach((t, i) => {
    if (Math.abs(t - ms) < Math.abs((timesMs[best] ?? t) - ms)) best = i;
  });
  return best;
}
