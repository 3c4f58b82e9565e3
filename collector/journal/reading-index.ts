import { createHash } from 'node:crypto';
import type Database from 'better-sqlite3';
import { flagsOf, isEvent, withFlags, type JournalItem } from './batch-body.ts';
import { FreshReadings } from './fresh-readings.ts';
import { indexParts, partOf } from './index-part.ts';
import { RowWriter } from './row-writer.ts';
import { isSameReading, togetherSaid } from './said-again.ts';
import type { Reading, StationEvent } from './shape.ts';

/** Whether an item says something new. */
export type Novelty = 'new' | 'duplicate' | 'conflict';

export interface Taken {
  novelty: Novelty;
  /** The item; of a reading that was there already, what all its copies say together. */
  kept: JournalItem;
}

export const minuteMs = 60_000;

/** Rows that charts and minutes count: neither ahead of their receipt nor of doubtful quality. */
export const countedFlags = '(flags & 16) = 0 AND (flags & 7) IN (0, 3)';

export function isCounted({ ahead, quality }: Reading): boolean {
  return !ahead && (quality === 'good' || quality === 'late');
}

/** The minutes in the readings of a point from :fromMs to before :toMs, conflicts left out. */
export const minutesOfReadings = `${minuteFrom(`t - t % ${minuteMs}`)} GROUP BY 2`;

/** The same where the readings are of one minute: nothing has to be sorted. */
const minuteOfReadings = `${minuteFrom(':fromMs')} HAVING count(*) > 0`;

function minuteFrom(start: string): string {
  return `
  SELECT :point AS point, ${start} AS t, min(v) AS min, max(v) AS max, sum(v) AS sum,
    count(*) AS count
  FROM reading r WHERE point = :point AND t >= :fromMs AND t < :toMs AND ${countedFlags}
    AND NOT EXISTS (SELECT 1 FROM conflict c WHERE c.point = r.point AND c.t = r.t)`;
}

/** Time of a point's newest counted reading: its minute is open. */
export const newestReading = `SELECT t FROM reading WHERE point = ? AND ${countedFlags}
  ORDER BY t DESC LIMIT 1`;

/** So many wait for the index; above it the part with the most goes in. */
export const mostFresh = 6_000;
/** With more points in proportion more: each of them has a page of its own, and it takes in twelve at once. */
const pointsOfMost = 1000;
const parts: ReadonlySet<number> = new Set(Array.from({ length: indexParts }, (_, part) => part));
const none: ReadonlySet<number> = new Set();
/** What a crash leaves to be read again, and each reader to remember, ends here [ms of receipt]. */
const freshForMs = 60_000;

/**
 * The index of the batches: readings by (point, t), conflicts, events, minutes. It decides what is new, so
 * that a batch holds nothing twice.
 *
 * A reading that goes on where its point was is new by that alone, and stays out of the tables until enough has
 * come together; any other one is written in its batch's transaction, with all that is fresh of its part.
 */
export class ReadingIndex {
  readonly #points = new Map<string, IndexedPoint>();
  readonly #fresh: FreshReadings;
  readonly #rows: RowWriter;
  readonly #mostFresh: number;
  /** Closed minutes that a late reading or a conflict has changed, by point and minute. */
  readonly #changedMinutes = new Map<string, { point: number; t: number }>();
  readonly #statements;
  #nextId = 1;
  /** The parts whose readings in the batch go into the tables. */
  #written: ReadonlySet<number> = parts;
  #receivedMs = 0;

  constructor(db: Database.Database, most = mostFresh) {
    this.#mostFresh = most;
    this.#fresh = new FreshReadings(db);
    this.#rows = new RowWriter(db);
    this.#statements = prepare(db);
    this.forget();
  }

  /** Takes what it knows from the file again, after a transaction that was rolled back. */
  forget(): void {
    this.#changedMinutes.clear();
    this.#points.clear();
    this.#nextId = 1;
    for (const { id, name } of this.#statements.points.all()) {
      const countedMs = this.#statements.newest.get(id)?.t;
      const newestMs = this.#statements.last.get(id)?.t ?? -Infinity;
      this.#nextId = Math.max(this.#nextId, id + 1);
      const openMs = countedMs === undefined ? -1 : minuteOf(countedMs);
      this.#points.set(name, { id, openMs, newestMs });
    }
    this.#fresh.forget();
    this.#fresh.catchUp();
    for (const part of parts) {
      for (const [name, readings] of this.#fresh.pointsOf(part)) {
        this.#point(name).newestMs = readings.at(-1)?.reading.t ?? -Infinity;
      }
    }
  }

