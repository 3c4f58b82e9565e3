import { cureBar } from '@setwell/shared-models/api/cure-bar';
import type { VerdictToken } from '@setwell/shared-models/api/floor';
import type { CureInterval, Window } from '@setwell/shared-models/score/shape';
import { ink, paper, soft, type Pdf } from './pdf-page.ts';
import { inWords, type RecordWords } from './record-words.ts';

const height = 12;

/**
 * The cure bar: solid is proven, hatched is possible, the two posts are the window. As on the screens, and
 * in black alone, so that a copy of a copy still says it.
 */
export function drawCureBar(
  pdf: Pdf,
  cure: CureInterval,
  window: Window,
  unit: string,
  at: { x: number; y: number; width: number; words: RecordWords },
): void {
  const { low, nominal, high, least, most } = cureBar(cure, window);
  const { x, y, width } = at;
  const px = (share: number) => x + share * width;
  pdf.save().lineWidth(0.5).strokeColor(ink);
  pdf.rect(x, y, width, height).stroke();
  pdf.rect(x, y, low * width, height).fill(ink);
  hatch(pdf, px(low), y, (high - low) * width);
  pdf.lineWidth(1.5).strokeColor(ink);
  pdf
    .moveTo(px(nominal), y - 1)
    .lineTo(px(nominal), y + height + 1)
    .stroke();
  for (const post of [least, most]) {
    if (post === null) continue;
    pdf.lineWidth(4).strokeColor(paper);
    pdf
      .moveTo(px(post), y - 3)
      .lineTo(px(post), y + height + 3)
      .stroke();
    pdf.lineWidth(2).strokeColor(ink);
    pdf
      .moveTo(px(post), y - 4)
      .lineTo(px(post), y + height + 4)
      .stroke();
  }
  pdf.restore();
  pdf.font('text').fontSize(7.5).fillColor(soft);
  const under = y + height + 5;
  const { words } = at;
  const range = words.range(told(cure.low, words), told(cure.high, words));
  pdf.text(`${range} ${unit}`, x, under, { lineBreak: false });
  label(pdf, told(window.least, words), px(least), under);
  if (most !== null && window.most !== null) label(pdf, told(window.most, words), px(most), under);
  pdf.fontSize(10).fillColor(ink);
}

function label(pdf: Pdf, text: string, x: number, y: number): void {
  pdf.text(text, x - 20, y, { width: 40, align: 'center', lineBreak: false });
}

/** Three digits that count, and no more. */
export function told(value: number, words: RecordWords): string {
  const digits = value >= 100 ? 0 : value >= 1 ? 1 : 2;
  return inWords(value.toFixed(digits), words);
}

function hatch(pdf: Pdf, x: number, y: number, width: number): void {
  if (width <= 0.2) return;
  pdf.save().rect(x, y, width, height).clip().lineWidth(0.7).strokeColor(ink);
  for (let from = x - height; from < x + width; from += 2.5) {
    pdf.moveTo(from, y + height).lineTo(from + height, y);
  }
  pdf.stroke().restore();
  pdf.lineWidth(0.5).strokeColor(ink).rect(x, y, width, height).stroke();
}

/** The sign of a verdict: where the block stands between two posts is the meaning. */
export function drawSign(pdf: Pdf, token: VerdictToken, x: number, y: number): void {
  pdf.save().translate(x, y).scale(0.36).translate(8, 0);
  pdf.lineWidth(2).strokeColor(ink).fillColor(ink);
  if (token === 'in-window') pdf.rect(21, 11, 22, 26).fill();
  else if (token === 'under') pdf.rect(-6, 11, 17, 26).fill().rect(-6, 45, 60, 2).fill();
  else if (token === 'over') pdf.rect(53, 11, 17, 26).fill().rect(10, 45, 60, 2).fill();
  else if (token === 'not-yet') pdf.path('M0 15h3l9 9-9 9H0z').fill();
  else {
    pdf.save().rect(2, 13, 32, 22).clip();
    for (let from = -20; from < 40; from += 7) pdf.moveTo(from, 35).lineTo(from + 22, 13);
    pdf.stroke().restore().rect(2, 13, 32, 22).stroke();
  }
  pdf.lineWidth(4).path('M22 6h-6v36h6M42 6h6v36h-6').stroke();
  pdf.restore();
}
