import type { Requirement } from '../../plant/requirement-schema.ts';
import type { RequirementCheck } from '../shape.ts';
import type { JudgedWindow } from '../window.ts';
import { precureOf } from '../zone-runs.ts';
import { held, unheard, type Known, type Limits } from './check.ts';
import { between, inUnitOf, type Evidence } from './evidence.ts';

/** Heat before pressure against its own most, at the place that had most of it. */
export function precureChecks(
  { most, contactToPressureMaxS }: Extract<Requirement, { kind: 'precure' }>,
  { input, fold }: Evidence,
  { perLawUnit, unit }: JudgedWindow,
): RequirementCheck[] {
  const { contact, pressureOn } = input.marks;
  const checks: RequirementCheck[] = [];
  if (most !== undefined) {
    const limits: Limits = { least: null, most, unit };
    const known: Known = { low: 0, high: 0, atMs: pressureOn.latestMs };
    for (const zone of fold.zones) {
      zone?.piece.spots.forEach((_spot, spot) => {
        const own = precureOf(zone, spot);
        known.low = Math.max(known.low, own.low * perLawUnit);
        known.high = Math.max(known.high, own.high * perLawUnit);
      });
    }
    const judged = contact !== null && fold.zones.some((zone) => zone !== null);
    checks.push(judged ? held('precure', limits, known) : unheard('precure', limits));
  }
  if (contactToPressureMaxS !== undefined) {
    const limits: Limits = { least: null, most: contactToPressureMaxS, unit: 's' };
    if (contact === null) checks.push(unheard('contact to pressure', limits));
    else {
      const { low, high, atMs } = inUnitOf(between(contact, pressureOn), 1000);
      const known = { low: Math.max(0, low), high: Math.max(0, high), atMs };
      checks.push(held('contact to pressure', limits, known));
    }
  }
  return checks;
}
