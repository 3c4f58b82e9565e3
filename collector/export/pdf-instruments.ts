import type { FittedSensor, ScoreInput } from '@setwell/shared-models/score/shape';
import { localTime } from './local-time.ts';
import type { ChangeMark } from './pdf-charts.ts';
import { heading, table, type Pdf } from './pdf-page.ts';

/** Instruments that came and went while the load was in, in the order of time. */
function changesOf({ sensors }: ScoreInput) {
  const all = Object.entries(sensors).flatMap(([point, { changes = [] }]) =>
    changes.map(({ fromMs, sensor }) => ({ point, atMs: fromMs, sensor })),
  );
  return all.sort((a, b) => a.atMs - b.atMs);
}

function changeText(sensor: FittedSensor | null): string {
  if (sensor === null) return 'out';
  const { readsFrom, instrument } = sensor;
  return readsFrom === undefined ? (instrument ?? 'changed') : `${readsFrom} stands in`;
}

/** The same as marks in the picture of temperatures. */
export function changeMarks(input: ScoreInput): ChangeMark[] {
  return changesOf(input).map(({ point, atMs, sensor }) => ({
    atMs,
    text: `${point}: ${changeText(sensor)}`,
  }));
}

/** What was fitted as the load began and what came later, each with what vouched for it. */
export function instrumentsTable(pdf: Pdf, input: ScoreInput, timeZone: string): void {
  heading(pdf, 'Instruments as of this load');
  const first = Object.entries(input.sensors).map(([point, sensor]) => fittedRow(point, sensor));
  const later = changesOf(input).map(({ point, atMs, sensor }) => {
    const from = `${point} from ${localTime(atMs, timeZone).slice(11, 19)}`;
    return sensor === null ? [from, 'nothing fitted', '', '', '', ''] : fittedRow(from, sensor);
  });
  table(
    pdf,
    [104, 92, 44, 76, 78, 105],
    [['point', 'instrument', 'signal', 'uncertainty', 'covers', 'corrections'], ...first, ...later],
  );
}

function fittedRow(where: string, sensor: FittedSensor): string[] {
  const { instrument = '', certificate = '', signal, expandedK, calibratedC } = sensor;
  const corrections = sensor.corrections.map(
    ({ atC, correctionK }) => `${String(atC)} °C: ${String(correctionK)} K`,
  );
  return [
    where,
    `${instrument} ${certificate}`.trim(),
    signal,
    `${expandedK.toFixed(2)} K (k = 2)`,
    calibratedC === null ? 'not calibrated' : `${calibratedC.join(' to ')} °C`,
    corrections.join('; '),
  ];
}
