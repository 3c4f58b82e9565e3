import { createLaw } from '../cure/create-law.ts';
import type { LawSpec } from '../cure/law-spec.ts';
import type { Law } from '../cure/law.ts';

/** One recipe's law as each kind of run applies it. */
export interface RunLaws {
  /** Earns nothing under the floor or below the range its source vouches for. */
  low: Law;
  nominal: Law;
  /** Earns everything over the floor. */
  high: Law;
  /**
   * While the high temperature is above it the low end earns nothing [°C]; `Infinity`: no such limit.
   * It is asked of the high run: asked of the low one, a colder low could earn more.
   */
  ceilingC: number;
  /** Whether the low (the high) law may earn other than the nominal one. */
  safe: { low: boolean; high: boolean };
  /** Expanded doubt (k = 2) by the errors of the constants, a share of 1. */
  ofConstants: number;
}

export function runLaws(spec: LawSpec, ofConstants = 0): RunLaws {
  const [leastC, mostC] = spec.validC ?? [-Infinity, Infinity];
  const floorC = Math.max(spec.floorC ?? -Infinity, leastC);
  return {
    low: createLaw({
      ...spec,
      floorC: floorC === -Infinity ? undefined : floorC,
      ceilingC: undefined,
    }),
    nominal: createLaw(spec),
    high: createLaw({ ...spec, ceilingC: undefined }),
    ceilingC: Math.min(spec.ceilingC ?? Infinity, mostC),
    safe: {
      low: spec.validC !== undefined || spec.ceilingC !== undefined,
      high: spec.ceilingC !== undefined,
    },
    ofConstants,
  };
}
