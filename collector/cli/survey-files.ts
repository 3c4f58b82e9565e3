import { createHash } from 'node:crypto';
import { readFileSync, writeFileSync } from 'node:fs';
import { gridNamed, type SurveyGrid } from '@setwell/shared-models/condition/survey-figures';
import { surveyMap } from '@setwell/shared-models/condition/survey-map';
import { corrected } from '@setwell/shared-models/metrology/calibration';
import { calibrationInForce } from '@setwell/shared-models/metrology/calibration';
import { dayOfDate } from '@setwell/shared-models/metrology/calendar-day';
import { calibrationsKnown, fittedAt, fittingsOf } from '@setwell/shared-models/metrology/fitting';
import { InstrumentActs } from '@setwell/shared-models/metrology/instrument-acts';
import type { Plant } from '@setwell/shared-models/plant/plant';
import { surveyPdf, type SurveyedBy, type SurveyPrint } from '../export/survey-pdf.ts';
import { CommandProblem } from './problem.ts';

const dayMs = 86_400_000;

/** @throws CommandProblem for a grid that is none, or has other places than the file has points */
export function gridOf(text: string, points: readonly string[], file: string): SurveyGrid {
  const grid = gridNamed(text);
  if (grid !== null && grid.rows * grid.columns === points.length) return grid;
  throw new CommandProblem({
    code: 'grid-does-not-fit',
    file,
    field: '--grid',
    found: `${JSON.stringify(text.slice(0, 40))} for ${points.length} points: ${points.slice(0, 20).join(', ')}`,
    expected: 'rows x columns, as many places as the file has points, such as 3x3',
  });
}

/** A point's samples corrected by its certificate of the day, and by what. */
export interface CorrectedPoint {
  samplesC: number[];
  by: SurveyedBy;
}

/**
 * Samples as shown, corrected first: by the certificate of what is fitted at the point on that day.
 *
 * @throws CommandProblem for an unknown point, one without a certificate, or a sample outside its range
 */
export function correctedSamples(
  plant: Plant,
  point: string,
  samplesC: readonly number[],
  date: string,
  place: { file: string; line(sample: number): number | null },
): CorrectedPoint {
  const day = dayOfDate(date);
  const fitting = fittedAt(fittingsOf(plant, new InstrumentActs()).get(point), day * dayMs);
  const problem = (code: string, found: string, expected: string, line: number | null = null) =>
    new CommandProblem({ code, file: place.file, line, field: point, found, expected });
  if (!plant.sensors.has(point)) {
    throw problem('unknown-point', JSON.stringify(point), 'columns named by points of the plant');
  }
  const calibration =
    fitting === null ? null : calibrationInForce(calibrationsKnown(fitting, day * dayMs), day);
  if (fitting === null || calibration === null) {
    throw problem(
      'no-certificate',
      `no certificate on ${date}`,
      'a calibrated sensor at each point',
    );
  }
  const each = samplesC.map((indicatedC, sample) => {
    const answer = corrected({ kind: 'indicated', indicatedC }, calibration);
    if (answer.kind === 'corrected') return answer.correctedC;
    const rows = calibration.points;
    const range = `${rows[0]?.atC ?? ''} to ${rows.at(-1)?.atC ?? ''} °C`;
    const expected = `inside the calibrated range of ${calibration.certificate}, ${range}`;
    throw problem('outside-calibration', `${indicatedC} °C`, expected, place.line(sample));
  });
  const observedC = samplesC.reduce((sum, c) => sum + c, 0) / samplesC.length;
  const meanC = each.reduce((sum, c) => sum + c, 0) / each.length;
  return {
    samplesC: each,
    by: {
      point,
      instrument: fitting.instrument.id,
      certificate: calibration.certificate,
      correctionK: meanC - observedC,
      observedC,
    },
  };
}

/** What a sheet says, and the file that it was read from. */
export type SurveySheet = Omit<SurveyPrint, 'title' | 'sourceSha256'> & { file: string };

export function writeMap(path: string, sheet: SurveySheet): void {
  const { figures, grid, setPointC, toleranceK } = sheet;
  if (grid === null) {
    throw new CommandProblem({
      code: 'missing-option',
      field: '--grid',
      found: '--map without a grid',
      expected: '--grid 3x3: where the points lie, row by row from the back',
    });
  }
  write(path, '--map', surveyMap(figures, grid, setPointC, toleranceK));
}

export async function writePdf(path: string, sheet: SurveySheet): Promise<void> {
  const { file, ...print } = sheet;
  const sourceSha256 = createHash('sha256').update(readFileSync(file)).digest('hex');
  const title = file.replace(/^.*[/\\]/, '').replace(/\.csv$/i, '');
  write(path, '--pdf', await surveyPdf({ ...print, title, sourceSha256 }));
}

function write(path: string, field: string, bytes: string | Buffer): void {
  try {
    writeFileSync(path, bytes);
  } catch (error) {
    const found = error instanceof Error ? error.message : String(error);
    const expected = 'a file that can be written';
    throw new CommandProblem({ code: 'cannot-write', file: path, field, found, expected, exit: 3 });
  }
}
