import { readFileSync, writeFileSync } from 'node:fs';
import { gridNamed, type SurveyGrid } from '@setwell/shared-models/condition/survey-figures';
import { surveyMap } from '@setwell/shared-models/condition/survey-map';
import { dayOfDate } from '@setwell/shared-models/metrology/calendar-day';
import { InstrumentActs } from '@setwell/shared-models/metrology/instrument-acts';
import type { Plant } from '@setwell/shared-models/plant/plant';
import {
  correctedSamples,
  isUncorrected,
  type CorrectedPoint,
} from '../condition/survey-correction.ts';
import { surveyPdf, type SurveyPrint } from '../export/survey-pdf.ts';
import { sha256Hex } from '../ledger/sha256.ts';
import { CommandProblem } from '../problem.ts';

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

/**
 * Samples as shown, corrected first: by the certificate of what is fitted at the point on that day.
 *
 * @throws CommandProblem for an unknown point, one without a certificate, or a sample outside its range
 */
export function correctedColumn(
  plant: Plant,
  point: string,
  samplesC: readonly number[],
  date: string,
  place: { file: string; line(sample: number): number | null },
): CorrectedPoint {
  const facts = { plant, acts: new InstrumentActs() };
  const answer = correctedSamples(facts, point, samplesC, dayOfDate(date));
  if (!isUncorrected(answer)) return answer;
  const { code, found, expected, sample } = answer;
  const line = sample === null ? null : place.line(sample);
  throw new CommandProblem({ code, file: place.file, line, field: point, found, expected });
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
  const sourceSha256 = sha256Hex(readFileSync(file));
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