  /** Before the items of a batch. @param head the last batch before it */
  begin(items: readonly JournalItem[], receivedMs: number, head: number): void {
    this.#receivedMs = receivedMs;
    const most = this.#mostFresh * Math.max(1, this.#points.size / pointsOfMost);
    this.#written = items.length > most ? parts : this.#notGoingOn(items);
    if (this.#written.size > 0) this.#writeParts(this.#written, head);
    while (this.#fresh.count > 0 && this.#fresh.count + items.length > most) {
      this.#writeParts([this.#fresh.fullest()], head);
    }
    // One a batch: they have come to be old together.
    const { part, sinceMs } = this.#fresh.oldest();
    const isOld = this.#fresh.count > 0 && Math.abs(receivedMs - sinceMs) > freshForMs;
    if (isOld) this.#writeParts([part], head);
  }

  /** @param position of an event in its batch */
  add(item: JournalItem, seq: number, position: number): Taken {
    if (isEvent(item)) return { novelty: this.#addEvent(item, seq, position), kept: item };
    if (this.#written.has(partOf(item.point))) return this.#addReading(item, seq);
    this.#fresh.take(item, seq, this.#receivedMs);
    return { novelty: 'new', kept: item };
  }

  /** After the items of a batch. @param head the last batch there is now */
  end(head: number): void {
    if (this.#written.size === 0) return;
    this.#writeMinutes();
    this.#cover(this.#written, head);
  }

  /** Writes what is not in the tables yet. @param head the last batch */
  writeFresh(head: number): void {
    if (this.#fresh.count > 0) this.#writeParts(parts, head);
  }

  #writeParts(which: Iterable<number>, head: number): void {
    for (const part of which) {
      if (this.#fresh.countOf(part) > 0) this.#writePart(part);
    }
    this.#cover(which, head);
  }

  #writePart(part: number): void {
    const points = [...this.#fresh.pointsOf(part)].map(
      ([name, readings]) => [this.#point(name), readings] as const,
    );
    // As they lie in the file.
    points.sort(([one], [other]) => one.id - other.id);
    this.#rows.write(points);
    for (const [point, readings] of points) {
      let { openMs } = point;
      for (const { reading } of readings) {
        if (!isCounted(reading)) continue;
        openMs = minuteOf(reading.t);
        if (point.openMs < 0) point.openMs = openMs;
      }
      if (openMs > point.openMs) this.#closeUntil(point, openMs);
    }
  }

  /** What was written, and whatever has nothing fresh: no start has to read the batches of it again. */
  #cover(which: Iterable<number>, head: number): void {
    const written = new Set(which);
    for (const part of parts) {
      const isWhole = written.has(part) || this.#fresh.countOf(part) === 0;
      if (!isWhole || this.#fresh.covers(part, head)) continue;
      this.#statements.cover.run(head, part);
      this.#fresh.clear(part, head);
    }
  }

  /** The parts with a reading that is not newer than all of its point before it. */
  #notGoingOn(items: readonly JournalItem[]): ReadonlySet<number> {
    let found: Set<number> | null = null;
    for (const item of items) {
      if (isEvent(item)) continue;
      const point = this.#point(item.point);
      if (item.t > point.newestMs) point.newestMs = item.t;
      else (found ??= new Set()).add(partOf(item.point));
    }
    return found ?? none;
  }

  #addReading(reading: Reading, seq: number): Taken {
    const point = this.#point(reading.point);
    const { t, v, deviceSeq } = reading;
    const flags = flagsOf(reading);
    point.newestMs = Math.max(point.newestMs, t);
    if (this.#statements.reading.run(point.id, t, v, flags, seq, deviceSeq).changes === 1) {
      if (isCounted(reading)) this.#count(point, minuteOf(t));
      return { novelty: 'new', kept: reading };
    }
    const there = this.#statements.readingAt.get(point.id, t);
    if (there?.v === v) {
      const known = withFlags(reading.point, t, v, there.flags, there.deviceSeq);
      return this.#addAgain(point, known, togetherSaid(known, reading), seq);
    }
    if (this.#statements.conflict.run(point.id, t, v, seq).changes === 0) {
      return { novelty: 'duplicate', kept: reading };
    }
    this.#change(point, minuteOf(t));
    return { novelty: 'conflict', kept: reading };
  }

  /** The same value for the same time, which may say more of it than was known. */
  #addAgain(point: IndexedPoint, known: Reading, together: Reading, seq: number): Taken {
    if (isSameReading(known, together)) return { novelty: 'duplicate', kept: known };
    const { t, deviceSeq } = together;
    this.#statements.requalify.run(flagsOf(together), seq, deviceSeq, point.id, t);
    if (isCounted(together)) this.#count(point, minuteOf(t));
    else this.#change(point, minuteOf(t));
    return { novelty: 'new', kept: together };
  }

  /** An event is the same when station, time, kind, load and all it says are the same. */
  #addEvent(event: StationEvent, seq: number, position: number): Novelty {
    const { station, earliestMs, event: kind, load } = event;
    // Which act asked for it is no part of what happened.
    const content = JSON.stringify({ ...event, act: null });
    const digest = createHash('sha256').update(content).digest();
    const row = this.#statements.event.run(
      station,
      earliestMs,
      kind,
      load ?? '',
      digest,
      seq,
      position,
    );
    return row.changes === 1 ? 'new' : 'duplicate';
  }

