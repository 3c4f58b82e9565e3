import { timeOf } from './payload.ts';
import { fault, isObject, parseJson, timeExpected, type PayloadFault } from './payload-fault.ts';

/** Everything that can be said to have happened at a station. */
export const eventKinds = [
  'load-start',
  'load-end',
  'contact',
  'pressure-on',
  'release-start',
  'open',
  'interrupted',
  'void',
  'spread',
  'assembled',
  'mix',
  'mix-discarded',
  'coat',
  'flash-off-start',
  'abraded',
  'piece-temperature',
  'moisture',
  'part-moved',
  'lot-split',
  'lot-merge',
  'set-broken',
  'rework',
  'test-result',
  'instrument-fitted',
  'instrument-removed',
  'handover',
  'note',
] as const;

export type EventKind = (typeof eventKinds)[number];

/** What a payload says has happened; where is in its topic. */
export interface DecodedEvent {
  event: EventKind;
  earliestMs: number;
  latestMs: number;
  load: string | null;
  lot: string | null;
  /** `id` or `id@revision`. */
  recipe: string | null;
  zones: string[] | null;
  opening: string | null;
  parts: string[];
  by: string | null;
  /** Members that are not ours. */
  more: Record<string, unknown>;
}

const ours = new Set('event t earliest latest load lot recipe zones opening parts by'.split(' '));

const [longestName, mostNames] = [120, 1000];
const recipeShape = /^[a-z0-9][a-z0-9._-]{0,63}(@[1-9]\d{0,5})?$/;

/** The event in the text of a payload, or the first thing wrong with it. */
export function decodeEvent(text: string): DecodedEvent | PayloadFault {
  const json = parseJson(text);
  if ('code' in json) return { ...json, expected: 'JSON such as {"t": …, "event": "load-start"}' };
  const { value } = json;
  if (!isObject(value)) return fault('wrong-shape', '', value, '{"t": …, "event": …}');
  const event = eventKinds.find((kind) => kind === value['event']);
  if (event === undefined) {
    return fault('unknown-event', 'event', value['event'], eventKinds.join(', '));
  }
  const times = timesOf(value);
  if ('code' in times) return times;
  const { recipe, zones, parts } = value;
  const wrong = wrongName(value) ?? wrongNames('zones', zones) ?? wrongNames('parts', parts);
  if (wrong !== null) return wrong;
  if (typeof recipe === 'string' && !recipeShape.test(recipe)) {
    return fault('unknown-recipe-shape', 'recipe', recipe, 'id or id@revision');
  }
  if ((event === 'load-start' || event === 'load-end') && nameIn(value, 'load') === null) {
    return fault('missing-field', 'load', value['load'], 'the name of the load');
  }
  return {
    event,
    ...times,
    load: nameIn(value, 'load'),
    lot: nameIn(value, 'lot'),
    recipe: nameIn(value, 'recipe'),
    zones: Array.isArray(zones) ? (zones as string[]) : null,
    opening: nameIn(value, 'opening'),
    parts: Array.isArray(parts) ? (parts as string[]) : [],
    by: nameIn(value, 'by'),
    more: Object.fromEntries(Object.entries(value).filter(([name]) => !ours.has(name))),
  };
}

/** `t`, or `earliest` and `latest`, or one of the two where the other is as far as anyone knows. */
function timesOf(
  value: Record<string, unknown>,
): { earliestMs: number; latestMs: number } | PayloadFault {
  const { t, earliest, latest } = value;
  if (t === undefined && (earliest === undefined || latest === undefined)) {
    return fault('missing-field', 't', t, `${timeExpected}; or earliest and latest`);
  }
  const earliestMs = timeOf(earliest ?? t);
  if (earliestMs === null) {
    return fault(
      'not-a-time',
      earliest === undefined ? 't' : 'earliest',
      earliest ?? t,
      timeExpected,
    );
  }
  const latestMs = timeOf(latest ?? t);
  if (latestMs === null) return fault('not-a-time', 'latest', latest ?? t, timeExpected);
  if (latestMs < earliestMs) {
    return fault('not-a-time', 'latest', latest ?? t, 'no time before earliest');
  }
  return { earliestMs, latestMs };
}

function nameIn(value: Record<string, unknown>, field: string): string | null {
  const name = value[field];
  return typeof name === 'string' ? name : null;
}

function isName(name: unknown): boolean {
  return typeof name === 'string' && name.trim() !== '' && name.length <= longestName;
}

function wrongName(value: Record<string, unknown>): PayloadFault | null {
  for (const field of ['load', 'lot', 'recipe', 'opening', 'by']) {
    const name = value[field];
    if (name === undefined || name === null || isName(name)) continue;
    return fault('wrong-shape', field, name, `a text of 1 to ${longestName} characters`);
  }
  return null;
}

function wrongNames(field: string, names: unknown): PayloadFault | null {
  if (names === undefined || names === null) return null;
  if (!Array.isArray(names) || names.length > mostNames) {
    return fault('wrong-shape', field, names, `an array of at most ${mostNames} names`);
  }
  const wrong = names.findIndex((name) => !isName(name));
  if (wrong === -1) return null;
  const expected = `a text of 1 to ${longestName} characters`;
  return fault('wrong-shape', `${field}[${wrong}]`, names[wrong], expected);
}
