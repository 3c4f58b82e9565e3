import { quantile } from 'simple-statistics';

/** How far one face was below its level after one cold charge. */
export interface Charge {
  point: string;
  /** The closing it came with [ms]. */
  atMs: number;
  /** By half minutes from the charge on [K]; null where nothing was read. */
  belowK: (number | null)[];
}

/** Where 8 of 10 charges lay, half minute by half minute. */
export interface UsualRecovery {
  lowK: number[];
  highK: number[];
  charges: number;
}

const mostCharges = 60;
const leastCharges = 10;

/**
 * The usual way back of one face after a cold charge.
 *
 * @param past charges of the face, in order of time, without the one that is compared
 * @returns null for fewer than 10
 */
export function usualRecovery(past: readonly Charge[]): UsualRecovery | null {
  const taken = past.slice(-mostCharges);
  if (taken.length < leastCharges) return null;
  const halves = Math.max(...taken.map(({ belowK }) => belowK.length));
  const lowK: number[] = [];
  const highK: number[] = [];
  for (let half = 0; half < halves; half++) {
    const known = taken.flatMap(({ belowK }) => belowK[half] ?? []);
    // Those that had come back by then stay where they were; the rest alone would say that nothing ever does.
    const back = taken.flatMap(({ belowK }) =>
      belowK.length <= half ? belowK.filter((k) => k !== null).slice(-1) : [],
    );
    const values = [...known, ...back];
    if (known.length < leastCharges / 2) break;
    lowK.push(quantile(values, 0.1));
    highK.push(quantile(values, 0.9));
  }
  return { lowK, highK, charges: taken.length };
}
