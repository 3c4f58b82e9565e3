import type { Survey } from './survey.ts';
import type { SurveyGrid } from './survey-figures.ts';

const cell = { width: 150, height: 110, gap: 6 };
const margin = 24;
const head = 56;
const foot = 40;

/** One hue, light to dark: paper to ink, so that a copy on a grey printer says the same. */
function shade(share: number): string {
  const level = Math.round(255 - 150 * share);
  return `rgb(${level},${level},${level})`;
}

/**
 * A survey as a picture of the plate, seen from the operator's side: each point where it lies, its mean,
 * what it differs from the set point by, and its own coming and going.
 *
 * @param points in the file's order: row by row from the back, from the left
 * @throws RangeError where the grid has not as many places as there are points: a caller's bug
 */
export function surveyMap(
  { means, fluctuationK, inside, uniformityK }: Survey,
  { rows, columns }: SurveyGrid,
  setPointC: number,
  toleranceK: number,
): string {
  if (rows * columns !== means.length) throw new RangeError('a grid of other points');
  const width = 2 * margin + columns * (cell.width + cell.gap);
  const height = head + foot + rows * (cell.height + cell.gap);
  const verdict = inside ? 'inside' : 'outside';
  const title = `${setPointC} ± ${toleranceK} °C: ${verdict}; uniformity ${uniformityK.toFixed(1)} K`;
  const cells = means.map(({ point, c }, index) => {
    const x = margin + (index % columns) * (cell.width + cell.gap);
    const y = head + Math.floor(index / columns) * (cell.height + cell.gap);
    const offK = c - setPointC;
    const share = Math.min(1, Math.abs(offK) / toleranceK);
    const dark = share > 0.7;
    const sign = offK < 0 ? '−' : '+';
    const line = (dy: number, size: number, text: string) =>
      `<text x="${x + cell.width / 2}" y="${y + dy}" font-size="${size}" text-anchor="middle" fill="${dark ? '#fff' : '#111'}">${escaped(text)}</text>`;
    return [
      `<rect x="${x}" y="${y}" width="${cell.width}" height="${cell.height}" fill="${shade(share)}" stroke="#111" stroke-width="${share >= 1 ? 4 : 1}"/>`,
      line(26, 16, point),
      line(58, 26, `${c.toFixed(1)} °C`),
      line(80, 16, `${sign}${Math.abs(offK).toFixed(1)} K`),
      line(100, 14, `± ${(fluctuationK[index]?.k ?? 0).toFixed(1)} K in time`),
    ].join('');
  });
  const below = `<text x="${margin}" y="${height - 14}" font-size="16" fill="#111">you stand here; darker is farther from the set point</text>`;
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${width} ${height}" width="${width}" height="${height}" font-family="sans-serif" role="img"><title>${escaped(title)}</title><rect width="${width}" height="${height}" fill="#fff"/><text x="${margin}" y="34" font-size="20" fill="#111">${escaped(title)}</text>${cells.join('')}${below}</svg>\n`;
}

function escaped(text: string): string {
  return text.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;');
}
