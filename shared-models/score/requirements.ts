import type { Requirement } from '../plant/requirement-schema.ts';
import type { LoadFold } from './fold.ts';
import { flashOffChecks } from './requirements/times.ts';
import {
  assemblyChecks,
  materialLifeChecks,
  mixAgeChecks,
  openingChecks,
  recoatChecks,
  restChecks,
} from './requirements/times.ts';
import {
  filmBuildChecks,
  mixRatioChecks,
  moistureChecks,
  pieceTemperatureChecks,
  testChecks,
} from './requirements/samples.ts';
import type { Evidence } from './requirements/evidence.ts';
import { precureChecks } from './requirements/precure.ts';
import { airChecks, faceDifferenceChecks, pressureChecks } from './requirements/signals.ts';
import { restOf, totalOf } from './requirements/windows.ts';
import type {
  CoatResult,
  Deviation,
  JudgedPlace,
  RequirementCheck,
  RequirementResult,
  ScoreInput,
  Side,
  Verdict,
} from './shape.ts';
import { worstVerdict, type JudgedWindow } from './window.ts';

/**
 * What a recipe asks for beside heat at each place, and how each is known.
 *
 * Every requirement is held against what was measured, entered or sampled of it. Measured and entered
 * ones of which nothing is there prove nothing; sampled ones say that there was no sample; and where a
 * procedure covers one, it is named, and what was said all the same still counts.
 */
export function requirementResults(
  input: ScoreInput,
  fold: LoadFold,
  places: readonly JudgedPlace[],
  judged: JudgedWindow,
  coats: readonly CoatResult[],
): RequirementResult[] {
  const evidence = { input, fold };
  const asked = input.recipe.requirements.map((requirement) =>
    resultOf(requirement, checksOf(requirement, evidence, judged), input),
  );
  const windows = [restOf(input, judged), ...totalOf(input, places, judged, coats)];
  return [...asked, ...windows.filter((each) => each !== null)];
}

/** One check a bound; null: its time has not come. */
function checksOf(
  requirement: Requirement,
  evidence: Evidence,
  judged: JudgedWindow,
): RequirementCheck[] | null {
  switch (requirement.kind) {
    case 'precure':
      return precureChecks(requirement, evidence, judged);
    case 'pressure':
      return pressureChecks(requirement, evidence);
    case 'assembly-time':
      return assemblyChecks(requirement, evidence);
    case 'piece-temperature':
      return pieceTemperatureChecks(requirement, evidence);
    case 'moisture':
      return moistureChecks(requirement, evidence);
    case 'mix-age':
      return mixAgeChecks(requirement, evidence);
    case 'mix-ratio':
      return mixRatioChecks(requirement, evidence);
    case 'material-life':
      return materialLifeChecks(requirement, evidence);
    case 'opening':
      return evidence.input.endMs === null ? null : openingChecks(requirement, evidence);
    case 'face-difference':
      return faceDifferenceChecks(requirement, evidence);
    case 'flash-off':
      return flashOffChecks(evidence);
    case 'recoat':
      return recoatChecks(requirement, evidence);
    case 'film-build':
      return filmBuildChecks(requirement, evidence);
    case 'air':
      return airChecks(requirement, evidence);
    case 'rest':
      return restChecks(requirement, evidence);
    case 'test':
      return testChecks(requirement, evidence);
  }
}

/** Kinds that points and marks tell; of the others people say it. */
const measuredKinds: Requirement['kind'][] = [
  ...(['precure', 'pressure', 'opening', 'face-difference', 'air', 'rest'] as const),
];

function resultOf(
  requirement: Requirement,
  found: RequirementCheck[] | null,
  { station }: ScoreInput,
): RequirementResult {
  const { kind, coveredBy } = requirement;
  const procedure = typeof coveredBy === 'object' ? coveredBy.notMonitored : null;
  const isKnown = ({ low }: RequirementCheck) => low !== null;
  // What a procedure covers, and what is sampled, is held only against what was said.
  const optional = procedure !== null || coveredBy === 'sampled';
  const checks = optional ? (found ?? []).filter(isKnown) : (found ?? []);
  // A rest goes on until its test is passed, whoever takes the sample.
  const awaited = kind === 'test' && (station.kind === 'store' || coveredBy !== 'sampled');
  const by = measuredKinds.includes(kind) ? 'measured' : 'entered';
  if (checks.length === 0) {
    const open = procedure === null && found === null && awaited;
    return {
      kind,
      coveredBy: procedure === null && open ? coveredByOf(coveredBy, by) : 'not-monitored',
      procedure,
      verdict: open ? 'unproven' : 'not-monitored',
      side: open ? 'short' : null,
      checks: [],
      deviations: [],
      evidence: procedure === null ? nothingSaid(found, coveredBy) : null,
    };
  }
  const judged = checks.map((check) => severeOf(requirement, check));
  const verdict = worstVerdict(judged.map((check) => check.verdict));
  return {
    kind,
    coveredBy: coveredByOf(coveredBy, by),
    procedure,
    verdict,
    side: sideOf(judged, verdict),
    checks,
    deviations: checks.flatMap((check) => deviationOf(requirement, check)),
    evidence: checks.map(told).join(', '),
  };
}

function coveredByOf(
  coveredBy: Requirement['coveredBy'],
  known: 'measured' | 'entered',
): RequirementResult['coveredBy'] {
  return typeof coveredBy === 'object' ? known : coveredBy;
}

/** The record must not claim what nobody has looked at. */
function nothingSaid(
  found: RequirementCheck[] | null,
  coveredBy: Requirement['coveredBy'],
): string | null {
  if (typeof coveredBy === 'object') return null;
  if (found === null) return 'not yet';
  return coveredBy === 'sampled' ? 'no sample of this load' : 'nothing is asked here';
}

/** A side whose breach is a deviation only is no part of the verdict. */
function severeOf({ severity }: Requirement, check: RequirementCheck): RequirementCheck {
  const { side } = check;
  const mild = (end: 'short' | 'long') => severity?.[end] === 'deviation';
  if (side === null) return check;
  if (side === 'both') {
    if (mild('short') && mild('long')) return { ...check, verdict: 'in-window', side: null };
    return { ...check, side: mild('short') ? 'long' : mild('long') ? 'short' : 'both' };
  }
  return mild(side) ? { ...check, verdict: 'in-window', side: null } : check;
}

function deviationOf({ severity, kind }: Requirement, check: RequirementCheck): Deviation[] {
  const { side, least, most, low, high, unit, atMs } = check;
  if (low === null || high === null) return [];
  return (['short', 'long'] as const).flatMap((end): Deviation[] => {
    if (severity?.[end] !== 'deviation' || (side !== end && side !== 'both')) return [];
    const by = end === 'short' ? (least ?? low) - low : high - (most ?? high);
    return [{ phase: 'requirement', zone: null, what: kind, side: end, by, unit, atMs }];
  });
}

function sideOf(checks: readonly RequirementCheck[], verdict: Verdict): Side | null {
  const sides = checks.filter((check) => check.verdict === verdict).map(({ side }) => side);
  const short = sides.includes('short') || sides.includes('both');
  const long = sides.includes('long') || sides.includes('both');
  if (short && long) return 'both';
  return short ? 'short' : long ? 'long' : null;
}

function told({ what, low, high, unit }: RequirementCheck): string {
  if (low === null || high === null) return `${what}: nothing was said`;
  const number = (value: number) => String(Number(value.toPrecision(4)));
  const range = low === high ? number(low) : `${number(low)} to ${number(high)}`;
  return `${what} ${range} ${unit}`;
}
