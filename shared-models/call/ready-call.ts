import type { StationFacts } from './station-calls.ts';
import type { Wish } from './wish.ts';

/** A station that heats up, as far as it can be told when it will be ready. */
export interface HeatingFacts extends Pick<StationFacts, 'station' | 'nowMs' | 'condition'> {
  heatUp: {
    startMs: number;
    /** The face that is expected to be ready last. */
    lastPoint: string | null;
    /** At today's pace [ms]; null where too little is known. */
    expectedReadyMs: number | null;
    /** As after other starts like this one [ms]; null where too little is known. */
    usuallyReadyMs: number | null;
  } | null;
  /** First start of a shift after the heat-up began [ms]; null where one ran then, or none is known. */
  shiftStartMs: number | null;
  /** Somebody is called already: let go only when it will be in time again. */
  up: boolean;
}

/** So much later than planned needs nobody: the first load is laid up meanwhile [ms]. */
const graceMs = 5 * 60_000;

/**
 * Somebody is called when a station will be ready more than five minutes later than planned.
 *
 * Planned is what it usually takes from such a start, or the first shift after it where that comes later:
 * heat that nobody waits for yet is not late, nor is a heat-up that was begun late and goes as always.
 */
export function callOfReady(facts: HeatingFacts): Wish {
  const { station, heatUp, nowMs, shiftStartMs } = facts;
  const { startMs = null, lastPoint = null, expectedReadyMs = null } = heatUp ?? {};
  const usuallyMs = heatUp?.usuallyReadyMs ?? null;
  const plannedMs = usuallyMs === null ? null : Math.max(usuallyMs, shiftStartMs ?? -Infinity);
  const readyMs = expectedReadyMs === null ? null : Math.max(expectedReadyMs, nowMs);
  const lateMs = plannedMs === null || readyMs === null ? null : readyMs - plannedMs;
  return {
    kind: 'ready-late',
    subject: station,
    plannedMs: null,
    about: { station, ...(lastPoint === null ? {} : { sensor: lastPoint }) },
    present: isLate(facts, lateMs),
    raised: {
      station,
      load: null,
      point: lastPoint,
      tooLateMs: plannedMs,
      values: {
        heatingSinceMs: startMs,
        readyMs,
        usuallyReadyMs: usuallyMs,
        lateMin: lateMs === null ? null : lateMinutes(lateMs),
      },
      evidence:
        lastPoint === null || startMs === null
          ? []
          : [{ what: 'readings', point: lastPoint, fromMs: startMs, toMs: nowMs }],
    },
  };
}

/** As people say it [min]; as the Heat-up screen rounds it. */
export function lateMinutes(lateMs: number): number {
  return Math.max(1, Math.round(lateMs / 60_000));
}

function isLate({ condition, up }: HeatingFacts, lateMs: number | null): boolean | null {
  switch (condition) {
    case 'heating':
      return lateMs === null ? null : lateMs > (up ? 0 : graceMs);
    case 'no-readings':
      return null;
    case 'cold':
    case 'empty':
    case 'loaded':
      return false;
  }
}
