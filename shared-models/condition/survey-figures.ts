import type { Survey } from './survey.ts';

/**
 * What a survey says of a place in its zone, as a half-width [K]: half of what lasts between its points.
 * A recipe's `placeK` takes it; what comes and goes is in the readings already.
 */
export function placeHalfWidthK({ uniformityK }: Survey): number {
  return uniformityK / 2;
}

/** The same as a recipe's author takes it [K]: in tenths, and never less than was found. */
export function offeredPlaceK(placeK: number): number {
  return Math.ceil(placeK * 10) / 10;
}

/** How each point has moved against the others since the last survey. */
export interface SurveyComparison {
  uniformityK: number;
  /** Farthest first; a change of all alike is the set point's, and no point's. */
  points: { point: string; changeK: number }[];
  /** Points of one survey that the other has not. */
  missing: string[];
  /** Two that read now what the other read then: their wires or columns may be swapped. */
  exchanged: [string, string] | null;
}

/** A difference below this is no mark of a place [K]; two that agree to a quarter of it are alike. Common practice, no source. */
const PLACE_MARK_K = 1;

/** A survey beside the last one of the same points. */
export function compareSurveys(now: Survey, before: Survey): SurveyComparison {
  const [own, earlier] = [differences(now, before), differences(before, now)];
  const points = [...own].map(([point, k]) => ({ point, changeK: k - (earlier.get(point) ?? 0) }));
  points.sort((a, b) => Math.abs(b.changeK) - Math.abs(a.changeK));
  const names = [...now.means, ...before.means].map(({ point }) => point);
  return {
    uniformityK: now.uniformityK - before.uniformityK,
    points,
    missing: [...new Set(names)].filter((point) => !own.has(point)),
    exchanged: exchangedOf(points, own, earlier),
  };
}

/** The two that moved most, where each has come to where the other was. */
function exchangedOf(
  [one, other]: SurveyComparison['points'],
  own: ReadonlyMap<string, number>,
  earlier: ReadonlyMap<string, number>,
): SurveyComparison['exchanged'] {
  if (one === undefined || other === undefined) return null;
  const apartK = Math.abs((earlier.get(one.point) ?? 0) - (earlier.get(other.point) ?? 0));
  const [now, was] = [own, earlier].map((of) => [of.get(one.point), of.get(other.point)]);
  const isAlike = (a = NaN, b = NaN) => Math.abs(a - b) <= apartK / 4;
  const isExchanged = isAlike(now?.[0], was?.[1]) && isAlike(now?.[1], was?.[0]);
  return apartK >= PLACE_MARK_K && isExchanged ? [one.point, other.point] : null;
}

/** Each point's mean less the mean of those that both surveys have. */
function differences({ means }: Survey, other: Survey): Map<string, number> {
  const known = new Set(other.means.map(({ point }) => point));
  const common = means.filter(({ point }) => known.has(point));
  const meanC = common.reduce((sum, { c }) => sum + c, 0) / Math.max(1, common.length);
  return new Map(common.map(({ point, c }) => [point, c - meanC]));
}

/** What each point's sensor was, and what was taken off its samples. */
export interface SurveyedBy {
  point: string;
  instrument: string | null;
  certificate: string | null;
  /** At the point's mean [K]; null: samples came corrected. */
  correctionK: number | null;
  observedC: number | null;
}

/** Where the points of a survey lie, row by row from the back, each from the left. */
export interface SurveyGrid {
  rows: number;
  columns: number;
}

/** `3x3`: rows, then columns. Null: no such grid. */
export function gridNamed(text: string): SurveyGrid | null {
  const parts = /^([1-9]\d?)\s*[x×]\s*([1-9]\d?)$/i.exec(text.trim());
  return parts === null ? null : { rows: Number(parts[1]), columns: Number(parts[2]) };
}
