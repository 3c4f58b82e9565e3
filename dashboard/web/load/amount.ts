import type { RequirementCheck } from '@setwell/shared-models/score/shape';
import { shownDegrees, shownDifference, degrees } from '../degrees.ts';
import { sayAny, say } from '../language.ts';
import { differenceUnit, number, saidNumber } from '../phrase.ts';

/** A figure as short as it is exact: three digits that count. */
function shortNumber(value: number): string {
  const size = Math.abs(value);
  return number(value, size >= 100 || Number.isInteger(value) ? 0 : size >= 10 ? 1 : 2);
}

/** A figure in the unit that a reader uses: temperatures in the device's degrees. */
function shown(value: number, unit: string): number {
  if (unit === '°C') return shownDegrees(value);
  return unit === 'K' ? shownDifference(value) : value;
}

function shownUnit(unit: string): string {
  if (unit === '1') return '';
  if (unit === '°C') return degrees.value;
  return unit === 'K' ? differenceUnit() : sayAny(`unit.${unit}`, unit);
}

/** 9.2 % */
export const amountText = (value: number, unit: string): string =>
  `${shortNumber(shown(value, unit))} ${shownUnit(unit)}`.trimEnd();

/** 11.2–13.2 °C */
export function rangeText(low: number, high: number, unit: string): string {
  const [from, to] = [low, high].map((value) => shortNumber(shown(value, unit)));
  return `${from === to ? from : `${from}–${to}`} ${shownUnit(unit)}`.trimEnd();
}

/** 1.445 N/mm², with all the digits that a recipe says. */
export const saidAmount = (value: number, unit: string): string =>
  `${saidNumber(shown(value, unit))} ${shownUnit(unit)}`.trimEnd();

/** 1.445–1.8 N/mm² */
export const saidRange = (low: number, high: number, unit: string): string =>
  low === high
    ? saidAmount(low, unit)
    : `${saidNumber(shown(low, unit))}–${saidAmount(high, unit)}`;

/** What was asked: at least, at most, or between. */
export function boundsText({ least, most, unit }: RequirementCheck): string {
  if (least !== null && most !== null) {
    return say('check.between', { bounds: rangeText(least, most, unit) });
  }
  if (least !== null) return say('check.least', { bound: amountText(least, unit) });
  return most === null ? '' : say('check.most', { bound: amountText(most, unit) });
}
