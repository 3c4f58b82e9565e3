import type { FloorCall, FloorLoad, RowSlot } from '@setwell/shared-models/api/floor';
import type { JudgedPlace } from '@setwell/shared-models/score/shape';
import { celsiusOfFahrenheit, celsiusOfKelvin } from '@setwell/shared-models/units/temperature';
import { collectorWords } from './collector-words.ts';
import { degrees, shownDegrees, shownDifference } from './degrees.ts';
import { isMessage, language, say, sayAny, type Values } from './language.ts';
import { live, rowMs, site, stations } from './live.ts';
import { whoIs } from './people/me.ts';
import { unitOf } from './screens/signal-unit.ts';

/** How numbers and times are written; every formatter is made once a language. */
const formats = new Map<string, Intl.DateTimeFormat | Intl.NumberFormat>();

function dateFormat(name: string, options: Intl.DateTimeFormatOptions): Intl.DateTimeFormat {
  const timeZone = site.value?.timeZone ?? 'UTC';
  const key = `${name} ${language.value} ${timeZone}`;
  let format = formats.get(key);
  if (format === undefined) {
    const locale = language.value === 'de' ? 'de-DE' : 'en-GB';
    format = new Intl.DateTimeFormat(locale, { timeZone, hourCycle: 'h23', ...options });
    formats.set(key, format);
  }
  return format as Intl.DateTimeFormat;
}

/** 14:33, in the plant's time zone. */
export const clock = (ms: number): string =>
  dateFormat('clock', { hour: '2-digit', minute: '2-digit' }).format(ms);

export const clockS = (ms: number): string =>
  dateFormat('clockS', { hour: '2-digit', minute: '2-digit', second: '2-digit' }).format(ms);

/** Mon 2 Mar 14:33 */
const dayClock = (ms: number): string => `${day(ms)} ${clock(ms)}`;

export const day = (ms: number): string =>
  dateFormat('day', { weekday: 'short', day: 'numeric', month: 'short' })
    .format(ms)
    .replace(',', '');

/** 2026-03-02, in UTC: as a field of dates takes it. */
export const isoDay = (ms: number): string => new Date(ms).toISOString().slice(0, 10);

/** 2 Mar 2026: for what is read in another year. */
export const dayOfYear = (ms: number): string =>
  dateFormat('dayOfYear', { day: 'numeric', month: 'short', year: 'numeric' }).format(ms);

/** Sat 14 Mar 2026, of a day as certificates and fields write it. */
export const dateText = (date: string): string =>
  dateFormat('date', {
    weekday: 'short',
    day: 'numeric',
    month: 'short',
    year: 'numeric',
    timeZone: 'UTC',
  })
    .format(Date.parse(date))
    .replace(',', '');

/** A time that is waited for, rounded up to the minute: nobody is sent before it. */
export const clockUp = (ms: number, nowMs: number): string =>
  clockFrom(Math.ceil(ms / 60_000) * 60_000, nowMs);

/** A time that was set, to the nearest minute. */
export const clockNear = (ms: number, nowMs = ms): string =>
  clockFrom(Math.round(ms / 60_000) * 60_000, nowMs);

/** The clock, with its day where that is not the day of `nowMs`. */
export const clockFrom = (ms: number, nowMs: number): string =>
  day(ms) === day(nowMs) ? clock(ms) : dayClock(ms);

/** A number with a true minus; what rounds to nothing has no sign. */
export function number(value: number, digits: number): string {
  const key = `number ${language.value} ${digits}`;
  let format = formats.get(key);
  if (format === undefined) {
    format = new Intl.NumberFormat(language.value, {
      minimumFractionDigits: digits,
      maximumFractionDigits: digits,
      useGrouping: false,
    });
    formats.set(key, format);
  }
  const text = (format as Intl.NumberFormat).format(value);
  return text.replace('-', /[1-9]/.test(text) ? '−' : '');
}

/** A temperature in the device's degrees, the number alone: its unit stands beside or above it. */
export const shownTemperature = (c: number, digits: number): string =>
  number(shownDegrees(c), digits);

/** 138.1 °C */
export const temperatureText = (c: number, digits: number): string =>
  `${shownTemperature(c, digits)} ${degrees.value}`;

/** A number as a recipe says it, all of its digits; what only the sum of degrees has made of it is none. */
export function saidNumber(value: number): string {
  const text = new Intl.NumberFormat(language.value, {
    maximumFractionDigits: 12,
    useGrouping: false,
  }).format(Number(value.toPrecision(12)));
  return text.replace('-', '−');
}

/** 137.5 °C, as a recipe says it. */
export const saidTemperature = (c: number): string =>
  `${saidNumber(shownDegrees(c))} ${degrees.value}`;

/** 2.25 K, as a recipe says it. */
export const saidDifference = (k: number): string =>
  `${saidNumber(shownDifference(k))} ${differenceUnit()}`;

