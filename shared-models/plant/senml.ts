import type { DecodedReading, DecodedReadings } from './payload.ts';
import { fault, isObject, isPlantTime, timeExpected, type PayloadFault } from './payload-fault.ts';
import { senmlFactor } from './payload-unit.ts';
import type { Sensor } from './plant-schema.ts';

type Point = Pick<Sensor, 'id' | 'signal'>;

/** From here a SenML time is absolute [s]; below it counts from the receipt. RFC 8428, 4.5.3 */
const absoluteFromS = 268_435_456;

/** The greatest version this reads. RFC 8428, 4.4 */
const newestVersion = 10;

interface Base {
  name: string;
  timeS: number;
  unit: unknown;
  value: number;
}

/** An array whose records carry SenML's own labels, and none of a plain reading's. */
export function isSenml(value: unknown): boolean {
  if (!Array.isArray(value)) return false;
  return value.some(
    (record) =>
      isObject(record) && ('bn' in record || 'n' in record || 'bt' in record || 'bu' in record),
  );
}

/**
 * The readings of a SenML pack, base values applied [Resolved Records].
 *
 * Names must be the point's own, alone or as the last part of a name; a record without a time is
 * stamped on receipt, a small time counts from there.
 *
 * @source RFC 8428, 4.1 to 4.6
 */
export function decodeSenml(value: unknown, point: Point): DecodedReadings {
  const decoded: DecodedReadings = { readings: [], faults: [] };
  if (!Array.isArray(value)) {
    decoded.faults.push(fault('wrong-shape', '', value, 'a SenML pack: an array of records'));
    return decoded;
  }
  const base: Base = { name: '', timeS: 0, unit: undefined, value: 0 };
  value.forEach((record, i) => {
    const result = isObject(record)
      ? senmlReading(record, `[${i}]`, base, point)
      : fault('wrong-shape', `[${i}]`, record, 'a SenML record');
    if (result === null) return;
    if ('code' in result) decoded.faults.push(result);
    else decoded.readings.push(result);
  });
  return decoded;
}

/** @returns null for a record that only sets base values */
function senmlReading(
  record: Record<string, unknown>,
  at: string,
  base: Base,
  point: Point,
): DecodedReading | PayloadFault | null {
  const wrong = takeBase(record, at, base) ?? unreadable(record, at);
  if (wrong !== null) return wrong;
  const { v, vb, s } = record;
  if (v === undefined && vb === undefined) {
    const onlyBase = s === undefined && record['vs'] === undefined && record['vd'] === undefined;
    return onlyBase && record['n'] === undefined
      ? null
      : fault('missing-field', `${at}.v`, v, `a number [${point.signal}]`);
  }
  const name = base.name + textOf(record['n']);
  if (name !== '' && name.split(/[/:]/).at(-1) !== point.id) {
    return fault('unknown-point', `${at}.n`, name, point.id);
  }
  return measured(record, at, base, point);
}

function measured(
  record: Record<string, unknown>,
  at: string,
  base: Base,
  point: Point,
): DecodedReading | PayloadFault {
  const unit = record['u'] ?? base.unit;
  const factor = unit === undefined ? 1 : senmlFactor(unit, point.signal);
  if (factor === null) return fault('wrong-unit', `${at}.u`, unit, point.signal);
  const raw =
    point.signal === 'switch' && typeof record['vb'] === 'boolean' ? +record['vb'] : record['v'];
  if (typeof raw !== 'number' || !Number.isFinite(raw)) {
    return fault('not-a-number', `${at}.v`, raw ?? record['vb'], `a number [${point.signal}]`);
  }
  const v = (base.value + raw) * factor + 0;
  const timeS = base.timeS + (record['t'] === undefined ? 0 : Number(record['t']));
  if (timeS < absoluteFromS) {
    // A value promised for later is no reading.
    if (timeS > 0) return fault('not-a-time', `${at}.t`, timeS, 'a time that is not ahead');
    return { t: null, offsetMs: Math.trunc(timeS * 1000), v, seq: null, doubtful: false };
  }
  const t = Math.trunc(timeS * 1000);
  if (!isPlantTime(t)) return fault('not-a-time', `${at}.t`, timeS, timeExpected);
  return { t, offsetMs: 0, v, seq: null, doubtful: false };
}

function takeBase(record: Record<string, unknown>, at: string, base: Base): PayloadFault | null {
  const { bn, bt, bu, bv, bver } = record;
  if (bver !== undefined && !(typeof bver === 'number' && bver <= newestVersion)) {
    return fault('wrong-shape', `${at}.bver`, bver, `a SenML version of at most ${newestVersion}`);
  }
  for (const [name, value] of Object.entries({ bt, bv })) {
    if (value !== undefined && !(typeof value === 'number' && Number.isFinite(value))) {
      return fault('not-a-number', `${at}.${name}`, value, 'a number');
    }
  }
  if (bn !== undefined) base.name = textOf(bn);
  if (bt !== undefined) base.timeS = Number(bt);
  if (bu !== undefined) base.unit = bu;
  if (bv !== undefined) base.value = Number(bv);
  return null;
}

function unreadable(record: Record<string, unknown>, at: string): PayloadFault | null {
  const { t } = record;
  if (t !== undefined && !(typeof t === 'number' && Number.isFinite(t))) {
    return fault('not-a-time', `${at}.t`, t, 'seconds');
  }
  // A label that must be understood, and is not (RFC 8428, 4.4).
  const strange = Object.keys(record).find((label) => label.endsWith('_'));
  if (strange === undefined) return null;
  return fault('wrong-shape', `${at}.${strange}`, record[strange], 'no label that must be known');
}

function textOf(value: unknown): string {
  return typeof value === 'string' ? value : '';
}
