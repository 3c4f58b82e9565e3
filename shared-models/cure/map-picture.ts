import { log, LN10 } from '../units/logarithm.ts';
import type { MapCurve, TimeTemperatureMap } from './map.ts';

const WIDTH = 640;
const HEIGHT = 400;
const LEFT = 64;
const RIGHT = 150;
const TOP = 40;
const BOTTOM = 52;

/** Shortest and longest time of the axis [min]: a second and a thousand days. */
const SHORTEST_MIN = 1 / 60;
const LONGEST_MIN = 1_440_000;

/**
 * The map as an SVG picture: temperature across, minutes upwards on a logarithmic scale.
 *
 * The window is hatched as well as tinted, and every curve is named at its end, so that nothing is
 * told by colour alone.
 *
 * @param title in words; it is the picture's accessible name too
 */
export function mapPicture(map: TimeTemperatureMap, title: string): string {
  const { tempsC, curves, window } = map;
  const all = [...curves, ...(window ? [window.least, ...(window.most ? [window.most] : [])] : [])];
  const minutes = all
    .flatMap((curve) => curve.minutes)
    .filter((value) => value !== null && value >= SHORTEST_MIN && value <= LONGEST_MIN) as number[];
  const lowDecade = Math.floor(decades(Math.min(...minutes, LONGEST_MIN)));
  const highDecade = Math.max(
    lowDecade + 1,
    Math.ceil(decades(Math.max(...minutes, SHORTEST_MIN))),
  );
  const fromC = tempsC[0]!;
  const toC = tempsC[tempsC.length - 1]!;
  const x = (tempC: number) => LEFT + ((WIDTH - LEFT - RIGHT) * (tempC - fromC)) / (toC - fromC);
  const y = (value: number) => {
    const share = (decades(value) - lowDecade) / (highDecade - lowDecade);
    return HEIGHT - BOTTOM - (HEIGHT - TOP - BOTTOM) * Math.min(1, Math.max(0, share));
  };
  const points = (curve: MapCurve) =>
    curve.minutes.flatMap((value, i) =>
      value === null ? [] : [`${round(x(tempsC[i]!))},${round(y(value))}`],
    );
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${WIDTH} ${HEIGHT}" role="img" font-family="sans-serif" font-size="12">`,
    `<title>${escaped(title)}</title>`,
    '<defs><pattern id="window" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><rect width="6" height="6" fill="#e3efe6"/><line y2="6" stroke="#8fb79a" stroke-width="1.5"/></pattern></defs>',
    `<rect width="${WIDTH}" height="${HEIGHT}" fill="#fff"/>`,
    `<text x="${LEFT}" y="22" font-size="14" fill="#222">${escaped(title)}</text>`,
    windowShape(window, points),
    ...axes({ fromC, toC, lowDecade, highDecade, x, y }),
    ...all.map((curve, i) => curveLine(curve, points(curve), map.unit, i >= curves.length)),
    '</svg>',
    '',
  ].join('\n');
}

function windowShape(
  window: TimeTemperatureMap['window'],
  points: (curve: MapCurve) => string[],
): string {
  if (window === null) return '';
  const lower = points(window.least);
  if (lower.length < 2) return '';
  const upper =
    window.most === null
      ? [`${lower[lower.length - 1]!.split(',')[0]},${TOP}`, `${lower[0]!.split(',')[0]},${TOP}`]
      : points(window.most).reverse();
  return `<polygon points="${[...lower, ...upper].join(' ')}" fill="url(#window)"/>`;
}

function curveLine(curve: MapCurve, points: string[], unit: string, isEdge: boolean): string {
  if (points.length < 2) return '';
  const [endX, endY] = points[points.length - 1]!.split(',');
  const name = unit === '1' ? `${curve.value}` : `${curve.value} ${unit}`;
  return [
    `<polyline points="${points.join(' ')}" fill="none" stroke="${isEdge ? '#1f5f33' : '#444'}" stroke-width="${isEdge ? 2.5 : 1.25}"/>`,
    `<text x="${Number(endX) + 6}" y="${Number(endY) + 4}" fill="#222"${isEdge ? ' font-weight="bold"' : ''}>${escaped(name)}</text>`,
  ].join('');
}

function axes(frame: {
  fromC: number;
  toC: number;
  lowDecade: number;
  highDecade: number;
  x(tempC: number): number;
  y(minutes: number): number;
}): string[] {
  const { fromC, toC, lowDecade, highDecade, x, y } = frame;
  const bottom = HEIGHT - BOTTOM;
  const lines = [
    `<path d="M${LEFT} ${TOP}V${bottom}H${WIDTH - RIGHT}" fill="none" stroke="#222"/>`,
    `<text x="${(LEFT + WIDTH - RIGHT) / 2}" y="${HEIGHT - 14}" text-anchor="middle" fill="#222">held temperature, °C</text>`,
    `<text transform="translate(16 ${(TOP + bottom) / 2}) rotate(-90)" text-anchor="middle" fill="#222">minutes</text>`,
  ];
  const step = [1, 2, 5, 10, 20, 50, 100].find((each) => (toC - fromC) / each <= 8) ?? 200;
  for (let tempC = Math.ceil(fromC / step) * step; tempC <= toC; tempC += step) {
    lines.push(
      `<path d="M${round(x(tempC))} ${bottom}v5" stroke="#222"/><text x="${round(x(tempC))}" y="${bottom + 18}" text-anchor="middle" fill="#222">${tempC}</text>`,
    );
  }
  let minutes = 1;
  for (let decade = 0; decade > lowDecade; decade--) minutes /= 10;
  for (let decade = 0; decade < lowDecade; decade++) minutes *= 10;
  for (let decade = lowDecade; decade <= highDecade; decade++, minutes *= 10) {
    const at = round(y(minutes));
    lines.push(
      `<path d="M${LEFT} ${at}H${WIDTH - RIGHT}" stroke="#ddd"/><text x="${LEFT - 8}" y="${at + 4}" text-anchor="end" fill="#222">${Number(minutes.toPrecision(1))}</text>`,
    );
  }
  return lines;
}

function decades(minutes: number): number {
  return log(minutes) / LN10;
}

function round(pixels: number): number {
  return Math.floor(pixels * 10 + 0.5) / 10;
}

function escaped(text: string): string {
  return text.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('"', '&quot;');
}
