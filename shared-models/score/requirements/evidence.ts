import type { LoadFold } from '../fold.ts';
import type { Mark, ScoredEvent, ScoreInput } from '../shape.ts';
import type { Known } from './check.ts';

/** What a load's requirements are held against. */
export interface Evidence {
  input: ScoreInput;
  fold: LoadFold;
}

export function eventsOf({ input }: Evidence, ...kinds: ScoredEvent['event'][]): ScoredEvent[] {
  return (input.events ?? []).filter(({ event }) => kinds.includes(event));
}

/** How long from one mark to another [ms], by both their doubts. */
export function between(from: Mark, to: Mark): Known {
  return {
    low: to.earliestMs - from.latestMs,
    high: to.latestMs - from.earliestMs,
    atMs: to.latestMs,
  };
}

export function inUnitOf({ low, high, atMs }: Known, msPerUnit: number): Known {
  return { low: low / msPerUnit, high: high / msPerUnit, atMs };
}

/** The longest of several times, by its end. */
export function longest(times: readonly Known[]): Known | null {
  let found: Known | null = null;
  for (const time of times) if (found === null || time.high > found.high) found = time;
  return found;
}

/** The first, or the last, that was said. */
export function firstOf(events: readonly ScoredEvent[]): ScoredEvent | null {
  let found: ScoredEvent | null = null;
  for (const event of events)
    if (found === null || event.earliestMs < found.earliestMs) found = event;
  return found;
}

export function lastOf(events: readonly ScoredEvent[]): ScoredEvent | null {
  let found: ScoredEvent | null = null;
  for (const event of events) if (found === null || event.latestMs > found.latestMs) found = event;
  return found;
}

/** A number that events carry, each give or take its own expanded uncertainty. */
export function entered(events: readonly ScoredEvent[], name: string, doubtName: string): Known[] {
  return events.flatMap(({ numbers, latestMs }) => {
    const value = numbers[name];
    if (value === undefined) return [];
    const doubt = numbers[doubtName] ?? 0;
    return [{ low: value - doubt, high: value + doubt, atMs: latestMs }];
  });
}

/** End of what is judged: of pressure, else of the load, else now. */
export function endMark(input: ScoreInput): Mark {
  const nowMs = input.endMs ?? input.asOfMs;
  return input.marks.releaseStart ?? { earliestMs: nowMs, latestMs: nowMs };
}
