/** Fewer readings say nothing of their noise. */
export const LEAST_READINGS = 12;

export interface StreamNoise {
  /** Standard deviation of one reading about the temperature's own course. */
  standardK: number;
  /** Of that estimate: 18/35 of the differences that went into it. */
  degreesOfFreedom: number;
}

/**
 * Noise of a point from its own readings, whatever the temperature does meanwhile: second differences
 * cancel a level and a steady rise or fall, and have six times the variance of one reading.
 *
 *   σ² = Σ (x[i−1] − 2·x[i] + x[i+1])² / (6·(n − 2))
 *
 * @param valuesC successive readings, evenly spaced, without gaps
 * @returns null for fewer than LEAST_READINGS
 * @source differencing after J. von Neumann et al., Ann. Math. Stat. 12 (1941) 153-162; the degrees of
 * freedom follow from the differences' correlations −2/3 and 1/6
 */
export function streamNoise(valuesC: readonly number[]): StreamNoise | null {
  const differences = valuesC.length - 2;
  if (valuesC.length < LEAST_READINGS) return null;
  let sum = 0;
  for (let i = 1; i <= differences; i++) {
    const second = valuesC[i - 1]! - 2 * valuesC[i]! + valuesC[i + 1]!;
    sum += second * second;
  }
  return {
    standardK: Math.sqrt(sum / (6 * differences)),
    degreesOfFreedom: (differences * 18) / 35,
  };
}