/** What a point's signal reads, with its unit: a temperature in the device's degrees, a switch as it stands. */
export function readingText(signal: string, v: number): string {
  switch (signal) {
    case 'celsius':
      return temperatureText(v, 1);
    case 'fahrenheit':
      return temperatureText(celsiusOfFahrenheit(v), 1);
    case 'kelvin':
      return temperatureText(celsiusOfKelvin(v), 1);
    case 'switch':
      return number(v, 0);
    default:
      return `${number(v, 1)} ${unitOf(signal)}`;
  }
}

/** Readings a minute; a point that sends less often than that is not told as one that sends nothing. */
export const rateText = (perMin: number, silentSinceMs: number | null): string =>
  perMin === 0 && silentSinceMs === null ? '< 1' : number(perMin, 0);

/** What a difference of temperatures is counted in: in °F it has no 32, and says that it is one. */
export const differenceUnit = (): string =>
  degrees.value === '°F' ? say('unit.differenceF') : 'K';

/** 4.2 K */
export const differenceText = (k: number, digits = 1): string =>
  `${number(shownDifference(k), digits)} ${differenceUnit()}`;

/** +4.2 K */
export function signedDifference(k: number): string {
  const text = differenceText(Math.abs(k));
  if (!/[1-9]/.test(text)) return text;
  return `${k < 0 ? '−' : '+'}${text}`;
}

/** 2 Mar 2026 08:40:12: for what may be of another year. */
export const momentText = (ms: number): string => `${dayOfYear(ms)} ${clockS(ms)}`;

/** A measure with as many digits as its size can use. */
export const measure = (value: number, least: number): string => number(value, digitsOf(least));

const digitsOf = (least: number): number => (least < 2 ? 3 : least < 100 ? 1 : 0);

/** Nearer to a whole step than this is on it: what is left of binary fractions. */
const onStep = 1e-6;

/** The low end is cut off and the high end rounded up: what misses a bound never reads as if it met it. */
export function measureLow(value: number, least: number): string {
  const step = 10 ** digitsOf(least);
  return measure(Math.floor(value * step + onStep) / step, least);
}

export function measureHigh(value: number, least: number): string {
  const step = 10 ** digitsOf(least);
  return measure(Math.ceil(value * step - onStep) / step, least);
}

/** A bound of the window, as the recipe wrote it. */
export const bound = (value: number): string =>
  new Intl.NumberFormat(language.value, { maximumFractionDigits: 3 }).format(value);

export const daysText = (n: number): string =>
  n === 1 ? say('time.oneDay') : say('time.days', { n });

/** Whole minutes as people say them: 38 min, 3 h 20 min, 1 d 4 h. `up` rounds what is cut off up. */
export function duration(minutes: number, up: boolean): string {
  const cut = up ? Math.ceil : Math.floor;
  if (minutes < 100) return say('time.min', { min: minutes });
  if (minutes < 1440) {
    const h = Math.floor(minutes / 60);
    return minutes % 60 === 0
      ? say('time.hour', { h })
      : say('time.hourMin', { h, min: minutes % 60 });
  }
  const hours = cut(minutes / 60);
  const d = Math.floor(hours / 24);
  return hours % 24 === 0 ? say('time.day', { d }) : say('time.dayHour', { d, h: hours % 24 });
}

/** What stands in a row's minutes slot. */
export function slotText(slot: RowSlot, nowMs: number): string {
  switch (slot.kind) {
    case 'fetching':
      return say('slot.fetching');
    case 'cold':
      return say('slot.cold');
    case 'heating':
      return slot.readyMs === null
        ? say('slot.heating')
        : say('slot.ready', { clock: clockUp(Math.max(slot.readyMs, nowMs), nowMs) });
    case 'empty':
      return slot.forMin === null
        ? say('slot.empty')
        : say('slot.emptyFor', { time: duration(slot.forMin, false) });
    case 'no-readings':
      return say('slot.noReadings');
    case 'counting':
      return say('slot.counting');
    case 'more':
      return slot.fromMin === slot.toMin || slot.toMin >= 100
        ? say('slot.more', { time: duration(slot.toMin, true) })
        : say('slot.moreRange', { from: slot.fromMin, to: slot.toMin });
    case 'ask':
      return say('slot.ask');
    case 'out-by':
      return say('slot.outBy', { clock: clockFrom(slot.atMs, nowMs) });
    case 'left':
      return say('slot.left', { min: slot.min });
    case 'no-end':
      return say('slot.noEnd');
    case 'over-since':
      return say('slot.overSince', { clock: clock(slot.atMs) });
    case 'on-hold':
      return say('slot.onHold');
    case 'blind':
      return say('slot.blind', { time: duration(slot.min, false) });
    case 'which-lot':
      return say('slot.whichLot');
    case 'service':
      return say(`slot.service.${slot.state}`);
    case 'no-recipe':
      return say('slot.noRecipe');
  }
}

/** A zone that is named for where it lies, in the reader's language; any other by its own name. */
export const zoneText = (id: string): string => sayAny(`zone.${id}`, id);

export function placeText(place: Pick<JudgedPlace, 'zone' | 'glueLine'>, short = false): string {
  const zone = zoneText(place.zone);
  if (place.glueLine === null) return say('place.zone', { zone });
  return say(short ? 'place.lineShort' : 'place.line', { zone, line: place.glueLine });
}

