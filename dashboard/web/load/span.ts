import type { Span } from './plot.ts';

/** Nothing happens faster than this to a load: there is no more to see in less [ms]. */
const leastMs = 30_000;
/** One press shows half as much, or twice. */
const zoomFactor = 2;
/** One press goes on by so much of what is seen. */
const moveShare = 0.5;

export interface Whole {
  fromMs: number;
  toMs: number;
}

/** A span within a load; null where it would be all of it. */
function within(whole: Whole, fromMs: number, toMs: number): Span {
  const width = Math.max(leastMs, toMs - fromMs);
  if (width >= whole.toMs - whole.fromMs) return null;
  const from = Math.min(Math.max(whole.fromMs, fromMs), whole.toMs - width);
  return { fromMs: Math.round(from), toMs: Math.round(from + width) };
}

/** Nearer, about a time that stays where it is. */
export function nearer(whole: Whole, span: Span, aboutMs: number): Span {
  return scaled(whole, span, aboutMs, 1 / zoomFactor);
}

export function farther(whole: Whole, span: Span, aboutMs: number): Span {
  return scaled(whole, span, aboutMs, zoomFactor);
}

function scaled(whole: Whole, span: Span, aboutMs: number, factor: number): Span {
  const { fromMs, toMs } = span ?? whole;
  const about = Math.min(Math.max(aboutMs, fromMs), toMs);
  return within(whole, about - (about - fromMs) * factor, about + (toMs - about) * factor);
}

/** Earlier (-1) or later (1) by half of what is seen. */
export function moved(whole: Whole, span: Span, way: -1 | 1): Span {
  if (span === null) return null;
  const by = way * moveShare * (span.toMs - span.fromMs);
  return within(whole, span.fromMs + by, span.toMs + by);
}

/** From one minute of the load to another, as typed; what makes no span leaves it as it was. */
export function typed(whole: Whole, span: Span, fromMin: number, toMin: number): Span {
  if (!Number.isFinite(fromMin) || !Number.isFinite(toMin) || toMin <= fromMin) return span;
  return within(whole, whole.fromMs + fromMin * 60_000, whole.fromMs + toMin * 60_000);
}
