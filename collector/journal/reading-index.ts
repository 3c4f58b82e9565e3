import { createHash } from 'node:crypto';
import type Database from 'better-sqlite3';
import { flagsOf } from './batch-body.ts';
import type { Reading, StationEvent } from './shape.ts';

/** Whether an item says something new. */
export type Novelty = 'new' | 'duplicate' | 'conflict';

interface Minute {
  point: number;
  t: number;
  min: number;
  max: number;
  sum: number;
  count: number;
  /** A conflict takes its readings out: the row is made again from the index. */
  afresh: boolean;
}

const minuteMs = 60_000;

/** Rows that charts and minutes count: neither ahead of their receipt nor of doubtful quality. */
export const countedFlags = '(flags & 16) = 0 AND (flags & 7) IN (0, 3)';

/**
 * The index of the batches: readings by (point, t), conflicts, events, minutes. It is written in
 * the batch's transaction and decides what is new, so that a batch holds nothing twice.
 */
export class ReadingIndex {
  readonly #pointIds = new Map<string, number>();
  readonly #minutes = new Map<number, Minute>();
  readonly #statements;

  constructor(db: Database.Database) {
    this.#statements = prepare(db);
    this.forget();
  }

  /** Takes the point numbers from the file again, after a transaction that was rolled back. */
  forget(): void {
    this.#minutes.clear();
    this.#pointIds.clear();
    for (const { id, name } of this.#statements.points.all()) this.#pointIds.set(name, id);
  }

  addReading(reading: Reading, seq: number): Novelty {
    const point = this.#pointId(reading.point);
    const { t, v, deviceSeq } = reading;
    const flags = flagsOf(reading);
    if (this.#statements.reading.run(point, t, v, flags, seq, deviceSeq).changes === 1) {
      this.#count(point, reading);
      return 'new';
    }
    if (this.#statements.valueAt.get(point, t)?.v === v) return 'duplicate';
    if (this.#statements.conflict.run(point, t, v, seq).changes === 0) return 'duplicate';
    this.#minute(point, t).afresh = true;
    return 'conflict';
  }

  /** An event is the same when station, time, kind, load and all it says are the same. */
  addEvent(event: StationEvent, seq: number, position: number): Novelty {
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

  /** Writes the minutes that the batch touched. */
  writeMinutes(): void {
    for (const minute of this.#minutes.values()) {
      const { point, t, min, max, sum, count } = minute;
      if (minute.afresh) {
        this.#statements.dropMinute.run(point, t);
        this.#statements.minuteFromIndex.run({ point, t, untilMs: t + minuteMs });
      } else {
        this.#statements.minute.run(point, t, min, max, sum, count);
      }
    }
    this.#minutes.clear();
  }

  #count(point: number, reading: Reading): void {
    const counted = !reading.ahead && (reading.quality === 'good' || reading.quality === 'late');
    if (!counted) return;
    const minute = this.#minute(point, reading.t);
    minute.min = Math.min(minute.min, reading.v);
    minute.max = Math.max(minute.max, reading.v);
    minute.sum += reading.v;
    minute.count += 1;
  }

  #minute(point: number, t: number): Minute {
    const index = Math.floor(t / minuteMs);
    // Minutes since the epoch stay under 1e8 until the year 2160.
    const key = point * 1e8 + index;
    let minute = this.#minutes.get(key);
    if (minute === undefined) {
      minute = {
        point,
        t: index * minuteMs,
        min: Infinity,
        max: -Infinity,
        sum: 0,
        count: 0,
        afresh: false,
      };
      this.#minutes.set(key, minute);
    }
    return minute;
  }

  #pointId(name: string): number {
    let id = this.#pointIds.get(name);
    if (id === undefined) {
      id = this.#pointIds.size + 1;
      this.#statements.point.run(id, name);
      this.#pointIds.set(name, id);
    }
    return id;
  }
}

function prepare(db: Database.Database) {
  return {
    points: db.prepare<[], { id: number; name: string }>('SELECT id, name FROM point'),
    point: db.prepare('INSERT INTO point (id, name) VALUES (?, ?)'),
    reading: db.prepare(
      `INSERT INTO reading (point, t, v, flags, seq, deviceSeq) VALUES (?, ?, ?, ?, ?, ?)
       ON CONFLICT DO NOTHING`,
    ),
    valueAt: db.prepare<[number, number], { v: number }>(
      'SELECT v FROM reading WHERE point = ? AND t = ?',
    ),
    conflict: db.prepare(
      'INSERT INTO conflict (point, t, v, seq) VALUES (?, ?, ?, ?) ON CONFLICT DO NOTHING',
    ),
    event: db.prepare(
      `INSERT INTO event (station, earliestMs, event, load, digest, seq, position)
       VALUES (?, ?, ?, ?, ?, ?, ?) ON CONFLICT DO NOTHING`,
    ),
    minute: db.prepare(
      `INSERT INTO minute (point, t, min, max, sum, count) VALUES (?, ?, ?, ?, ?, ?)
       ON CONFLICT (point, t) DO UPDATE SET
         min = min(min, excluded.min), max = max(max, excluded.max),
         sum = sum + excluded.sum, count = count + excluded.count`,
    ),
    dropMinute: db.prepare('DELETE FROM minute WHERE point = ? AND t = ?'),
    minuteFromIndex: db.prepare(
      `INSERT INTO minute (point, t, min, max, sum, count)
       SELECT :point, :t, min(v), max(v), sum(v), count(*) FROM reading r
       WHERE point = :point AND t >= :t AND t < :untilMs AND ${countedFlags}
         AND NOT EXISTS (SELECT 1 FROM conflict c WHERE c.point = r.point AND c.t = r.t)
       HAVING count(*) > 0`,
    ),
  };
}
