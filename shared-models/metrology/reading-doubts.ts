import type { Calibration } from '../plant/plant-schema.ts';
import { resolutionDoubt } from './budget.ts';
import type { Doubt } from './budget.ts';
import { calibrationInForce, corrected } from './calibration.ts';
import { driftHalfWidthK, dueState, ownDriftKPerYear } from './drift.ts';
import type { Indicated } from './signal.ts';
import type { StreamNoise } from './stream-noise.ts';
import { toleranceK } from './tolerance.ts';
import type { Tolerance } from './tolerance.ts';

/** What is known of a point and the instrument fitted there when a reading was taken. */
export interface ReadingFacts {
  /** Days since 1970-01-01. */
  day: number;
  calibrations: readonly Calibration[];
  /** Days after its due date on which a certificate still counts. */
  graceDays: number;
  /** Of the element's class; null where it is not known. */
  tolerance: Tolerance | null;
  resolutionK: number;
  /** Half-widths: how far the instrument may be from what it touches, and the point from its zone. */
  seatK: number;
  placeK: number;
  /** Null where it averages out, as over a load, or is not known. */
  noise: StreamNoise | null;
}

/** What a reading is worth: its temperature with every doubt, or why it proves nothing. */
export type DoubtedReading =
  | { kind: 'bounded'; tempC: number; doubts: Doubt[] }
  | {
      kind: 'unproven';
      because: 'outside-calibration' | 'grace-over' | 'drift-unknown' | 'tolerance-unknown';
    };

/**
 * A reading with its rows for an uncertainty budget.
 *
 * Calibrated: corrected, with the certificate's doubt and the drift since. Not calibrated: as shown, with
 * the tolerance of its class in place of both.
 */
export function doubtedReading(reading: Indicated, facts: ReadingFacts): DoubtedReading {
  const { day, tolerance } = facts;
  const calibration = calibrationInForce(facts.calibrations, day);
  const classK = tolerance === null ? null : toleranceK(tolerance, reading.indicatedC);
  const answer = corrected(reading, calibration);
  if (answer.kind === 'outside-calibration') return { kind: 'unproven', because: answer.kind };
  if (answer.kind === 'uncalibrated' || calibration === null) {
    if (classK === null) return { kind: 'unproven', because: 'tolerance-unknown' };
    const own = bounded('tolerance', classK);
    return { kind: 'bounded', tempC: reading.indicatedC, doubts: [...own, ...common(facts)] };
  }
  if (dueState(calibration, day, facts.graceDays).state === 'grace-over') {
    return { kind: 'unproven', because: 'grace-over' };
  }
  const made = facts.calibrations.filter((each) => each.date <= calibration.date);
  const driftK = driftHalfWidthK(calibration, day, ownDriftKPerYear(made), classK);
  if (driftK === null) return { kind: 'unproven', because: 'drift-unknown' };
  const certificate: Doubt = {
    source: 'calibration',
    distribution: 'normal',
    expandedK: answer.expandedK,
    k: 2,
  };
  return {
    kind: 'bounded',
    tempC: answer.correctedC,
    doubts: [certificate, ...bounded('drift', driftK), ...common(facts)],
  };
}

function common({ resolutionK, seatK, placeK, noise }: ReadingFacts): Doubt[] {
  return [
    ...(resolutionK > 0 ? [resolutionDoubt(resolutionK)] : []),
    ...bounded('seat', seatK),
    ...bounded('place', placeK),
    ...(noise === null ? [] : [{ source: 'noise', distribution: 'observed', ...noise } as const]),
  ];
}

/** No row for a doubt there is not. */
function bounded(source: Doubt['source'], halfWidthK: number): Doubt[] {
  return halfWidthK > 0 ? [{ source, distribution: 'rectangular', halfWidthK }] : [];
}
