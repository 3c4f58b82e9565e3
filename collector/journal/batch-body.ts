import { wellFormed } from '@setwell/shared-models/record/well-formed';
import type { ReadingQuality } from '@setwell/shared-models/api/collector';
import type { Batch, Reading, StationEvent } from './shape.ts';

/** A reading or an event, in order of arrival. */
export type JournalItem = Reading | StationEvent;

export function isEvent(item: JournalItem): item is StationEvent {
  return 'station' in item;
}

/** A quality's number is its place here, for ever: append only. */
const qualities: readonly ReadingQuality[] = [
  'good',
  'doubtful',
  'missing',
  'late',
  'stuck',
  'outside-calibration',
  'retained-old',
];

const stampedFlag = 8;
const aheadFlag = 16;

/** Quality, stamped and ahead in one small number. */
export function flagsOf(reading: Reading): number {
  return (
    qualities.indexOf(reading.quality) +
    (reading.stamped ? stampedFlag : 0) +
    (reading.ahead ? aheadFlag : 0)
  );
}

export function withFlags(
  point: string,
  t: number,
  v: number,
  flags: number,
  deviceSeq: number | null,
): Reading {
  return {
    point,
    t,
    v,
    quality: qualities[flags & 7] ?? 'doubtful',
    deviceSeq,
    stamped: (flags & stampedFlag) !== 0,
    ahead: (flags & aheadFlag) !== 0,
  };
}

interface Body {
  v: 1;
  receivedMs: number;
  /** Who brought it in by hand. */
  by?: string;
  points: string[];
  /**
   * A reading is `[place in points, t, v, flags?, deviceSeq?]`, an event an object; a number stands for
   * so many readings that were dropped, for an event's place in its batch is cited for ever.
   */
  items: ([number, number, number, number?, number?] | StationEvent | number)[];
}

/** What a batch holds. */
export interface BatchContent {
  receivedMs: number;
  /** Null where a reading was dropped. */
  items: readonly (JournalItem | null)[];
  by: string | undefined;
}

/** The bytes of a batch, in which everything of it is hashed: JSON, so that any tool can read it. */
export function encodeBody(
  receivedMs: number,
  items: readonly (JournalItem | null)[],
  by?: string,
): Buffer {
  const places = new Map<string, number>();
  const person = by === undefined ? {} : { by };
  const body: Body = { v: 1, receivedMs, ...person, points: [], items: [] };
  for (const item of items) {
    if (item === null) {
      const last = body.items.at(-1);
      if (typeof last === 'number') body.items[body.items.length - 1] = last + 1;
      else body.items.push(1);
      continue;
    }
    if (isEvent(item)) {
      body.items.push(item);
      continue;
    }
    let place = places.get(item.point);
    if (place === undefined) {
      place = body.points.push(item.point) - 1;
      places.set(item.point, place);
    }
    const flags = flagsOf(item);
    if (item.deviceSeq !== null) body.items.push([place, item.t, item.v, flags, item.deviceSeq]);
    else if (flags !== 0) body.items.push([place, item.t, item.v, flags]);
    else body.items.push([place, item.t, item.v]);
  }
  return Buffer.from(JSON.stringify(body));
}

/** More are in no batch; a number that says so is damaged. */
const mostDropped = 1_000_000;

/** What {@link encodeBody} wrote. @throws SyntaxError on other bytes */
export function decodeBody(bytes: Buffer): BatchContent {
  const body = bodyOf(bytes);
  const items = body.items.flatMap((item): (JournalItem | null)[] => {
    if (typeof item === 'number' && item >= 0 && item <= mostDropped) {
      return Array<null>(item).fill(null);
    }
    if (typeof item !== 'object') throw new SyntaxError('an item that is none');
    if (!Array.isArray(item)) return [item];
    const [place, t, v, flags = 0, deviceSeq = null] = item;
    return [withFlags(body.points[place] ?? '', t, v, flags, deviceSeq)];
  });
  return { receivedMs: body.receivedMs, items, by: body.by };
}

function asText(_name: string, value: unknown): unknown {
  return typeof value === 'string' ? wellFormed(value) : value;
}

function bodyOf(bytes: unknown): Body {
  // A damaged record can be of another type than it was stored as.
  if (!Buffer.isBuffer(bytes)) throw new SyntaxError('no bytes');
  const text = bytes.toString('utf8');
  // Half of a surrogate pair was taken for a name once; the record cannot hold it.
  const body = JSON.parse(text, text.includes('\\ud') ? asText : undefined) as Partial<Body> | null;
  if (!Array.isArray(body?.items) || !Array.isArray(body.points)) throw new SyntaxError('no body');
  return body as Body;
}

export function batchOf(seq: number, { receivedMs, items, by }: BatchContent): Batch {
  const person = by === undefined ? {} : { by };
  const batch: Batch = { seq, receivedMs, ...person, readings: [], events: [] };
  items.forEach((item, index) => {
    if (item === null) return;
    if (isEvent(item)) batch.events.push({ index, event: item });
    else batch.readings.push(item);
  });
  return batch;
}