  /** Writes again the closed minutes that the batch has changed. */
  #writeMinutes(): void {
    for (const { point, t } of this.#changedMinutes.values()) {
      this.#statements.dropMinute.run(point, t);
      this.#statements.addMinute.run({ point, fromMs: t, toMs: t + minuteMs });
    }
    this.#changedMinutes.clear();
  }

  /** A point's newest minute is open, and made from its readings when asked for; a later one closes it. */
  #count(point: IndexedPoint, minute: number): void {
    if (minute <= point.openMs) return this.#change(point, minute);
    if (point.openMs < 0) point.openMs = minute;
    else this.#closeUntil(point, minute);
  }

  /** Writes the minutes from the open one on; the given one is open then. */
  #closeUntil(point: IndexedPoint, minute: number): void {
    const span = { point: point.id, fromMs: point.openMs, toMs: minute };
    const isOne = minute - point.openMs === minuteMs;
    (isOne ? this.#statements.addMinute : this.#statements.addMinutes).run(span);
    point.openMs = minute;
  }

  #change(point: IndexedPoint, minute: number): void {
    if (minute >= point.openMs) return;
    this.#changedMinutes.set(`${point.id} ${minute}`, { point: point.id, t: minute });
  }

  #point(name: string): IndexedPoint {
    let point = this.#points.get(name);
    if (point === undefined) {
      point = { id: this.#nextId, openMs: -1, newestMs: -Infinity };
      this.#nextId += 1;
      this.#statements.point.run(point.id, name);
      this.#points.set(name, point);
    }
    return point;
  }
}

interface IndexedPoint {
  id: number;
  /** Start of the minute of the newest counted reading in the tables [ms]; −1 before the first. */
  openMs: number;
  /** The newest of all its readings, in the tables or not [ms]. */
  newestMs: number;
}

/** Start of the minute that a time is in. */
export function minuteOf(t: number): number {
  return t - (t % minuteMs);
}

function prepare(db: Database.Database) {
  return {
    points: db.prepare<[], { id: number; name: string }>('SELECT id, name FROM point'),
    point: db.prepare('INSERT INTO point (id, name) VALUES (?, ?)'),
    reading: db.prepare(
      `INSERT INTO reading (point, t, v, flags, seq, deviceSeq) VALUES (?, ?, ?, ?, ?, ?)
       ON CONFLICT DO NOTHING`,
    ),
    readingAt: db.prepare<[number, number], { v: number; flags: number; deviceSeq: number | null }>(
      'SELECT v, flags, deviceSeq FROM reading WHERE point = ? AND t = ?',
    ),
    requalify: db.prepare(
      'UPDATE reading SET flags = ?, seq = ?, deviceSeq = ? WHERE point = ? AND t = ?',
    ),
    conflict: db.prepare(
      'INSERT INTO conflict (point, t, v, seq) VALUES (?, ?, ?, ?) ON CONFLICT DO NOTHING',
    ),
    event: db.prepare(
      `INSERT INTO event (station, earliestMs, event, load, digest, seq, position)
       VALUES (?, ?, ?, ?, ?, ?, ?) ON CONFLICT DO NOTHING`,
    ),
    newest: db.prepare<[number], { t: number }>(newestReading),
    last: db.prepare<[number], { t: number | null }>(
      'SELECT max(t) AS t FROM reading WHERE point = ?',
    ),
    cover: db.prepare('UPDATE indexed SET seq = ? WHERE part = ?'),
    dropMinute: db.prepare('DELETE FROM minute WHERE point = ? AND t = ?'),
    addMinute: db.prepare(
      `INSERT OR REPLACE INTO minute (point, t, min, max, sum, count) ${minuteOfReadings}`,
    ),
    addMinutes: db.prepare(
      `INSERT OR REPLACE INTO minute (point, t, min, max, sum, count) ${minutesOfReadings}`,
    ),
  };
}
