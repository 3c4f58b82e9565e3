import { degreeTimeLaw } from './degree-time.ts';
import { doseLaw } from './dose.ts';
import { equivalentTimeLaw } from './equivalent-time.ts';
import type { Law } from './law.ts';
import type { LawSpec } from './law-spec.ts';
import { withTemperatureLimits } from './temperature-limits.ts';
import { zValueLaw } from './z-value.ts';

/**
 * The law of a recipe or a law file, ready to add up. `validC` is not applied here: what lies outside
 * it is the interval's doubt, and the score makes it floor and ceiling of its low run.
 *
 * @throws RangeError where the constants contradict each other
 */
export function createLaw(spec: LawSpec): Law {
  return withTemperatureLimits(unlimitedLaw(spec), spec.floorC, spec.ceilingC);
}

function unlimitedLaw(spec: LawSpec): Law {
  if ('switch' in spec) throw new RangeError('kinetic laws are not here yet');
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
    case 'autocatalytic':
      throw new RangeError('kinetic laws are not here yet');
  }
}
