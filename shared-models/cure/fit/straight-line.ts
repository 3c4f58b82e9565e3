/** y = intercept + slope·x through points, by least squares. */
export interface StraightLine {
  slope: number;
  intercept: number;
  /** Null for two points: they lie on any line, and test nothing. */
  slopeStandardError: number | null;
  interceptStandardError: number | null;
  residuals: number[];
}

/**
 * @throws RangeError for fewer than two different x
 * @source NIST/SEMATECH e-Handbook of Statistical Methods, 4.1.4.1
 */
export function straightLine(x: readonly number[], y: readonly number[]): StraightLine {
  const n = x.length;
  const meanX = x.reduce((sum, value) => sum + value, 0) / n;
  const meanY = y.reduce((sum, value) => sum + value, 0) / n;
  let sxx = 0;
  let sxy = 0;
  for (let i = 0; i < n; i++) {
    sxx += (x[i]! - meanX) * (x[i]! - meanX);
    sxy += (x[i]! - meanX) * (y[i]! - meanY);
  }
  if (!(sxx > 0)) throw new RangeError('a line needs two different x');
  const slope = sxy / sxx;
  const intercept = meanY - slope * meanX;
  const residuals = y.map((value, i) => value - meanY - slope * (x[i]! - meanX));
  const variance = residuals.reduce((sum, value) => sum + value * value, 0) / (n - 2);
  return {
    slope,
    intercept,
    slopeStandardError: n > 2 ? Math.sqrt(variance / sxx) : null,
    interceptStandardError: n > 2 ? Math.sqrt(variance * (1 / n + (meanX * meanX) / sxx)) : null,
    residuals,
  };
}
