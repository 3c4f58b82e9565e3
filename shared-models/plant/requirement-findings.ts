import type { Requirement } from './requirement-schema.ts';
import type { Tell } from './tell.ts';

/** Least and greatest of one thing, by their keys. */
const pairs = [
  ['minNPerMm2', 'maxNPerMm2'],
  ['openMinMin', 'openMaxMin'],
  ['closedMinMin', 'closedMaxMin'],
  ['minC', 'maxC'],
  ['minPct', 'maxPct'],
  ['minS', 'maxS'],
  ['minGPerM2', 'maxGPerM2'],
  ['minUm', 'maxUm'],
  ['minRhPct', 'maxRhPct'],
  ['min', 'max'],
] as const;

/** Kinds whose limits stand elsewhere in the recipe, or that may be asked for without a number. */
const withoutBounds: Requirement['kind'][] = ['flash-off', 'recoat', 'test', 'material-life'];

/** Members of a requirement that say where and how, not how much. */
const notBounds = ['point', 'fan', 'pressedAreaCm2', 'severity'];

/** What is wrong with a recipe's requirements. */
export function tellRequirements(requirements: Requirement[], tell: Tell): void {
  const kinds = new Set<string>();
  requirements.forEach((requirement, index) => {
    const path = ['requirements', index];
    const { kind, coveredBy, source, ...named } = requirement;
    const bounds = Object.fromEntries(
      Object.entries(named).filter(([key]) => !notBounds.includes(key)),
    );
    const monitored = typeof coveredBy === 'string';
    const values = new Map(Object.entries(bounds));
    for (const [leastKey, mostKey] of pairs) {
      const [least, most] = [values.get(leastKey), values.get(mostKey)];
      if (typeof least !== 'number' || typeof most !== 'number' || least < most) continue;
      tell([...path, mostKey], {
        code: 'contradiction',
        found: `${leastKey} ${least} and ${mostKey} ${most}`,
        expected: 'a least below the greatest',
      });
    }
    if (monitored && values.size === 0 && !withoutBounds.includes(kind)) {
      tell(path, {
        code: 'no-bound',
        found: `${kind}, ${coveredBy}, without a bound`,
        expected: 'a bound to hold it against',
      });
    }
    if (monitored && values.size > 0 && source === undefined) {
      tell([...path, 'source'], {
        code: 'no-source',
        severity: 'warning',
        found: 'nothing',
        expected: 'where the bound comes from',
      });
    }
    if (kind !== 'test' && kinds.has(kind)) {
      tell([...path, 'kind'], {
        code: 'id-twice',
        found: `${kind} twice`,
        expected: 'each kind once',
      });
    }
    kinds.add(kind);
  });
}
