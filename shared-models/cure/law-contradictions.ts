import { ABSOLUTE_ZERO_C } from '../units/temperature.ts';
import { doubtContradictions } from './doubt-contradictions.ts';
import type { LawLimits, LawSpec } from './law-spec.ts';

/** What in a law cannot be meant, with the field that says it. */
export interface LawContradiction {
  code: 'contradiction' | 'descending' | 'out-of-range';
  /** Where in the law. */
  path: (string | number)[];
  found: string;
  expected: string;
}

/** What stages of a switched law cannot have each for itself. */
const OF_WHOLE_LAW = ['floorC', 'ceilingC', 'validC', 'standardErrors', 'covariance'] as const;

/** Everything in a law that its parts say against each other, or against physics; shapes are parsed before. */
export function lawContradictions(spec: LawSpec): LawContradiction[] {
  const found: LawContradiction[] = [
    ...limitContradictions(spec, []),
    ...doubtContradictions(spec),
  ];
  if ('switch' in spec) {
    let before = spec.initial ?? 0;
    spec.switch.forEach((stage, i) => {
      const last = i === spec.switch.length - 1;
      found.push(...limitContradictions(stage, ['switch', i]));
      for (const field of OF_WHOLE_LAW) {
        if (stage[field] !== undefined) {
          found.push({
            code: 'contradiction',
            path: ['switch', i, field],
            found: `${field} in one stage`,
            expected: `${field} at the top of the law, for all stages`,
          });
        }
      }
      const { untilAlpha } = stage;
      if (last !== (untilAlpha === undefined)) {
        found.push({
          code: 'contradiction',
          path: ['switch', i],
          found: last ? 'untilAlpha in the last stage' : 'a stage without untilAlpha',
          expected: 'untilAlpha in every stage but the last',
        });
      } else if (untilAlpha !== undefined && untilAlpha <= before) {
        found.push({
          code: 'descending',
          path: ['switch', i, 'untilAlpha'],
          found: `${untilAlpha} after ${before}`,
          expected: 'conversions that rise from stage to stage, from the initial one',
        });
      }
      before = stage.untilAlpha ?? before;
    });
    return found;
  }
  const kinetic = spec.form === 'n-th-order' || spec.form === 'autocatalytic';
  for (const field of ['diffusion', 'glass', 'initial'] as const) {
    if (!kinetic && spec[field] !== undefined) {
      found.push({
        code: 'contradiction',
        path: [field],
        found: `${field} with form ${spec.form}`,
        expected: `${field} only with n-th-order or autocatalytic`,
      });
    }
  }
  if (spec.form === 'dose') {
    for (const field of ['floorC', 'ceilingC', 'validC'] as const) {
      if (spec[field] !== undefined) {
        found.push({
          code: 'contradiction',
          path: [field],
          found: `${field} with form dose`,
          expected: 'no temperature limits: a dose adds up irradiance',
        });
      }
    }
  }
  if (spec.form === 'equivalent-time' || spec.form === 'z-value') {
    found.push(...aboveAbsoluteZero(spec.referenceC, 'referenceC'));
  }
  if (spec.form === 'degree-time') found.push(...aboveAbsoluteZero(spec.baseC, 'baseC'));
  return found;
}

function limitContradictions(limits: LawLimits, path: (string | number)[]): LawContradiction[] {
  const found: LawContradiction[] = [];
  const { floorC, ceilingC, validC, glass } = limits;
  if (floorC !== undefined && ceilingC !== undefined && !(floorC < ceilingC)) {
    found.push({
      code: 'contradiction',
      path: [...path, 'floorC'],
      found: `floor ${floorC} °C, ceiling ${ceilingC} °C`,
      expected: 'a floor below the ceiling',
    });
  }
  if (validC !== undefined && !(validC[0] < validC[1])) {
    found.push({
      code: 'contradiction',
      path: [...path, 'validC'],
      found: `${validC[0]} to ${validC[1]} °C`,
      expected: 'the lower end first',
    });
  }
  if (glass !== undefined && !(glass.tg0C < glass.tgInfC)) {
    found.push({
      code: 'contradiction',
      path: [...path, 'glass'],
      found: `tg0C ${glass.tg0C}, tgInfC ${glass.tgInfC}`,
      expected: 'a glass transition that rises with cure',
    });
  }
  return found;
}

function aboveAbsoluteZero(tempC: number, field: string): LawContradiction[] {
  if (tempC > ABSOLUTE_ZERO_C) return [];
  return [
    {
      code: 'out-of-range',
      path: [field],
      found: `${tempC} °C`,
      expected: `a temperature above ${ABSOLUTE_ZERO_C} °C`,
    },
  ];
}
