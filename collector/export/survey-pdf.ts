import type { Survey } from '@setwell/shared-models/condition/survey';
import {
  placeHalfWidthK,
  type SurveyComparison,
  type SurveyedBy,
  type SurveyGrid,
} from '@setwell/shared-models/condition/survey-figures';
import { frameWords } from './frame-words.ts';
import {
  framePages,
  heading,
  keepTogether,
  openPdf,
  page,
  pageWidth,
  paragraph,
  pdfBytes,
  printable,
  table,
  type Pdf,
} from './pdf-page.ts';

export interface SurveyPrint {
  title: string;
  figures: Survey;
  setPointC: number;
  toleranceK: number;
  grid: SurveyGrid | null;
  soak: { fromS: number; toS: number; samples: number };
  by: SurveyedBy[];
  comparison: SurveyComparison | null;
  /** SHA-256 of the file that was read. */
  sourceSha256: string;
  person: string;
  atMs: number;
}

/** A survey's sheet: what was measured with what, observed, corrections, corrected, result, who. */
export function surveyPdf(print: SurveyPrint): Promise<Buffer> {
  const { title, atMs, person } = print;
  const pdf = openPdf(`Survey ${printable(title)}`, atMs, 'en');
  return pdfBytes(pdf, () => {
    figures(pdf, print);
    if (print.grid !== null) map(pdf, print, print.grid);
    points(pdf, print);
    compared(pdf, print);
    heading(pdf, 'What this sheet rests on', 80);
    paragraph(pdf, `samples: SHA-256 ${print.sourceSha256}`, 8.5);
    paragraph(
      pdf,
      'Samples were corrected first, then judged, each for itself; nothing was extrapolated beyond calibrated points. Points of a platen or an oven: common practice, no source. Surveying reaches to hot faces: follow the local rules, lock out before anybody reaches between platens.',
      8.5,
    );
    pdf.moveDown(2);
    paragraph(pdf, 'surveyed by ______________________   reviewed by ______________________');
    const printed = `${new Date(atMs).toISOString()} · printed by ${person}`;
    const words = frameWords.en;
    framePages(pdf, {
      ...{ title: `Setwell · Survey ${title}`, printed, words },
      ...{ changed: null, demo: false },
    });
  });
}

function figures(pdf: Pdf, { title, figures: found, setPointC, toleranceK, soak }: SurveyPrint) {
  const size = 20;
  pdf
    .font('strong')
    .fontSize(size)
    .text(printable(`Survey ${title}`), page.left, page.top);
  pdf.font('text').fontSize(10);
  const verdict = found.inside ? 'inside' : 'OUTSIDE';
  paragraph(pdf, `set point ${setPointC} ± ${toleranceK} °C: ${verdict}`, 14);
  heading(pdf, 'Figures');
  const fluctuation = Math.max(...found.fluctuationK.map(({ k }) => k));
  table(
    pdf,
    [220, 120],
    [
      ['figure', 'value'],
      ['uniformity: greatest less least mean', `${found.uniformityK.toFixed(2)} K`],
      ['overall spread: greatest less least sample', `${found.overallSpreadK.toFixed(2)} K`],
      ['fluctuation: half a point’s range in time, the most', `${fluctuation.toFixed(2)} K`],
      ['worst deviation of a sample', `${signed(found.worstDeviationK)} K at ${found.worst.point}`],
      ['place, a half-width, for a recipe’s placeK', `${placeHalfWidthK(found).toFixed(2)} K`],
      ['soak', `${soak.fromS} to ${soak.toS} s, ${soak.samples} samples a point`],
    ],
  );
}

/** The plate as the operator sees it; darker is farther from the set point. */
function map(pdf: Pdf, { figures: found, setPointC, toleranceK }: SurveyPrint, grid: SurveyGrid) {
  const [width, height] = [Math.min(110, pageWidth / grid.columns), 56];
  heading(pdf, 'Map, seen from the operator’s side', grid.rows * height + 40);
  keepTogether(pdf, grid.rows * height + 12);
  const top = pdf.y;
  found.means.forEach(({ point, c }, index) => {
    const x = page.left + (index % grid.columns) * width;
    const y = top + Math.floor(index / grid.columns) * height;
    const share = Math.min(1, Math.abs(c - setPointC) / toleranceK);
    const level = Math.round(255 - 110 * share);
    pdf.rect(x, y, width - 4, height - 4).lineWidth(share >= 1 ? 2 : 0.7);
    pdf.fillAndStroke([level, level, level], '#111111').fillColor('#111111');
    const centre = { width: width - 8, align: 'center' as const, lineBreak: false };
    pdf.fontSize(9).text(printable(point), x + 2, y + 6, centre);
    pdf
      .font('strong')
      .fontSize(12)
      .text(`${c.toFixed(1)} °C`, x + 2, y + 19, centre);
    pdf
      .font('text')
      .fontSize(9)
      .text(`${signed(c - setPointC)} K`, x + 2, y + 36, centre);
  });
  pdf.fontSize(10).text('', page.left, top + grid.rows * height + 4);
}

function points(pdf: Pdf, { figures: found, by }: SurveyPrint) {
  heading(pdf, 'Points', 80);
  const rows = found.means.map(({ point, c }, index) => {
    const own = by.find((each) => each.point === point);
    return [
      point,
      own?.instrument ?? '–',
      own?.certificate ?? '–',
      own?.observedC == null ? '–' : own.observedC.toFixed(2),
      own?.correctionK == null ? 'as given' : signed(own.correctionK),
      c.toFixed(2),
      `± ${(found.fluctuationK[index]?.k ?? 0).toFixed(2)}`,
    ];
  });
  table(
    pdf,
    [80, 75, 75, 70, 75, 70, 55],
    [
      [
        'point',
        'sensor',
        'certificate',
        'observed °C',
        'correction K',
        'corrected °C',
        'in time K',
      ],
      ...rows,
    ],
  );
}

function compared(pdf: Pdf, { comparison }: SurveyPrint) {
  if (comparison === null) return;
  heading(pdf, 'Against the last survey', 80);
  paragraph(pdf, `uniformity ${signed(comparison.uniformityK)} K`);
  const rows = comparison.points.map(({ point, changeK }) => [point, `${signed(changeK)} K`]);
  table(pdf, [120, 120], [['point', 'moved against the others'], ...rows]);
  if (comparison.exchanged === null) return;
  const both = comparison.exchanged.join(' and ');
  paragraph(pdf, `${both} read as each other did: wires or columns may be swapped`);
}

function signed(value: number): string {
  return `${value < 0 ? '−' : '+'}${Math.abs(value).toFixed(2)}`;
}
