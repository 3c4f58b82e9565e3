import { instantMs } from './instant.ts';
import {
  fault,
  isObject,
  isPlantTime,
  parseJson,
  timeExpected,
  type PayloadFault,
} from './payload-fault.ts';
import type { Sensor } from './plant-schema.ts';
import { decodeSenml, isSenml } from './senml.ts';
import { signalOfUnit } from './payload-unit.ts';

/** A reading as its payload gives it: raw, in the point's own signal. */
export interface DecodedReading {
  /** Its own time [ms]; null where it has none and is stamped on receipt. */
  t: number | null;
  /** For a reading without a time: how long before its receipt it was taken [ms], ≤ 0. */
  offsetMs: number;
  v: number;
  /** The device's sequence number. */
  seq: number | null;
  /** The device itself does not vouch for it. */
  doubtful: boolean;
}

export interface DecodedReadings {
  readings: DecodedReading[];
  /** A fault takes out its own reading, never its neighbours. */
  faults: PayloadFault[];
}

type Point = Pick<Sensor, 'id' | 'signal' | 'format'>;

/**
 * The readings in the text of a payload: `{t, v, seq?}`, an array of such, a SenML pack, or a bare
 * number, told apart by shape unless the point names its format.
 *
 * `unit` and `quality` are looked at where a device sends them; other members are not ours.
 */
export function decodeReadings(text: string, point: Point): DecodedReadings {
  const json = parseJson(text);
  if ('code' in json) return { readings: [], faults: [withPoint(json, point)] };
  const { value } = json;
  const format = point.format ?? formatOf(value);
  switch (format) {
    case 'bare':
      return one(bareReading(value, point));
    case 'senml':
      return decodeSenml(value, point);
    case 'json':
      return jsonReadings(value, point);
  }
}

function withPoint(found: PayloadFault, point: Point): PayloadFault {
  if (found.code !== 'not-json') return found;
  return point.format === 'bare'
    ? { ...found, code: 'not-a-number', expected: 'a number such as 135.2' }
    : { ...found, expected: 'JSON such as {"t":1772431200000,"v":135.2}' };
}

function formatOf(value: unknown): 'bare' | 'senml' | 'json' {
  if (typeof value === 'number' || typeof value === 'boolean') return 'bare';
  return isSenml(value) ? 'senml' : 'json';
}

function one(result: DecodedReading | PayloadFault): DecodedReadings {
  return 'code' in result ? { readings: [], faults: [result] } : { readings: [result], faults: [] };
}

function jsonReadings(value: unknown, point: Point): DecodedReadings {
  if (!Array.isArray(value)) return one(jsonReading(value, '', point));
  const decoded: DecodedReadings = { readings: [], faults: [] };
  value.forEach((element, i) => {
    const result = jsonReading(element, `[${i}]`, point);
    if ('code' in result) decoded.faults.push(result);
    else decoded.readings.push(result);
  });
  return decoded;
}

function bareReading(value: unknown, point: Point): DecodedReading | PayloadFault {
  const v = numberOf(value, point);
  if (v === null) return fault('not-a-number', '', value, 'a number such as 135.2');
  return { t: null, offsetMs: 0, v, seq: null, doubtful: false };
}

function jsonReading(value: unknown, at: string, point: Point): DecodedReading | PayloadFault {
  if (!isObject(value)) return fault('wrong-shape', at, value, '{"t": …, "v": …}');
  const field = (name: string) => (at === '' ? name : `${at}.${name}`);
  const { t, v, seq, unit, quality } = value;
  if (v === undefined) return fault('missing-field', field('v'), v, `a number [${point.signal}]`);
  const number = numberOf(v, point);
  if (number === null) return fault('not-a-number', field('v'), v, `a number [${point.signal}]`);
  if (t === undefined) return fault('missing-field', field('t'), t, timeExpected);
  const ms = timeOf(t);
  if (ms === null) return fault('not-a-time', field('t'), t, timeExpected);
  if (unit !== undefined && signalOfUnit(unit) !== point.signal) {
    return fault('wrong-unit', field('unit'), unit, point.signal);
  }
  return {
    t: ms,
    offsetMs: 0,
    v: number,
    seq: typeof seq === 'number' && Number.isSafeInteger(seq) && seq >= 0 ? seq : null,
    doubtful: quality !== undefined && quality !== 'good',
  };
}

/** A finite number, without a negative zero; a switch may also say true and false. */
function numberOf(value: unknown, point: Point): number | null {
  if (point.signal === 'switch' && typeof value === 'boolean') return value ? 1 : 0;
  return typeof value === 'number' && Number.isFinite(value) ? value + 0 : null;
}

/** Milliseconds of a time as a payload writes it; null for no time of a plant. */
export function timeOf(value: unknown): number | null {
  const ms = typeof value === 'string' ? instantMs(value) : value;
  return typeof ms === 'number' && isPlantTime(ms) ? Math.trunc(ms) : null;
}
