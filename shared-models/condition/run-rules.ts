import type { Baseline } from './baseline.ts';

/** `of` among the last `among` cycles lie beyond `beyondSigma`, all on one side. */
export interface RunRule {
  rule: 1 | 2 | 3 | 4;
  of: number;
  among: number;
  beyondSigma: number;
}

/**
 * With all four, steady data break one about every 92 cycles; with the first alone, every 370.
 *
 * @source NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2 (Western Electric rules)
 */
export const runRules: readonly RunRule[] = [
  { rule: 1, of: 1, among: 1, beyondSigma: 3 },
  { rule: 2, of: 2, among: 3, beyondSigma: 2 },
  { rule: 3, of: 4, among: 5, beyondSigma: 1 },
  { rule: 4, of: 8, among: 8, beyondSigma: 0 },
];

export interface BrokenRule {
  /** Row of the cycle that completed it, from 0. */
  row: number;
  rule: RunRule['rule'];
  side: 'high' | 'low';
}

/**
 * Where a feature breaks the run rules. A rule that goes on being broken is told once, at the cycle
 * that broke it. A value exactly at the target is on no side.
 */
export function brokenRules(
  values: readonly number[],
  { target, sigma }: Baseline,
  rules: readonly RunRule[] = runRules,
): BrokenRule[] {
  const broken: BrokenRule[] = [];
  for (const { rule, of, among, beyondSigma } of rules) {
    for (const side of ['high', 'low'] as const) {
      const sign = side === 'high' ? 1 : -1;
      const beyond = values.map((value) => sign * (value - target) > beyondSigma * sigma);
      let count = 0;
      let before = false;
      beyond.forEach((each, row) => {
        if (each) count++;
        if (row >= among && beyond[row - among]) count--;
        const now = count >= of;
        if (now && !before) broken.push({ row, rule, side });
        before = now;
      });
    }
  }
  return broken.sort((a, b) => a.row - b.row || a.rule - b.rule);
}
