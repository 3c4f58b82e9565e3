import type { CoatShown, CoatStack } from '@setwell/shared-models/record/coat-shown';
import { drawCureBar, drawSign, told } from './pdf-cure-bar.ts';
import type { RecordWords } from './record-words.ts';
import {
  heading,
  keepTogether,
  page,
  pageWidth,
  paragraph,
  printable,
  type Pdf,
} from './pdf-page.ts';

/** More part names than stand in two lines. */
const partsNamed = 12;

/** The coats as they lie, last one on top: all bakes of each against what it stands, its own in words. */
export function coatStacks(pdf: Pdf, stacks: readonly CoatStack[], words: RecordWords): void {
  for (const { parts, coats } of stacks) {
    heading(pdf, words.headings.coats, 30 + 34 * coats.length);
    if (parts !== null) paragraph(pdf, partsText(parts, words), 8.5);
    for (const coat of [...coats].reverse()) coatRow(pdf, coat, words);
  }
  pdf.fontSize(10);
  pdf.x = page.left;
}

function coatRow(pdf: Pdf, coat: CoatShown, words: RecordWords): void {
  keepTogether(pdf, 34);
  const y = pdf.y + 4;
  drawSign(pdf, coat.verdict, page.left, y - 3);
  const at = { lineBreak: false };
  pdf.font('strong').fontSize(8.5);
  pdf.text(words.coat(coat.coat, words.verdict[coat.verdict]), page.left + 32, y - 2, at);
  pdf
    .font('text')
    .text(printable(stepText(coat, words)), page.left + 32, y + 9, { ...at, width: 210 });
  const { sum, total, step, unit } = coat;
  drawCureBar(pdf, sum, total?.window ?? step.window, unit, {
    ...{ x: page.left + 250, y, width: pageWidth - 250, words },
  });
  pdf.y = y + 31;
  pdf.x = page.left;
}

/** Its own bake, or that it never had one. */
function stepText({ load, step, unit, unjudged, endMs }: CoatShown, words: RecordWords): string {
  if (unjudged !== undefined) return words.unfollowed(unjudged.join(', '));
  if (load === null) return endMs === null ? words.neverBaked : words.neverHealed;
  const range = words.range(told(step.low, words), told(step.high, words));
  return words.ownBake(load, `${range} ${unit}`);
}

function partsText(parts: readonly string[], words: RecordWords): string {
  const more = parts.length - partsNamed;
  const named = parts.slice(0, partsNamed).join(', ');
  return printable(words.someParts(named, more));
}
