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
  const texts: string[] = [];
  let dropped = 0;
  for (const item of items) {
    if (item === null) {
      dropped += 1;
      continue;
    }
    if (dropped > 0) texts.push(String(dropped));
    dropped = 0;
    texts.push(isEvent(item) ? JSON.stringify(item) : rowOf(item, placeOf(item.point, places)));
  }
  if (dropped > 0) texts.push(String(dropped));
  const person = by === undefined ? {} : { by };
  const head = JSON.stringify({ v: 1, receivedMs, ...person, points: [...places.keys()] });
  return Buffer.from(`${head.slice(0, -1)},"items":[${texts.join(',')}]}`);
}

function placeOf(point: string, places: Map<string, number>): number {
  const known = places.get(point);
  if (known !== undefined) return known;
  const place = places.size;
  places.set(point, place);
  return place;
}

/** As `JSON.stringify` writes it, in half of its time; all of its numbers are finite. */
function rowOf(reading: Reading, place: number): string {
  const { t, v, deviceSeq } = reading;
  const flags = flagsOf(reading);
  if (deviceSeq !== null) return `[${place},${t},${v},${flags},${deviceSeq}]`;
  return flags === 0 ? `[${place},${t},${v}]` : `[${place},${t},${v},${flags}]`;
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
