/** Doubles that stand for decimals differ from them by less; a sample at the limit is inside [K]. */
const ROUNDING_K = 1e-9;

export interface SurveyedPoint {
  point: string;
  /** Corrected samples of the soak [°C], as many as every other point has, at least one. */
  samplesC: readonly number[];
}

export interface Survey {
  means: { point: string; c: number }[];
  /** Greatest less least mean: the differences that last. */
  uniformityK: number;
  /** Greatest less least sample of all points: those that come and go included. */
  overallSpreadK: number;
  /** Half the range of each point in time. */
  fluctuationK: { point: string; k: number }[];
  /** The sample farthest from the set point, with its sign. */
  worstDeviationK: number;
  worst: { point: string; sample: number };
  /** Every sample within set point ± tolerance. */
  inside: boolean;
}

/**
 * Figures of a temperature survey of a platen or an oven.
 *
 * Samples are corrected first, then judged, and by the sample, not by the mean: one of 125.2 °C in a
 * survey of 120 ± 5 is outside, though every mean is inside.
 *
 * Which points: the four corners and the centre of a platen or 3 × 3, eight corners and the centre of a
 * box (common practice, no source). Every 2 min or oftener, over 30 min of soak or longer (from memory).
 *
 * @throws RangeError for no points, or points with different numbers of samples: a caller's bug
 * @source common core of published pyrometry requirements: uniformity as the spread of means, deviation
 * by the sample (common practice, no source for the letters)
 */
export function survey(
  points: readonly SurveyedPoint[],
  setPointC: number,
  toleranceK: number,
): Survey {
  const samples = points[0]?.samplesC.length ?? 0;
  if (samples === 0 || points.some(({ samplesC }) => samplesC.length !== samples)) {
    throw new RangeError('a survey needs points with as many samples each, at least one');
  }
  const ranges = points.map(({ point, samplesC }) => ({ point, ...rangeOf(samplesC) }));
  const means = ranges.map(({ meanC }) => meanC);
  let worstDeviationK = 0;
  let worst = { point: points[0]!.point, sample: 0 };
  for (let sample = 0; sample < samples; sample++) {
    for (const { point, samplesC } of points) {
      const deviationK = samplesC[sample]! - setPointC;
      if (Math.abs(deviationK) <= Math.abs(worstDeviationK)) continue;
      worstDeviationK = deviationK;
      worst = { point, sample };
    }
  }
  const mostC = Math.max(...ranges.map(({ highC }) => highC));
  const leastC = Math.min(...ranges.map(({ lowC }) => lowC));
  return {
    means: ranges.map(({ point, meanC }) => ({ point, c: meanC })),
    uniformityK: Math.max(...means) - Math.min(...means),
    overallSpreadK: mostC - leastC,
    fluctuationK: ranges.map(({ point, lowC, highC }) => ({ point, k: (highC - lowC) / 2 })),
    worstDeviationK,
    worst,
    inside: Math.abs(worstDeviationK) <= toleranceK + ROUNDING_K,
  };
}

function rangeOf(samplesC: readonly number[]): { lowC: number; highC: number; meanC: number } {
  let lowC = Infinity;
  let highC = -Infinity;
  let sumC = 0;
  for (const sampleC of samplesC) {
    lowC = Math.min(lowC, sampleC);
    highC = Math.max(highC, sampleC);
    sumC += sampleC;
  }
  return { lowC, highC, meanC: sumC / samplesC.length };
}
