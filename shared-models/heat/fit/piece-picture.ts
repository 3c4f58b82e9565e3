import type { PieceFit } from './piece-fit.ts';

const WIDTH = 640;
const HEIGHT = 400;
const LEFT = 52;
const RIGHT = 96;
const TOP = 40;
const BOTTOM = 48;

/** Measured dots are drawn at so many times; every one would be a smear. */
const DOTS = 40;

/** Told apart by dash and name too, never by colour alone. */
const COLOURS = ['#1f5f8b', '#8b3d1f', '#1f7a4d', '#6b3d8b', '#7a6a1f', '#444444'];
const DASHES = ['', '7 3', '2 3', '9 3 2 3', '4 4', '1 2'];

/**
 * A calibration run as an SVG picture: measured dots and computed lines over time, a line a thermocouple.
 *
 * @param title in words; it is the picture's accessible name too
 */
export function piecePicture({ timesS, rows }: PieceFit['picture'], title: string): string {
  const values = rows.flatMap(({ measuredC, computedC }) => [
    ...measuredC.filter((value) => value !== null),
    ...computedC,
  ]);
  const [leastC, mostC] = [least(values), -least(values.map((value) => -value))];
  const step = niceStep((mostC - leastC) / 6);
  const [fromC, toC] = [Math.floor(leastC / step) * step, Math.ceil(mostC / step) * step];
  const [fromMin, toMin] = [timesS[0] / 60, timesS[timesS.length - 1] / 60];
  const x = (min: number) => LEFT + ((WIDTH - LEFT - RIGHT) * (min - fromMin)) / (toMin - fromMin);
  const y = (c: number) =>
    HEIGHT - BOTTOM - ((HEIGHT - TOP - BOTTOM) * (c - fromC)) / (toC - fromC);
  const lines: string[] = [
    `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${WIDTH} ${HEIGHT}" role="img" font-family="sans-serif" font-size="12">`,
    `<title>${escaped(title)}</title>`,
    `<rect width="${WIDTH}" height="${HEIGHT}" fill="#fff"/>`,
    `<text x="${LEFT}" y="22" font-size="14" fill="#222">${escaped(title)}</text>`,
  ];
  for (let c = fromC; c <= toC + 1e-9; c += step) {
    const at = round(y(c));
    lines.push(
      `<path d="M${LEFT} ${at}H${WIDTH - RIGHT}" stroke="#ddd"/><text x="${LEFT - 8}" y="${at + 4}" text-anchor="end" fill="#222">${Number(c.toPrecision(6))}</text>`,
    );
  }
  const stepMin = niceStep((toMin - fromMin) / 6);
  for (let min = Math.ceil(fromMin / stepMin) * stepMin; min <= toMin + 1e-9; min += stepMin) {
    const at = round(x(min));
    lines.push(
      `<path d="M${at} ${HEIGHT - BOTTOM}v5" stroke="#222"/><text x="${at}" y="${HEIGHT - BOTTOM + 18}" text-anchor="middle" fill="#222">${Number(min.toPrecision(6))}</text>`,
    );
  }
  lines.push(
    `<path d="M${LEFT} ${TOP}V${HEIGHT - BOTTOM}H${WIDTH - RIGHT}" fill="none" stroke="#222"/>`,
    `<text x="${(LEFT + WIDTH - RIGHT) / 2}" y="${HEIGHT - 12}" text-anchor="middle" fill="#222">minutes; dots measured, lines computed</text>`,
    `<text transform="translate(14 ${(TOP + HEIGHT - BOTTOM) / 2}) rotate(-90)" text-anchor="middle" fill="#222">°C</text>`,
  );
  const every = Math.max(1, Math.ceil(timesS.length / DOTS));
  const ends = namesApart(rows.map(({ computedC }) => y(computedC[computedC.length - 1])));
  rows.forEach(({ depthMm, measuredC, computedC }, i) => {
    const colour = COLOURS[i % COLOURS.length];
    const points = timesS.map((s, row) => `${round(x(s / 60))},${round(y(computedC[row]))}`);
    lines.push(
      `<polyline points="${points.join(' ')}" fill="none" stroke="${colour}" stroke-width="1.5" stroke-dasharray="${DASHES[i % DASHES.length]}"/>`,
      `<text x="${WIDTH - RIGHT + 6}" y="${round(ends[i]) + 4}" fill="${colour}">${Number(depthMm.toPrecision(6))} mm</text>`,
    );
    timesS.forEach((s, row) => {
      const value = measuredC[row];
      if (row % every !== 0 || value === null) return;
      lines.push(
        `<circle cx="${round(x(s / 60))}" cy="${round(y(value))}" r="2.2" fill="none" stroke="${colour}"/>`,
      );
    });
  });
  return [...lines, '</svg>', ''].join('\n');
}

/** Names of lines that end close together stand under one another. */
function namesApart(heights: readonly number[]): number[] {
  const placed = [...heights];
  const order = heights.map((_, i) => i).sort((a, b) => heights[a] - heights[b] || a - b);
  order.forEach((i, nth) => {
    if (nth > 0) placed[i] = Math.max(placed[i], placed[order[nth - 1]] + 13);
  });
  return placed;
}

function niceStep(atLeast: number): number {
  let decade = 1;
  while (decade > atLeast) decade /= 10;
  while (decade * 10 < atLeast) decade *= 10;
  return [1, 2, 5, 10].map((each) => each * decade).find((each) => each >= atLeast) ?? 10 * decade;
}

function least(values: readonly number[]): number {
  let found = Infinity;
  for (const value of values) found = Math.min(found, value);
  return found;
}

function round(pixels: number): number {
  return Math.floor(pixels * 10 + 0.5) / 10;
}

function escaped(text: string): string {
  return text.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('"', '&quot;');
}
