/**
 * What a released model offers: the entry of `score.mjs`, which holds this file and all it needs.
 *
 * Its text is frozen when a number is given to it, so that a verdict can be computed again from its
 * record in ten years, whatever has become of the sources.
 */
export { canonicalJson } from '../record/canonical.ts';
export { carriedTo, scoreCoats } from './coats.ts';
export { canonicalReadings, parseReadings } from './readings.ts';
export { score } from './score.ts';
export { trace } from './trace.ts';
