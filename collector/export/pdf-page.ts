import type { FrameWords } from './frame-words.ts';
import type { PrintLanguage } from './print-words.ts';
import { typeface } from './typeface.ts';

/** A4 upright [pt]. */
export const page = { width: 595.28, height: 841.89, left: 48, right: 547.28, top: 64, foot: 790 };
export const pageWidth = page.right - page.left;

export const ink = '#111111';
export const soft = '#555555';
export const line = '#999999';
export const paper = '#ffffff';

/** What stands on every page. */
export interface PageFrame {
  title: string;
  /** Left at the foot: zone, when, by whom. */
  printed: string;
  /** Null: it is no record. */
  changed: boolean | null;
  demo: boolean;
  words: FrameWords;
}

export type Pdf = PDFKit.PDFDocument;

/**
 * A document for an archive: typeface embedded, colours defined, no time but the one it is given, so that
 * the same record gives the same bytes.
 */
export async function openPdf(title: string, atMs: number, language: PrintLanguage): Promise<Pdf> {
  // Some twenty megabytes with its fonts' readers: a collector that prints nothing does without them.
  const { default: PDFDocument } = await import('pdfkit');
  const at = new Date(atMs);
  const pdf = new PDFDocument({
    size: 'A4',
    margins: { top: page.top, bottom: page.height - page.foot, left: page.left, right: 48 },
    bufferPages: true,
    subset: 'PDF/A-3b',
    pdfVersion: '1.7',
    lang: language,
    displayTitle: true,
    info: { Title: title, Producer: 'Setwell', Creator: 'Setwell', CreationDate: at, ModDate: at },
    // None of the document's own, which are not embedded.
    font: '',
  });
  pdf.registerFont('text', typeface(400));
  pdf.registerFont('strong', typeface(700));
  return pdf.font('text').fontSize(10).fillColor(ink);
}

/** The whole document, once `draw` has put everything on it. */
export async function pdfBytes(pdf: Pdf, draw: () => void | Promise<void>): Promise<Buffer> {
  const pieces: Buffer[] = [];
  pdf.on('data', (piece: Buffer) => void pieces.push(piece));
  const ended = new Promise<void>((resolve, reject) => {
    pdf.once('end', resolve);
    pdf.once('error', reject);
  });
  await draw();
  pdf.end();
  await ended;
  return Buffer.concat(pieces);
}

/** Head and foot of each page, once all of them are there. */
export function framePages(pdf: Pdf, { title, printed, changed, demo, words }: PageFrame): void {
  const { start, count } = pdf.bufferedPageRange();
  for (let at = start; at < start + count; at += 1) {
    pdf.switchToPage(at);
    const margins = pdf.page.margins;
    // Else text in the margin would begin a page of its own.
    pdf.page.margins = { ...margins, top: 0, bottom: 0 };
    if (demo) watermark(pdf);
    const right = { width: pageWidth, align: 'right' as const, lineBreak: false };
    pdf.font('strong').fontSize(9).fillColor(ink);
    pdf.text(printable(title), page.left, 34, { lineBreak: false });
    pdf.font('text').text(words.page(at - start + 1, count), page.left, 34, right);
    rule(pdf, 48);
    rule(pdf, page.foot + 8);
    pdf.fontSize(8).fillColor(soft);
    pdf.text(printable(printed), page.left, page.foot + 14, { lineBreak: false });
    if (changed !== null) {
      pdf.font(changed ? 'strong' : 'text');
      pdf.text(words.changed(changed), page.left, page.foot + 14, right);
    }
    pdf.page.margins = margins;
    pdf.font('text').fontSize(10).fillColor(ink);
  }
}

function rule(pdf: Pdf, y: number): void {
  pdf.lineWidth(0.5).strokeColor(line).moveTo(page.left, y).lineTo(page.right, y).stroke();
}

/** Across the page and through it, pale: what is invented must not pass for a record, and is to be read. */
function watermark(pdf: Pdf): void {
  pdf.save();
  pdf.rotate(-45, { origin: [page.width / 2, page.height / 2] });
  pdf.font('strong').fontSize(110).fillColor(ink).fillOpacity(0.06);
  pdf.text('DEMO', 0, page.height / 2 - 60, {
    width: page.width,
    align: 'center',
    lineBreak: false,
  });
  pdf.restore();
}

/** A heading with room for something under it. */
export function heading(pdf: Pdf, text: string, room = 60): void {
  keepTogether(pdf, room);
  pdf.moveDown(0.6).font('strong').fontSize(12).text(printable(text), page.left, pdf.y);
  pdf.font('text').fontSize(10).moveDown(0.2);
}

/** Begins a page where so much does not fit on this one. */
export function keepTogether(pdf: Pdf, height: number): void {
  if (pdf.y + height > page.foot) pdf.addPage();
}

export function paragraph(pdf: Pdf, text: string, size = 10): void {
  pdf.fontSize(size).text(printable(text), page.left, pdf.y, { width: pageWidth });
  pdf.fontSize(10);
}

/** Rows of columns of fixed widths under the first one; a row stays whole, and each page has the first. */
export function table(pdf: Pdf, widths: number[], [head = [], ...rows]: string[][]): void {
  pdf.fontSize(8.5).font('strong');
  drawRow(pdf, widths, head);
  for (const row of rows) {
    pdf.font('text');
    if (pdf.y + rowHeight(pdf, widths, row) > page.foot) {
      pdf.addPage().font('strong');
      drawRow(pdf, widths, head);
      pdf.font('text');
    }
    drawRow(pdf, widths, row);
  }
  pdf.font('text').fontSize(10);
  pdf.x = page.left;
}

function rowHeight(pdf: Pdf, widths: number[], row: string[]): number {
  const heights = row.map((text, column) =>
    pdf.heightOfString(printable(text), { width: (widths[column] ?? 60) - 6 }),
  );
  return Math.max(...heights) + 3;
}

function drawRow(pdf: Pdf, widths: number[], row: string[]): void {
  const height = rowHeight(pdf, widths, row);
  keepTogether(pdf, height);
  const y = pdf.y;
  let x = page.left;
  for (const [column, text] of row.entries()) {
    const width = widths[column] ?? 60;
    pdf.text(printable(text), x, y, { width: width - 6 });
    x += width;
  }
  pdf.y = y + height;
  const drawn = pdf.y - 1.5;
  pdf.lineWidth(0.25).strokeColor(line).moveTo(page.left, drawn).lineTo(x, drawn).stroke();
}

/**
 * What the typeface can show: the rest stands as its code point, so that no name becomes another one.
 * The shipped subset holds Latin letters and the usual signs.
 */
export function printable(text: string): string {
  return text.replaceAll(
    /[^\n\u0020-\u007e\u00a0-\u00ff\u0131\u0152\u0153\u2010-\u2027\u2030-\u203a\u20ac\u2122\u2212]/gu,
    (character) => `[U+${(character.codePointAt(0) ?? 0).toString(16).toUpperCase()}]`,
  );
}
