/** One measured speed or size beside a baseline measured in the same run: ratios carry over, digits do not. */
export interface BenchRow {
  /** What was measured: `heat, 13 plies, 25 min`. */
  name: string;
  /** What it is held against: `SciPy LSODA, banded, equal error`, or `limit`. */
  baseline: string;
  /** Ours over the baseline, so that more is better; null where the baseline is not on this machine. */
  ratio: number | null;
  /** What the ratio should be at least. */
  aim: number;
  /** Ours: the median of the runs. */
  value: number;
  unit: string;
  /** Ours, run by run. */
  runs: number[];
}

export function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  const middle = Math.floor(sorted.length / 2);
  const upper = sorted[middle];
  const lower = sorted[sorted.length - 1 - middle];
  if (upper === undefined || lower === undefined) throw new RangeError('no values');
  return (lower + upper) / 2;
}

/** A row that is held against a limit: the less, the better. */
export function underLimit(name: string, limit: number, unit: string, runs: number[]): BenchRow {
  const value = median(runs);
  return {
    name,
    baseline: `limit: ${String(limit)} ${unit}`,
    ratio: limit / value,
    aim: 1,
    value,
    unit,
    runs,
  };
}
