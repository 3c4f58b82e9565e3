import { readScan } from './scanner-layout.ts';

/** What a laminated card beside a station can be scanned for; the person's badge is the second scan. */
export type CardAct = 'start' | 'end' | 'go' | 'hold' | 'keep-closed';

export interface ActCode {
  act: CardAct;
  station: string;
}

const letters: Record<CardAct, string> = {
  start: 'S',
  end: 'E',
  go: 'G',
  hold: 'H',
  'keep-closed': 'K',
};

/**
 * Thirty-one signs, a prime number of them, that are the same on every layout tried but the French one;
 * without I, O, Q, Y and Z.
 */
const signs = '0123456789ABCDEFGHJKLMNPRSTUVWX';
const prefix = 'SW';
const stationSigns = 4;

/**
 * The sign that makes the sum of places times values a multiple of 31: it catches every single wrong
 * sign and every swap of neighbours.
 */
export function checkSign(text: string): string {
  let sum = 0;
  [...text].forEach((each, i) => (sum += ((i % 30) + 2) * signs.indexOf(each)));
  return signs.charAt((31 - (sum % 31)) % 31);
}

/** A station's name in four signs. */
function stationSign(station: string): string {
  let hash = 0;
  for (const each of station) hash = (hash * 131 + (each.codePointAt(0) ?? 0)) % 923_521;
  let text = '';
  for (let i = 0; i < stationSigns; i += 1) {
    text = signs.charAt(hash % 31) + text;
    hash = Math.floor(hash / 31);
  }
  return text;
}

/** `SWS` + four signs of the station + a check sign: what the card prints. */
export function actCode({ act, station }: ActCode): string {
  const text = `${prefix}${letters[act]}${stationSign(station)}`;
  return text + checkSign(text);
}

const isWhole = (text: string): boolean =>
  text.startsWith(prefix) &&
  text.length === prefix.length + 1 + stationSigns + 1 &&
  [...text].every((each) => signs.includes(each)) &&
  checkSign(text.slice(0, -1)) === text.slice(-1);

/** Caps lock turns a scan's letters over. */
function otherCase(text: string): string {
  const turned = (each: string): string =>
    each === each.toUpperCase() ? each.toLowerCase() : each.toUpperCase();
  return [...text].map((each) => (turned(each).length === 1 ? turned(each) : each)).join('');
}

/** The act a scan asks for, on whichever layout it was typed; null where it is no card of this plant. */
export function readActCode(typed: string, stations: readonly string[]): ActCode | null {
  const text = (readScan(typed, isWhole) ?? readScan(otherCase(typed), isWhole))?.text;
  if (text === undefined) return null;
  const act = (Object.keys(letters) as CardAct[]).find((each) => letters[each] === text.charAt(2));
  const station = stations.find((each) => stationSign(each) === text.slice(3, 3 + stationSigns));
  return act === undefined || station === undefined ? null : { act, station };
}
