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

/** Spacings that differ by no more than this share count as even. */
const EVEN_SHARE = 0.25;

/**
 * The same from readings as they came: wherever three of them are evenly spaced, at the usual spacing
 * or closer.
 *
 * @param timesMs ascending, as many as values
 * @returns the standard deviation [K]; null for fewer than LEAST_READINGS in such places
 */
export function noiseOfReadings(
  timesMs: readonly number[],
  valuesC: readonly number[],
): number | null {
  const spacings = timesMs.slice(1).map((t, i) => t - timesMs[i]!);
  const usualMs = [...spacings].sort((a, b) => a - b)[Math.floor(spacings.length / 2)] ?? 0;
  const isEven = (ms: number) => ms > 0 && ms <= usualMs * (1 + EVEN_SHARE);
  let sum = 0;
  let differences = 0;
  for (let i = 1; i < spacings.length; i++) {
    const before = spacings[i - 1]!;
    const after = spacings[i]!;
    const apart = Math.abs(after - before);
    if (!isEven(before) || !isEven(after) || apart > EVEN_SHARE * usualMs) continue;
    // About the line through its neighbours, which need not be quite as far away.
    const share = before / (before + after);
    const off = valuesC[i]! - valuesC[i - 1]! - share * (valuesC[i + 1]! - valuesC[i - 1]!);
    sum += (off * off) / (1 + share * share + (1 - share) * (1 - share));
    differences += 1;
  }
  return differences < LEAST_READINGS - 2 ? null : Math.sqrt(sum / differences);
}
