import type { FittedSensor, ScoreInput } from '@setwell/shared-models/score/shape';
import { localTime } from './local-time.ts';
import type { ChangeMark } from './pdf-charts.ts';
import { heading, table, type Pdf } from './pdf-page.ts';
import { inWords, type RecordWords } from './record-words.ts';

/** Instruments that came and went while the load was in, in the order of time. */
function changesOf({ sensors }: ScoreInput) {
  const all = Object.entries(sensors).flatMap(([point, { changes = [] }]) =>
    changes.map(({ fromMs, sensor }) => ({ point, atMs: fromMs, sensor })),
  );
  return all.sort((a, b) => a.atMs - b.atMs);
}

function changeText(sensor: FittedSensor | null, words: RecordWords): string {
  if (sensor === null) return words.out;
  const { readsFrom, instrument } = sensor;
  return readsFrom === undefined ? (instrument ?? words.changed) : words.standsIn(readsFrom);
}

/** The same as marks in the picture of temperatures. */
export function changeMarks(input: ScoreInput, words: RecordWords): ChangeMark[] {
  return changesOf(input).map(({ point, atMs, sensor }) => ({
    atMs,
    text: `${point}: ${changeText(sensor, words)}`,
  }));
}

/** What was fitted as the load began and what came later, each with what vouched for it. */
export function instrumentsTable(
  pdf: Pdf,
  input: ScoreInput,
  { timeZone, words }: { timeZone: string; words: RecordWords },
): void {
  heading(pdf, words.headings.instruments);
  const first = Object.entries(input.sensors).map(([point, sensor]) =>
    fittedRow(point, sensor, words),
  );
  const later = changesOf(input).map(({ point, atMs, sensor }) => {
    const from = words.fromTime(point, localTime(atMs, timeZone).slice(11, 19));
    return sensor === null
      ? [from, words.nothingFitted, '', '', '', '']
      : fittedRow(from, sensor, words);
  });
  table(pdf, [104, 92, 44, 76, 78, 105], [words.instrumentColumns, ...first, ...later]);
}

function fittedRow(where: string, sensor: FittedSensor, words: RecordWords): string[] {
  const { instrument = '', certificate = '', signal, expandedK, calibratedC } = sensor;
  const corrections = sensor.corrections.map(
    ({ atC, correctionK }) => `${inWords(`${String(atC)} °C: ${String(correctionK)}`, words)} K`,
  );
  return [
    where,
    `${instrument} ${certificate}`.trim(),
    signal,
    `${inWords(expandedK.toFixed(2), words)} K (k = 2)`,
    calibratedC === null
      ? words.notCalibrated
      : `${words.range(String(calibratedC[0]), String(calibratedC[1]))} °C`,
    corrections.join('; '),
  ];
}
