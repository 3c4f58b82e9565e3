import { signal } from '@preact/signals';
import { keep, kept } from './kept.ts';

/** What temperatures are shown in; everything else of the program is in °C. */
export type Degrees = '°C' | '°F';

const asked = new URLSearchParams(location.search).get('degrees') ?? kept('degrees');

/** The choice of this device. */
export const degrees = signal<Degrees>(asked === 'F' || asked === '°F' ? '°F' : '°C');

export function setDegrees(next: Degrees): void {
  keep('degrees', next);
  degrees.value = next;
}

/** A temperature, in the device's degrees. */
export const shownDegrees = (c: number): number => (degrees.value === '°F' ? c * 1.8 + 32 : c);

/** A difference of temperatures, in the device's degrees: it has no 32. */
export const shownDifference = (k: number): number => (degrees.value === '°F' ? k * 1.8 : k);

/** The way back, for round grid lines: what reads 100 °F stands at 37.8 °C. */
export const celsiusOf = (shown: number): number =>
  degrees.value === '°F' ? (shown - 32) / 1.8 : shown;
