import { calibrationInForce, corrected } from '@setwell/shared-models/metrology/calibration';
import { calibrationsKnown, fittedAt, fittingsOf } from '@setwell/shared-models/metrology/fitting';
import type { InstrumentActs } from '@setwell/shared-models/metrology/instrument-acts';
import type { Plant } from '@setwell/shared-models/plant/plant';
import type { SurveyedBy } from '@setwell/shared-models/condition/survey-figures';

const dayMs = 86_400_000;

/** Why a point's samples cannot be corrected; the sample, where it is one of them. */
export interface UncorrectedPoint {
  code: 'unknown-point' | 'no-certificate' | 'outside-calibration';
  found: string;
  expected: string;
  sample: number | null;
}

/** A point's samples corrected by its certificate of the day, and by what. */
export interface CorrectedPoint {
  samplesC: number[];
  by: SurveyedBy;
}

export function isUncorrected(point: CorrectedPoint | UncorrectedPoint): point is UncorrectedPoint {
  return 'code' in point;
}

/**
 * Samples as shown, corrected first: by the certificate of what is fitted at the point on that day.
 *
 * @param day since 1970-01-01 UTC
 */
export function correctedSamples(
  { plant, acts }: { plant: Plant; acts: InstrumentActs },
  point: string,
  samplesC: readonly number[],
  day: number,
): CorrectedPoint | UncorrectedPoint {
  const refused = (
    code: UncorrectedPoint['code'],
    found: string,
    expected: string,
    sample: number | null = null,
  ) => ({ code, found, expected, sample });
  if (!plant.sensors.has(point)) {
    return refused('unknown-point', JSON.stringify(point), 'points of the plant');
  }
  const fitting = fittedAt(fittingsOf(plant, acts).get(point), day * dayMs);
  const calibration =
    fitting === null ? null : calibrationInForce(calibrationsKnown(fitting, day * dayMs), day);
  if (fitting === null || calibration === null) {
    const date = new Date(day * dayMs).toISOString().slice(0, 10);
    const found = `no certificate on ${date}`;
    return refused('no-certificate', found, 'a calibrated sensor at each point');
  }
  const each: number[] = [];
  for (const [sample, indicatedC] of samplesC.entries()) {
    const answer = corrected({ kind: 'indicated', indicatedC }, calibration);
    if (answer.kind !== 'corrected') {
      const rows = calibration.points;
      const range = `${rows[0]?.atC ?? ''} to ${rows.at(-1)?.atC ?? ''} °C`;
      const expected = `inside the calibrated range of ${calibration.certificate}, ${range}`;
      return refused('outside-calibration', `${indicatedC} °C`, expected, sample);
    }
    each.push(answer.correctedC);
  }
  const observedC = meanOf(samplesC);
  const { certificate } = calibration;
  const by = { point, instrument: fitting.instrument.id, certificate };
  return { samplesC: each, by: { ...by, correctionK: meanOf(each) - observedC, observedC } };
}

function meanOf(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}
