import type { SurveyGrid } from '@setwell/shared-models/condition/survey-figures';
import { localTime } from './local-time.ts';
import {
  framePages,
  heading,
  ink,
  keepTogether,
  openPdf,
  page,
  pageWidth,
  paragraph,
  pdfBytes,
  printable,
  soft,
  table,
  type Pdf,
} from './pdf-page.ts';
import type { PrintLanguage } from './print-words.ts';
import { surveyWords, type SurveyWords } from './survey-words.ts';

/** A place of the plan, and what will measure there; null: nobody knows yet, to be written in. */
export interface PlannedPlace {
  point: string;
  instrument: string | null;
  certificate: string | null;
  due: string | null;
}

export interface SurveyPlanPrint {
  station: string;
  setPointC: number;
  toleranceK: number;
  soakMin: number;
  /** Its own points are read, or loose thermocouples by a logger. */
  from: 'live' | 'file';
  grid: SurveyGrid | null;
  places: readonly PlannedPlace[];
  site: { title: string; timeZone: string; demo: boolean };
  by: string;
  atMs: number;
  language: PrintLanguage;
}

const cell = { height: 58, gap: 5 };
/** Places in a row where nobody has said how they lie. */
const usualColumns = 3;

/** A survey's plan as a sheet to carry there: places numbered as they lie, what to do, what measures. */
export async function surveyPlanPdf(print: SurveyPlanPrint): Promise<Buffer> {
  const { site, atMs, language, by } = print;
  const words = surveyWords[language];
  const title = printable(words.plan.title(print.station));
  const pdf = await openPdf(title, atMs, language);
  return pdfBytes(pdf, () => {
    pdf.font('strong').fontSize(20).text(title, page.left, page.top);
    pdf.font('text').fontSize(10);
    const number = (value: number) => String(value).replace('.', words.decimal);
    const { setPointC, toleranceK, soakMin } = print;
    paragraph(pdf, words.plan.goal(number(setPointC), number(toleranceK), soakMin), 14);
    safety(pdf, words);
    map(pdf, print, words);
    steps(pdf, print, words);
    instruments(pdf, print, words);
    pdf.moveDown(2);
    paragraph(pdf, words.plan.began);
    const at = localTime(atMs, site.timeZone);
    const printed = words.frame.printed(site.title, site.timeZone, at, by);
    const frame = { title: `Setwell · ${title}`, printed, demo: site.demo, words: words.frame };
    framePages(pdf, { ...frame, changed: null });
  });
}

/** In a box of its own: it is read with the other hand on the way. */
function safety(pdf: Pdf, { safety: text }: SurveyWords): void {
  const inner = { width: pageWidth - 16 };
  pdf.moveDown(0.5).font('strong').fontSize(10);
  const height = pdf.heightOfString(text, inner) + 12;
  const top = pdf.y;
  pdf.lineWidth(1.5).strokeColor(ink).rect(page.left, top, pageWidth, height).stroke();
  pdf.text(text, page.left + 8, top + 6, inner);
  pdf
    .font('text')
    .fontSize(10)
    .text('', page.left, top + height + 6);
}

function map(pdf: Pdf, { grid, places }: SurveyPlanPrint, words: SurveyWords): void {
  const { back, here, order } = words.plan;
  const columns = grid?.columns ?? Math.min(usualColumns, places.length);
  const rows = Math.ceil(places.length / columns);
  const width = Math.min(150, pageWidth / columns);
  paragraph(pdf, order);
  keepTogether(pdf, rows * cell.height + 40);
  const centred = { width: columns * width, align: 'center' as const };
  pdf.moveDown(0.3).fontSize(9).fillColor(soft).text(back, page.left, pdf.y, centred);
  const top = pdf.y + 2;
  for (const [index, { point }] of places.entries()) {
    const x = page.left + (index % columns) * width;
    const y = top + Math.floor(index / columns) * cell.height;
    const size = { width: width - cell.gap, height: cell.height - cell.gap };
    pdf.lineWidth(1).strokeColor(ink).rect(x, y, size.width, size.height).stroke();
    const inside = { width: size.width, align: 'center' as const, lineBreak: false };
    const number = String(index + 1);
    pdf
      .font('strong')
      .fontSize(20)
      .fillColor(ink)
      .text(number, x, y + 7, inside);
    pdf
      .font('text')
      .fontSize(9)
      .text(printable(point), x, y + 34, inside);
  }
  pdf.fontSize(9).fillColor(soft);
  pdf.text(here, page.left, top + rows * cell.height, centred);
  pdf.fillColor(ink).fontSize(10).text('', page.left, pdf.y);
}

function steps(pdf: Pdf, { from, soakMin, places }: SurveyPlanPrint, { plan }: SurveyWords): void {
  const columns = ['time_s', ...places.map(({ point }) => point)].join(',');
  const told = [
    from === 'live' ? plan.own : plan.loose,
    plan.wait,
    plan.soak(soakMin),
    ...(from === 'file' ? [plan.file(columns)] : []),
    plan.record,
  ];
  heading(pdf, plan.what, 110);
  for (const [index, text] of told.entries()) {
    paragraph(pdf, `${String(index + 1)}.  ${text}`);
    pdf.moveDown(0.2);
  }
}

function instruments(pdf: Pdf, { places }: SurveyPlanPrint, { plan }: SurveyWords): void {
  heading(pdf, plan.with, 80);
  const rows = places.map(({ point, instrument, certificate, due }, index) => [
    String(index + 1),
    ...[point, instrument ?? '', certificate ?? '', due ?? '', ''],
  ]);
  table(pdf, [30, 95, 105, 105, 70, 94], [plan.columns, ...rows]);
}
