import { createLaw } from './create-law.ts';
import { lawDoubt } from './law-doubt.ts';
import type { LawSpec } from './law-spec.ts';
import { timeTemperatureMap, type TimeTemperatureMap } from './map.ts';

/** What a window asks at one held temperature. */
export interface HeldRow {
  /** [°C]; of a dose the irradiance [mW/cm²] */
  at: number;
  /** Until the least is reached [min]; null: never. */
  leastMin: number | null;
  leastRangeMin: HeldRange | null;
  /** Until the most is reached [min]; null: never, or there is none. */
  mostMin: number | null;
  mostRangeMin: HeldRange | null;
}

/**
 * What the law's stated errors leave open of a time, k = 2 [min]; no range where it states none. They move
 * its rate: without an end where the rate may be nothing.
 */
export type HeldRange = [low: number, high: number | null];

/** A recipe's window as times at held temperatures: at the glue or coat itself, once it is that warm. */
export interface HeldWindow {
  /** Fine enough to be drawn. */
  map: TimeTemperatureMap;
  rows: HeldRow[];
}

/** Temperatures of a picture, and at most of a table. */
const drawn = 61;
const mostRows = 9;
/** Round steps of a table [K]. */
const steps = [1, 2, 5, 10, 20, 50, 100];
/** Shown beside the reference of a law that says no range [K]. */
const besideK = 20;
/** What lamps give [mW/cm²]; common practice, no source. */
const irradiances = [10, 20, 50, 80, 100, 200];

/**
 * @param window in the law's unit
 * @throws RangeError where the law's constants contradict each other
 */
export function heldWindow(
  spec: LawSpec,
  window: { least: number; most: number | null },
): HeldWindow {
  const law = createLaw(spec);
  const [fromC, toC] = rangeOf(spec);
  const minutesTo = (value: number, at: number): number | null => {
    const minutes = law.secondsToReach(law.initial, value, at) / 60;
    return Number.isFinite(minutes) ? minutes : null;
  };
  const rangeAt = (minutes: number | null, at: number): HeldRange | null => {
    const share = minutes === null || minutes === 0 ? 0 : lawDoubt(spec, at, minutes * 60).ofRate;
    if (minutes === null || share === 0) return null;
    return [minutes / (1 + share), share < 1 ? minutes / (1 - share) : null];
  };
  const rows = tableOf(spec, fromC, toC).map((at): HeldRow => {
    const leastMin = minutesTo(window.least, at);
    const mostMin = window.most === null ? null : minutesTo(window.most, at);
    const [leastRangeMin, mostRangeMin] = [rangeAt(leastMin, at), rangeAt(mostMin, at)];
    return { at, leastMin, leastRangeMin, mostMin, mostRangeMin };
  });
  return { map: timeTemperatureMap(law, { fromC, toC, count: drawn }, [], window), rows };
}

function rangeOf(spec: LawSpec): [from: number, to: number] {
  if ('form' in spec && spec.form === 'dose') {
    return [irradiances[0]!, irradiances[irradiances.length - 1]!];
  }
  if (spec.validC !== undefined) return spec.validC;
  const middleC =
    'form' in spec && 'referenceC' in spec ? spec.referenceC : (spec.floorC ?? 100) + besideK;
  return [middleC - besideK, middleC + besideK];
}

/** Round temperatures between both ends, and the law's reference among them. */
function tableOf(spec: LawSpec, fromC: number, toC: number): number[] {
  if ('form' in spec && spec.form === 'dose') return irradiances;
  const step = steps.find((each) => (toC - fromC) / each < mostRows) ?? 200;
  const round: number[] = [];
  for (let at = Math.ceil(fromC / step) * step; at <= toC; at += step) round.push(at);
  const ends = [fromC, toC, ...('form' in spec && 'referenceC' in spec ? [spec.referenceC] : [])];
  const all = [...round, ...ends.filter((at) => at >= fromC && at <= toC && !round.includes(at))];
  return all.sort((a, b) => a - b);
}
