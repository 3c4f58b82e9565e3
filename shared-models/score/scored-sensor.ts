import { uncertaintyBudget } from '../metrology/budget.ts';
import type { Doubt } from '../metrology/budget.ts';
import { calibrationInForce } from '../metrology/calibration.ts';
import { driftHalfWidthK, dueState, ownDriftKPerYear } from '../metrology/drift.ts';
import { temperatureSignalOf } from '../metrology/signal.ts';
import { toleranceK, toleranceOf, toleranceOfElement } from '../metrology/tolerance.ts';
import type { TemperatureSensor } from '../plant/plant.ts';
import type { Calibration } from '../plant/plant-schema.ts';
import type { FittedSensor, OnChange } from './shape.ts';

/** The last digit of a point that does not say it. Common practice, no source. */
const USUAL_RESOLUTION_K = 0.1;

/**
 * A point as a load is scored with it: its corrections and its doubt by value, as of one day.
 *
 * Calibrated: the greatest doubt of its certificate, with the drift since. Else the tolerance of its
 * element at the hottest the supply can be. What averages out over a load (noise) is no part of that doubt:
 * it stands beside it, for the envelope. Seat and place are the recipe's.
 *
 * @param day days since 1970-01-01, in UTC: the load's start
 * @param hottestC of the station's supply
 * @param calibrations of the instrument fitted then; the point's own by default
 * @param graceDays after the due date on which a certificate still counts; overdue for longer it proves
 * nothing any more
 */
export function scoredSensor(
  sensor: TemperatureSensor,
  day: number,
  hottestC: number,
  calibrations: readonly Calibration[] = sensor.calibration === undefined
    ? []
    : [sensor.calibration],
  graceDays = Infinity,
): FittedSensor {
  const { signal, element, plausible, resolutionK = USUAL_RESOLUTION_K, noiseK, report } = sensor;
  const { minC, maxC, maxRateKPerMin } = plausible;
  const conversion = signal === 'celsius' ? null : temperatureSignalOf({ signal, element });
  const classK = elementToleranceK(element, hottestC);
  const calibration = calibrationInForce(calibrations, day);
  const rows = calibration?.points ?? [];
  const doubts: Doubt[] =
    calibration === null
      ? [{ source: 'tolerance', distribution: 'rectangular', halfWidthK: classK }]
      : calibratedDoubts(calibration, calibrations, day, classK);
  return {
    signal,
    ...(conversion === null ? {} : { conversion }),
    corrections: rows.map(({ atC, correctionK }) => ({ atC, correctionK })),
    expandedK: uncertaintyBudget(doubts).expandedK,
    resolutionK,
    ...(noiseK === undefined ? {} : { noiseK }),
    ...(report !== undefined && 'onChangeK' in report ? { onChange: onChangeOf(report) } : {}),
    plausible: { minC, maxC, maxRateKPerMin },
    calibratedC: calibration === null ? null : [rows[0]!.atC, rows[rows.length - 1]!.atC],
    ...(calibration === null ? {} : { certificate: calibration.certificate }),
    ...(calibration !== null && dueState(calibration, day, graceDays).state === 'grace-over'
      ? { unproven: 'grace-over' as const }
      : {}),
  };
}

/** A plant's file cannot tell whether a report is missing; the journal may. */
function onChangeOf(report: { onChangeK: number; heartbeatS: number }): OnChange {
  return { withinK: report.onChangeK, heartbeatMs: report.heartbeatS * 1000, holes: null };
}

function calibratedDoubts(
  calibration: Calibration,
  calibrations: readonly Calibration[],
  day: number,
  classK: number,
): Doubt[] {
  const { points, k, date } = calibration;
  const expandedK = points.reduce((most, point) => Math.max(most, point.expandedK), 0);
  // What a later as-found row tells was not known on that day.
  const ownKPerYear = ownDriftKPerYear(calibrations.filter((each) => each.date <= date));
  const driftK = driftHalfWidthK(calibration, day, ownKPerYear, classK) ?? classK;
  return [
    { source: 'calibration', distribution: 'normal', expandedK, k },
    { source: 'drift', distribution: 'rectangular', halfWidthK: driftK },
  ];
}

/**
 * Tolerance of an element, a half-width [K]. What is not known of it counts as the widest of its kind, an
 * unknown kind and a temperature its class says nothing of as type K, class 2 of IEC 60584-1.
 */
function elementToleranceK(element: TemperatureSensor['element'], hottestC: number): number {
  const atC = Math.max(0, hottestC);
  const own = element === undefined ? null : toleranceOfElement(element);
  const ownK = own === null ? null : toleranceK(own, atC);
  return ownK ?? toleranceK(toleranceOf('K', '2')!, atC)!;
}
