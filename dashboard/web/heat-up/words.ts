import type { FaceCell } from '@setwell/shared-models/api/heat-up';
import { features, type FeatureName } from '@setwell/shared-models/condition/feature';
import type { FacePlace } from '@setwell/shared-models/condition/face-layout';
import { shownDegrees, shownDifference, degrees } from '../degrees.ts';
import { say } from '../language.ts';
import { differenceUnit, number, temperatureText, zoneText } from '../phrase.ts';

type Unit = (typeof features)[FeatureName]['unit'];

/** Digits that a value of this unit can use. */
const digitsOf: Record<Unit, number> = {
  min: 1,
  K: 1,
  '°C': 1,
  'K/min': 2,
  '%': 0,
  A: 1,
  'bar/min': 2,
  count: 2,
};

/** Left, upper: as one who stands in front of it says it; a zone of another name goes by that. */
export function faceText({
  zone: id,
  row,
  rows,
}: Pick<FacePlace, 'zone' | 'row' | 'rows'>): string {
  const zone = zoneText(id);
  if (rows === 1) return zone;
  const named = rows === 2 ? (row === 0 ? 'upper' : 'lower') : null;
  const words = named === null ? say('heat.row.n', { n: row + 1 }) : say(`heat.row.${named}`);
  return say('heat.face', { zone, row: words });
}

/** The same where a sentence begins with it. */
export function faceFirst(point: string, faces: readonly FaceCell[]): string {
  const text = faceOf(point, faces);
  return text.slice(0, 1).toUpperCase() + text.slice(1);
}

export function faceOf(point: string, faces: readonly FaceCell[]): string {
  const face = faces.find((each) => each.point === point);
  return face === undefined ? point : faceText(face);
}

/** Where a rate is taken [°C]; other features hang on no one temperature. */
const ratesAtC: Partial<Record<FeatureName, number>> = { 'rate-at-60': 60, 'rate-at-100': 100 };

export const featureText = (feature: FeatureName): string =>
  say(`heat.feature.${feature}`, { at: temperatureText(ratesAtC[feature] ?? 0, 0) });

/** The number alone, in the device's degrees. */
export function valueText(feature: FeatureName, value: number, more = 0): string {
  const { unit } = features[feature];
  const shown =
    unit === '°C' ? shownDegrees(value) : isDifference(unit) ? shownDifference(value) : value;
  return number(shown, digitsOf[unit] + more);
}

/** A change of the feature: of a temperature it is a difference. */
export function changeText(feature: FeatureName, value: number): string {
  const { unit } = features[feature];
  const shown = unit === '°C' || isDifference(unit) ? shownDifference(value) : value;
  const sign = shown > 0 ? '+' : shown < 0 ? '−' : '';
  return `${sign}${number(Math.abs(shown), Math.max(1, digitsOf[unit] + 1))}`;
}

const isDifference = (unit: Unit): boolean => unit === 'K' || unit === 'K/min';

export function unitText(feature: FeatureName): string {
  const { unit } = features[feature];
  if (unit === '°C') return degrees.value;
  if (unit === 'K') return differenceUnit();
  return unit === 'K/min' ? `${differenceUnit()}/min` : unit === 'count' ? '' : unit;
}

export function changeUnit(feature: FeatureName): string {
  return features[feature].unit === '°C' ? differenceUnit() : unitText(feature);
}
