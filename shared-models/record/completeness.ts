/** Load numbers that nobody has seen, of one series: `P1-00231` is number 231 of `P1-`. */
export interface NumberGap {
  series: string;
  from: string;
  to: string;
  seen: number;
  /** At most {@link mostMissing} of them. */
  missing: string[];
  missingCount: number;
}

const mostMissing = 100;
/** A jump so wide is another series, not a thousand loads that are missing. */
const widestGap = 1000;

/**
 * The series of load names that end in a number, each with the numbers between its first and last that no
 * load has. Names that end in none, and series of one, are left out.
 */
export function numberGaps(loads: readonly string[]): NumberGap[] {
  const series = new Map<string, Map<number, string>>();
  for (const load of loads) {
    const match = /^(?<name>.*?)(?<digits>[0-9]{1,9})$/.exec(load);
    const { name = '', digits } = match?.groups ?? {};
    if (digits === undefined) continue;
    // Numbers of another length are another series: 99 and 0099 are not one name.
    const key = digits.startsWith('0') ? `${name}${'0'.repeat(digits.length)}` : name;
    const numbers = series.get(key) ?? new Map<number, string>();
    numbers.set(Number(digits), load);
    series.set(key, numbers);
  }
  return [...series].flatMap(([key, numbers]) => gapsOf(key, numbers)).sort(bySeries);
}

function gapsOf(key: string, numbers: Map<number, string>): NumberGap[] {
  const sorted = [...numbers.keys()].sort((a, b) => a - b);
  const [first] = sorted;
  const last = sorted.at(-1);
  if (first === undefined || last === undefined || sorted.length < 2) return [];
  const missing: string[] = [];
  let missingCount = 0;
  for (let index = 1; index < sorted.length; index += 1) {
    const before = sorted[index - 1];
    if (sorted[index] - before > widestGap) continue;
    for (let number = before + 1; number < sorted[index]; number += 1) {
      missingCount += 1;
      if (missing.length < mostMissing) missing.push(nameLike(numbers.get(before) ?? '', number));
    }
  }
  const from = numbers.get(first) ?? '';
  const to = numbers.get(last) ?? '';
  return [{ series: key, from, to, seen: sorted.length, missing, missingCount }];
}

function nameLike(load: string, number: number): string {
  const digits = /[0-9]{1,9}$/.exec(load)?.[0] ?? '';
  return load.slice(0, load.length - digits.length) + String(number).padStart(digits.length, '0');
}

function bySeries(a: NumberGap, b: NumberGap): number {
  return a.series < b.series ? -1 : a.series > b.series ? 1 : 0;
}

/**
 * What a station was in an hour: `heating` is heat right before or after an hour with a load, `hot` is heat
 * without a load far and wide, `read` is readings that say neither.
 */
export type HourState =
  'load' | 'heating' | 'hot' | 'empty' | 'out-of-service' | 'read' | 'no-readings';

export interface StationHour {
  fromMs: number;
  state: HourState;
  /** Loads that lay in it. */
  loads: string[];
  /** Greatest reading of its points [°C]; null where none is known. */
  greatestC: number | null;
}

export const hourMs = 3_600_000;
/** Above this a press or an oven is heated, whatever the room [°C]: common practice, no source. */
export const hotAboveC = 50;

/**
 * Each hour of a station, one after the other, none left out.
 *
 * @param greatestC greatest reading in the hour from a time on; null: none, undefined: not in °C
 */
export function stationHours(
  fromMs: number,
  toMs: number,
  loads: readonly { id: string; startMs: number; endMs: number | null }[],
  outOfService: readonly { fromMs: number; toMs: number }[],
  greatestC: (fromMs: number) => number | null | undefined,
  heats: boolean,
): StationHour[] {
  const hours: StationHour[] = [];
  for (let at = fromMs - (fromMs % hourMs); at < toMs; at += hourMs) {
    const end = at + hourMs;
    const inside = loads.filter(({ startMs, endMs }) => startMs < end && (endMs ?? end) > at);
    const greatest = greatestC(at);
    const isOut = outOfService.some((span) => span.fromMs < end && span.toMs > at);
    hours.push({
      fromMs: at,
      state: stateOf(inside.length > 0, isOut, greatest, heats),
      loads: inside.map(({ id }) => id),
      greatestC: greatest ?? null,
    });
  }
  const isLoaded = hours.map(({ state }) => state === 'load');
  return hours.map((hour, at) => {
    const isNextToLoad = isLoaded[at - 1] || isLoaded[at + 1];
    return hour.state === 'hot' && isNextToLoad ? { ...hour, state: 'heating' } : hour;
  });
}

function stateOf(
  isLoaded: boolean,
  isOut: boolean,
  greatestC: number | null | undefined,
  heats: boolean,
): HourState {
  if (isLoaded) return 'load';
  // Heat in a station that is out of service is the more important thing to know.
  if (heats && typeof greatestC === 'number' && greatestC > hotAboveC) return 'hot';
  if (isOut) return 'out-of-service';
  if (greatestC === null) return 'no-readings';
  return greatestC === undefined ? 'read' : 'empty';
}
