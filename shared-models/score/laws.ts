import { createLaw } from '../cure/create-law.ts';
import type { LawSpec } from '../cure/law-spec.ts';
import type { Law } from '../cure/law.ts';

/** One recipe's law as each kind of run applies it. */
export interface RunLaws {
  /** Earns nothing under the floor or outside the range its source vouches for. */
  low: Law;
  nominal: Law;
  /** Earns everything over the floor. */
  high: Law;
  /** While the high temperature is above it the low end earns nothing [°C]; `Infinity`: no such limit. */
  ceilingC: number;
}

export function runLaws(spec: LawSpec): RunLaws {
  const [leastC, mostC] = spec.validC ?? [-Infinity, Infinity];
  const floorC = Math.max(spec.floorC ?? -Infinity, leastC);
  const ceilingC = Math.min(spec.ceilingC ?? Infinity, mostC);
  return {
    low: createLaw({
      ...spec,
      floorC: floorC === -Infinity ? undefined : floorC,
      ceilingC: ceilingC === Infinity ? undefined : ceilingC,
    }),
    nominal: createLaw(spec),
    high: createLaw({ ...spec, ceilingC: undefined }),
    ceilingC,
  };
}
