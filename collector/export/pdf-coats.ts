import type { CoatShown, CoatStack } from '@setwell/shared-models/record/coat-shown';
import type { Verdict } from '@setwell/shared-models/score/shape';
import { drawCureBar, drawSign, told } from './pdf-cure-bar.ts';
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
export function coatStacks(
  pdf: Pdf,
  stacks: readonly CoatStack[],
  words: Record<Verdict, string>,
): void {
  for (const { parts, coats } of stacks) {
    heading(pdf, 'Coats as they lie, top first', 30 + 34 * coats.length);
    if (parts !== null) paragraph(pdf, partsText(parts), 8.5);
    for (const coat of [...coats].reverse()) coatRow(pdf, coat, words[coat.verdict]);
  }
  pdf.fontSize(10);
  pdf.x = page.left;
}

function coatRow(pdf: Pdf, coat: CoatShown, verdict: string): void {
  keepTogether(pdf, 34);
  const y = pdf.y + 4;
  drawSign(pdf, coat.verdict, page.left, y - 3);
  const at = { lineBreak: false };
  pdf.font('strong').fontSize(8.5);
  pdf.text(`Coat ${String(coat.coat)} · ${verdict}`, page.left + 32, y - 2, at);
  pdf.font('text').text(printable(stepText(coat)), page.left + 32, y + 9, { ...at, width: 210 });
  const { sum, total, step, unit } = coat;
  drawCureBar(pdf, sum, total?.window ?? step.window, unit, {
    ...{ x: page.left + 250, y, width: pageWidth - 250, numbers: true },
  });
  pdf.y = y + 31;
  pdf.x = page.left;
}

/** Its own bake, or that it never had one. */
function stepText({ load, step, unit, unjudged, endMs }: CoatShown): string {
  if (unjudged !== undefined) return `nobody could follow ${unjudged.join(', ')}`;
  if (load === null) return endMs === null ? 'never baked' : 'never baked: no later bake heals it';
  return `own bake ${load}: ${told(step.low)} to ${told(step.high)} ${unit}`;
}

function partsText(parts: readonly string[]): string {
  const more = parts.length - partsNamed;
  const named = parts.slice(0, partsNamed).join(', ');
  return printable(`Parts ${named}${more > 0 ? ` and ${String(more)} more` : ''}`);
}