export function unitText(unit: FloorLoad['unit'], long = false): string {
  return unit === null ? '' : sayAny(`unit.${long ? 'long.' : ''}${unit}`, unit);
}

/** A person or job as the reader's language names it. */
export function whoText(by: string): string {
  // Anybody may write any word there: "__proto__" is no person.
  const known = Object.hasOwn(whoIs.value, by) ? whoIs.value[by] : undefined;
  if (known === undefined) return sayAny(`person.${by}`, by);
  const jobs = known.jobs.map((job) => say(`person.${job}`)).join(', ');
  return known.name === null ? `${jobs} (${by})` : `${known.name} (${jobs})`;
}

/** The sentence of a call, from its kind and numbers. */
export function callText(
  call: Pick<
    FloorCall,
    'kind' | 'station' | 'load' | 'point' | 'values' | 'raisedMs' | 'tooLateMs'
  > & { cleared?: FloorCall['cleared'] },
  form: '' | '.short' | '.do' = '',
): string {
  const { values } = call;
  const clockOf = (name: string): string => {
    const value = values[name];
    return typeof value === 'number' ? clock(value) : '?';
  };
  const zone = values['zone'];
  const line = values['glueLine'];
  const shortBy = values['shortBy'];
  const named: Values = {};
  for (const [name, value] of Object.entries(values)) {
    if (value !== null) named[name] = value;
  }
  const key = `call.${call.kind}${form}`;
  const kind =
    values['charge'] ??
    stations.value.find(({ id }) => id === call.station)?.kind ??
    values['because'];
  const turned = turnedKey(call, key);
  const ofKind = isMessage(turned) ? turned : `${key}.${kind}`;
  const longerMin = values['longerMin'];
  return sayAny(isMessage(ofKind) ? ofKind : key, call.kind, {
    load: call.load ?? '?',
    station: call.station ?? '?',
    point: call.point ?? '?',
    ...collectorWords(named),
    ...measuredValues(values),
    longer: typeof longerMin === 'number' ? duration(longerMin, true) : '?',
    shortBy: typeof shortBy === 'number' ? measureHigh(shortBy, 2) : '?',
    place:
      typeof zone === 'string'
        ? placeText({ zone, glueLine: typeof line === 'number' ? line : null })
        : (call.station ?? ''),
    until: typeof values['untilMs'] === 'number' ? clockUp(values['untilMs'], call.raisedMs) : '?',
    plan: typeof values['plannedEndMs'] === 'number' ? clockNear(values['plannedEndMs']) : '?',
    ready: typeof values['readyMs'] === 'number' ? clockUp(values['readyMs'], call.raisedMs) : '?',
    over: clockOf('overAtMs'),
    since: typeof values['sinceMs'] === 'number' ? clockOf('sinceMs') : clock(call.raisedMs),
    closed: clockOf('startLatestMs'),
    tooLate: call.tooLateMs === null ? '?' : clockFrom(call.tooLateMs, call.raisedMs),
  });
}

/** Where what a call was raised for has turned since, or was something else from the start: its other words. */
function turnedKey(
  { kind, load, values, raisedMs, cleared }: Parameters<typeof callText>[0],
  key: string,
): string {
  if (values['shortBy'] === 0) return `${key}.heatEnough`;
  const { overAtMs } = values;
  const atMs = cleared === null ? rowMs.value : raisedMs;
  const isAhead = typeof overAtMs === 'number' && overAtMs > atMs + 60_000;
  if (kind === 'nearing-most' && !isAhead) {
    return `${key}.past`;
  }
  const state = load === null ? undefined : live.value.loads[load]?.state;
  if (kind === 'which-lot' && state !== undefined && state !== 'open') return `${key}.ended`;
  return '';
}

/** What a call's numbers are in the reader's words and units; what it does not name is not there. */
function measuredValues(values: FloorCall['values']): Values {
  const { signal, rule, withinMin, lateMin, fallKPerMin } = values;
  const told: Values = {};
  const degreesOf = { celsius: 'celsius', temp: 'tempC', min: 'minC', max: 'maxC', least: 'minC' };
  for (const [name, from] of Object.entries(degreesOf)) {
    const c = values[from];
    if (typeof c === 'number') told[name] = temperatureText(c, name === 'celsius' ? 1 : 0);
  }
  for (const name of ['held', 'value'] as const) {
    const value = values[name];
    if (typeof value !== 'number') continue;
    told[name] = `${number(value, 1)} ${typeof signal === 'string' ? unitOf(signal) : ''}`.trim();
  }
  for (const name of ['verdict', 'before'] as const) {
    if (typeof values[name] === 'string')
      told[name] = sayAny(`verdict.${values[name]}`, values[name]);
  }
  if (typeof rule === 'string') told['fault'] = sayAny(`fault.${rule}`, rule);
  if (typeof withinMin === 'number') told['within'] = duration(withinMin, true);
  if (typeof lateMin === 'number') told['late'] = duration(lateMin, true);
  if (typeof fallKPerMin === 'number') told['fall'] = differenceText(fallKPerMin);
  return told;
}
