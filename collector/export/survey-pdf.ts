import type { Survey } from '@setwell/shared-models/condition/survey';
import {
  placeHalfWidthK,
  type SurveyComparison,
  type SurveyedBy,
  type SurveyGrid,
} from '@setwell/shared-models/condition/survey-figures';
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
import type { PrintLanguage } from './print-words.ts';
import { surveyWords, type SurveyWords } from './survey-words.ts';

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
  language: PrintLanguage;
}

/** A survey's sheet: what was measured with what, observed, corrections, corrected, result, who. */
export async function surveyPdf(print: SurveyPrint): Promise<Buffer> {
  const { title, atMs, person, language } = print;
  const words = surveyWords[language];
  const { sheet } = words;
  const pdf = await openPdf(printable(sheet.title(title)), atMs, language);
  return pdfBytes(pdf, () => {
    figures(pdf, print, words);
    if (print.grid !== null) map(pdf, print, print.grid, words);
    points(pdf, print, words);
    compared(pdf, print, words);
    heading(pdf, sheet.rests, 80);
    paragraph(pdf, sheet.samples(print.sourceSha256), 8.5);
    paragraph(pdf, sheet.how, 8.5);
    pdf.moveDown(2);
    paragraph(pdf, sheet.signed);
    const printed = sheet.printed(new Date(atMs).toISOString(), person);
    const frame = { title: `Setwell · ${sheet.title(title)}`, printed, words: words.frame };
    framePages(pdf, { ...frame, changed: null, demo: false });
  });
}

function figures(
  pdf: Pdf,
  { title, figures: found, setPointC, toleranceK, soak }: SurveyPrint,
  { sheet, decimal }: SurveyWords,
) {
  const inWords = (number: string) => number.replace('.', decimal);
  const size = 20;
  pdf
    .font('strong')
    .fontSize(size)
    .text(printable(sheet.title(title)), page.left, page.top);
  pdf.font('text').fontSize(10);
  const goal = [String(setPointC), String(toleranceK)].map(inWords) as [string, string];
  paragraph(pdf, sheet.verdict(...goal, found.inside), 14);
  heading(pdf, sheet.figures);
  const k = (value: number) => `${inWords(value.toFixed(2))} K`;
  const worst = inWords(signed(found.worstDeviationK));
  const fluctuation = Math.max(...found.fluctuationK.map(({ k }) => k));
  table(
    pdf,
    [260, 200],
    [
      sheet.figureColumns,
      [sheet.uniformity, k(found.uniformityK)],
      [sheet.spread, k(found.overallSpreadK)],
      [sheet.fluctuation, k(fluctuation)],
      [sheet.worst, sheet.at(worst, found.worst.point)],
      [sheet.place, k(placeHalfWidthK(found))],
      [sheet.soak, sheet.soaked(soak.fromS, soak.toS, soak.samples)],
    ],
  );
}

/** The plate as the operator sees it; darker is farther from the set point. */
function map(
  pdf: Pdf,
  { figures: found, setPointC, toleranceK }: SurveyPrint,
  grid: SurveyGrid,
  { sheet, decimal }: SurveyWords,
) {
  const inWords = (number: string) => number.replace('.', decimal);
  const [width, height] = [Math.min(110, pageWidth / grid.columns), 56];
  heading(pdf, sheet.map, grid.rows * height + 40);
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
      .text(`${inWords(c.toFixed(1))} °C`, x + 2, y + 19, centre);
    pdf
      .font('text')
      .fontSize(9)
      .text(`${inWords(signed(c - setPointC))} K`, x + 2, y + 36, centre);
  });
  pdf.fontSize(10).text('', page.left, top + grid.rows * height + 4);
}

function points(pdf: Pdf, { figures: found, by }: SurveyPrint, { sheet, decimal }: SurveyWords) {
  const inWords = (number: string) => number.replace('.', decimal);
  heading(pdf, sheet.points, 80);
  const rows = found.means.map(({ point, c }, index) => {
    const own = by.find((each) => each.point === point);
    return [
      point,
      own?.instrument ?? '–',
      own?.certificate ?? '–',
      own?.observedC == null ? '–' : inWords(own.observedC.toFixed(2)),
      own?.correctionK == null ? sheet.asGiven : inWords(signed(own.correctionK)),
      inWords(c.toFixed(2)),
      `± ${inWords((found.fluctuationK[index]?.k ?? 0).toFixed(2))}`,
    ];
  });
  table(pdf, [76, 70, 82, 66, 72, 72, 62], [sheet.pointColumns, ...rows]);
}

function compared(pdf: Pdf, { comparison }: SurveyPrint, { sheet, decimal }: SurveyWords) {
  if (comparison === null) return;
  const k = (value: number) => signed(value).replace('.', decimal);
  heading(pdf, sheet.against, 80);
  paragraph(pdf, sheet.moved(k(comparison.uniformityK)));
  const rows = comparison.points.map(({ point, changeK }) => [point, `${k(changeK)} K`]);
  table(pdf, [120, 180], [sheet.movedColumns, ...rows]);
  if (comparison.exchanged === null) return;
  paragraph(pdf, sheet.exchanged(...comparison.exchanged));
}

function signed(value: number): string {
  return `${value < 0 ? '−' : '+'}${Math.abs(value).toFixed(2)}`;
}
