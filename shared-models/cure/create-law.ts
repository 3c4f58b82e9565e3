import { degreeTimeLaw } from './degree-time.ts';
import { doseLaw } from './dose.ts';
import { equivalentTimeLaw } from './equivalent-time.ts';
import { kineticLaw } from './kinetic-law.ts';
import { kineticStage } from './kinetic-stage.ts';
import { lawContradictions } from './law-contradictions.ts';
import type { Law } from './law.ts';
import type { LawSpec } from './law-spec.ts';
import { nthOrderLaw } from './n-th-order.ts';
import { withTemperatureLimits } from './temperature-limits.ts';
import { zValueLaw } from './z-value.ts';

/**
 * The law of a recipe or a law file, ready to add up. `validC` is not applied here: what lies outside
 * it is the interval's doubt, and the score makes it floor and ceiling of its low run.
 *
 * @throws RangeError where the constants contradict each other; `lawContradictions` names them first
 */
export function createLaw(spec: LawSpec): Law {
  const [contradiction] = lawContradictions(spec);
  if (contradiction !== undefined) {
    const { path, found, expected } = contradiction;
    throw new RangeError(`${path.join('.')}: found ${found}; expected ${expected}`);
  }
  return withTemperatureLimits(unlimitedLaw(spec), spec.floorC, spec.ceilingC);
}

function unlimitedLaw(spec: LawSpec): Law {
  if ('switch' in spec) {
    const stages = spec.switch.map((stage) => kineticStage(stage, spec));
    return kineticLaw(stages, spec.initial ?? spec.switch[0]?.initial ?? 0);
  }
  switch (spec.form) {
    case 'degree-time':
      return degreeTimeLaw(spec);
    case 'equivalent-time':
      return equivalentTimeLaw(spec);
    case 'z-value':
      return zValueLaw(spec);
    case 'dose':
      return doseLaw();
    case 'n-th-order':
      return spec.diffusion === undefined && spec.glass === undefined
        ? nthOrderLaw(spec)
        : kineticLaw([kineticStage(spec, spec)], spec.initial ?? 0);
    case 'autocatalytic':
      return kineticLaw([kineticStage(spec, spec)], spec.initial ?? 0);
  }
}
