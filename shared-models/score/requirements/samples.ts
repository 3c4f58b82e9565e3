import type { Requirement } from '../../plant/requirement-schema.ts';
import type { RequirementCheck } from '../shape.ts';
import { extremesOf, heldThroughout, isAsked, unheard, type Known, type Limits } from './check.ts';
import { entered, eventsOf, type Evidence } from './evidence.ts';

/** Every sample has to be inside. */
function all(what: string, limits: Limits, samples: readonly Known[]): RequirementCheck[] {
  if (!isAsked(limits)) return [];
  const extremes = extremesOf(samples);
  return [extremes === null ? unheard(what, limits) : heldThroughout(what, limits, extremes)];
}

/** Pieces before they are pressed: by hand, or by the point that measures the load's start. */
export function pieceTemperatureChecks(
  { minC, maxC, coveredBy }: Extract<Requirement, { kind: 'piece-temperature' }>,
  evidence: Evidence,
): RequirementCheck[] {
  const { fold } = evidence;
  const limits: Limits = { least: minC ?? null, most: maxC ?? null, unit: '°C' };
  const byHand = entered(eventsOf(evidence, 'piece-temperature'), 'tempC', 'expandedK');
  if (coveredBy !== 'measured' || byHand.length > 0) {
    return all('piece-temperature', limits, byHand);
  }
  const started = fold.zones.flatMap((zone) => {
    if (zone === null || zone.start.point === null || zone.start.ageMs === null) return [];
    const { lowC, highC, expandedK } = zone.start;
    return [{ low: lowC - expandedK, high: highC + expandedK, atMs: fold.grid.startMs }];
  });
  return all('piece-temperature', limits, started);
}

export function moistureChecks(
  { minPct, maxPct }: Extract<Requirement, { kind: 'moisture' }>,
  evidence: Evidence,
): RequirementCheck[] {
  const limits: Limits = { least: minPct ?? null, most: maxPct ?? null, unit: '%' };
  return all('moisture', limits, entered(eventsOf(evidence, 'moisture'), 'pct', 'expandedPct'));
}

/** Parts of the second component to 100 of the first, as said or as weighed. */
export function mixRatioChecks(
  { partsPer100, tolerance }: Extract<Requirement, { kind: 'mix-ratio' }>,
  evidence: Evidence,
): RequirementCheck[] {
  const limits: Limits = {
    least: partsPer100 - tolerance,
    most: partsPer100 + tolerance,
    unit: 'parts to 100',
  };
  const ratios = eventsOf(evidence, 'mix').flatMap(({ numbers, latestMs }): Known[] => {
    const { resinG, hardenerG } = numbers;
    const weighed =
      resinG !== undefined && hardenerG !== undefined && resinG > 0
        ? (100 * hardenerG) / resinG
        : undefined;
    const parts = numbers['partsPer100'] ?? weighed;
    return parts === undefined ? [] : [{ low: parts, high: parts, atMs: latestMs }];
  });
  return all('mix-ratio', limits, ratios);
}

export function filmBuildChecks(
  asked: Extract<Requirement, { kind: 'film-build' }>,
  evidence: Evidence,
): RequirementCheck[] {
  const { minGPerM2, maxGPerM2, minUm, maxUm } = asked;
  const coats = eventsOf(evidence, 'coat');
  const spread: Limits = { least: minGPerM2 ?? null, most: maxGPerM2 ?? null, unit: 'g/m²' };
  const thick: Limits = { least: minUm ?? null, most: maxUm ?? null, unit: 'µm' };
  return [
    ...all('spread', spread, entered(coats, 'gPerM2', 'expandedGPerM2')),
    ...all('thickness', thick, entered(coats, 'um', 'expandedUm')),
  ];
}

/** Results of the test that the requirement names. Null: none has come yet. */
export function testChecks(
  { method, min, max, unit }: Extract<Requirement, { kind: 'test' }>,
  evidence: Evidence,
): RequirementCheck[] | null {
  const results = eventsOf(evidence, 'test-result').filter(
    ({ names }) =>
      names['method'] === method && (unit === undefined || (names['unit'] ?? unit) === unit),
  );
  if (results.length === 0) return null;
  const limits: Limits = { least: min ?? null, most: max ?? null, unit: unit ?? '1' };
  const values = entered(results, 'value', 'expanded');
  if (isAsked(limits)) return all(method, limits, values);
  // Without a bound a test passes or fails.
  const passed: Limits = { least: 1, most: null, unit: '1' };
  return all(method, passed, entered(results, 'passed', ''));
}
