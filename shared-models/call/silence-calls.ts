import type { About } from '../record/entry.ts';
import type { Wish } from './wish.ts';

/** A load that is in, and the points its verdict needs. */
export interface LoadNeeding {
  load: string;
  station: string;
  lot: string;
  plannedEndMs: number | null;
  points: readonly string[];
  about: About;
}

/** Points that a load in work needs and that have stopped; one call a point, whoever else needs it. */
export function callsOfSilence(
  loads: readonly LoadNeeding[],
  silence: {
    /** Since when a point has been silent [ms]; null while it speaks. */
    sinceMs: (point: string) => number | null;
    /** Whether it could have spoken since the start of the process: before that nothing is known. */
    isKnown: (point: string) => boolean;
  },
): Wish[] {
  const needed = new Map<string, LoadNeeding>();
  for (const load of loads) {
    for (const point of load.points) if (!needed.has(point)) needed.set(point, load);
  }
  return [...needed].map(([point, { load, station, lot, plannedEndMs, about }]): Wish => {
    const sinceMs = silence.sinceMs(point);
    const isTold = sinceMs === null || silence.isKnown(point);
    return {
      kind: 'sensor-silent',
      subject: point,
      plannedMs: null,
      about: { ...about, sensor: point },
      present: isTold ? sinceMs !== null : null,
      raised: { station, load, point, tooLateMs: plannedEndMs, values: { sinceMs, lot } },
    };
  });
}
