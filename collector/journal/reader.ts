import Database from 'better-sqlite3';
import type { Reject } from '@setwell/shared-models/api/collector';
import { batchOf, decodeBody, withFlags } from './batch-body.ts';
import type { StoredReject } from './journal.ts';
import { FreshReadings, type FreshReading } from './fresh-readings.ts';
import { JournalError } from './journal-error.ts';
import { rolledUp } from './minute-roll.ts';
import { isCounted, minuteMs, minuteOf, newestReading } from './reading-index.ts';
import { headOfJournal } from './schema.ts';
import { sequenceHoles, type NumberedReading, type SequenceHole } from './sequence.ts';
import type { Batch, JournalReader, LastReading, Minute, PointReadings, Reading } from './shape.ts';

/** So many damaged batches are named; a destroyed file has them everywhere. */
const mostUnreadable = 1000;
/** Batches that name one load, at most. */
const mostNaming = 1000;

interface BatchRow {
  seq: number;
  body: Buffer;
}

interface ReadingRow {
  t: number;
  v: number;
  flags: number;
  deviceSeq: number | null;
}

/**
 * Opens an existing journal for reading, on a connection of its own; safe in a worker. Each answer
 * is one short transaction: a long one would keep the write-ahead log from shrinking.
 *
 * @throws JournalError when there is no such journal
 */
export function openJournalReader(path: string): JournalReader {
  let db: Database.Database;
  try {
    db = new Database(path, { readonly: true, fileMustExist: true });
  } catch (error) {
    throw JournalError.of(error, path);
  }
  return new SqliteJournalReader(db);
}

class SqliteJournalReader implements JournalReader {
  readonly #db: Database.Database;
  readonly #fresh: FreshReadings;
  readonly #statements;
  readonly #unreadable = new Set<number>();

  constructor(db: Database.Database) {
    this.#db = db;
    this.#fresh = new FreshReadings(db);
    this.#statements = prepare(db);
  }

  head(): number {
    return this.#statements.head.get()?.seq ?? 0;
  }

  unreadable(): readonly number[] {
    return [...this.#unreadable].sort((a, b) => a - b);
  }

  batchesAfter(seq: number, limit: number): Batch[] {
    const { batches } = this.#statements;
    return this.#readable(
      () => batches.all(seq, limit),
      () => upTo(seq, this.head()),
      limit,
    );
  }

  batchesWithEvents(seq: number, untilSeq: number, limit: number): Batch[] {
    const { batchesWithEvents } = this.#statements;
    return this.#readable(
      () => batchesWithEvents.all(seq, untilSeq, limit),
      () => upTo(seq, untilSeq),
      limit,
      ({ events }) => events.length > 0,
    );
  }

  batchesNaming(load: string, seq: number, untilSeq: number): Batch[] {
    const { batchesNaming } = this.#statements;
    return this.#readable(
      () => batchesNaming.all(load, seq, untilSeq),
      () => upTo(seq, untilSeq),
      mostNaming,
      ({ events }) => events.some(({ event }) => event.load === load),
    );
  }

  /** What is asked for in one go; where something of it is damaged, one by one, and that is left out. */
  #readable(
    whole: () => BatchRow[],
    numbers: () => Iterable<number>,
    limit: number,
    isWanted: (batch: Batch) => boolean = () => true,
  ): Batch[] {
    try {
      return whole().map(batchFromRow);
    } catch (error) {
      if (!isDamage(error)) throw error;
    }
    const found: Batch[] = [];
    for (const seq of numbers()) {
      const batch = this.#batch(seq);
      if (batch !== null && isWanted(batch)) found.push(batch);
      if (found.length === limit) break;
    }
    return found;
  }

  /** Null where there is none, or none that can be read. */
  #batch(seq: number): Batch | null {
    try {
      const row = this.#statements.body.get(seq);
      return row === undefined ? null : batchFromRow(row);
    } catch (error) {
      if (!isDamage(error)) throw error;
      if (this.#unreadable.size < mostUnreadable) this.#unreadable.add(seq);
      return null;
    }
  }

  firstEventSeq(station: string, fromMs: number): number | null {
    return this.#statements.firstEventSeq.get(station, fromMs)?.seq ?? null;
  }

  readings(point: string, fromMs: number, toMs: number): PointReadings {
    return this.#inOneLook(() => {
      const id = this.#statements.pointId.get(point)?.id;
      if (id === undefined) return { readings: [], conflicts: 0, conflictTimes: [] };
      const conflicting = new Set(
        this.#statements.conflicts.all(id, fromMs, toMs).map((row) => row.t),
      );
      const readings: Reading[] = [];
      for (const row of this.#statements.readings.all(id, fromMs, toMs)) {
        if (!conflicting.has(row.t)) readings.push(readingOf(point, row));
      }
      for (const { reading } of this.#freshOf(point, fromMs, toMs)) readings.push(reading);
      return { readings, conflicts: conflicting.size, conflictTimes: [...conflicting] };
    });
  }

  sequenceHoles(point: string, fromMs: number, toMs: number): SequenceHole[] {
    return this.#inOneLook(() => {
      // Values in conflict carry their numbers all the same.
      const numbered = this.#statements.numbered.all(point, fromMs, toMs);
      for (const { reading } of this.#freshOf(point, fromMs, toMs)) {
        const { t, deviceSeq, ahead } = reading;
        if (deviceSeq !== null && !ahead) numbered.push({ t, deviceSeq });
      }
      return sequenceHoles(numbered);
    });
  }

  arrivedAfter(seq: number, point: string, fromMs: number, toMs: number) {
    return this.#inOneLook(() => {
      const id = this.#statements.pointId.get(point)?.id;
      if (id === undefined) return null;
      const row = this.#statements.arrivedAfter.get({ id, fromMs, toMs, seq });
      const arrivals = this.#freshOf(point, fromMs, toMs)
        .filter((fresh) => fresh.seq > seq)
        .map(({ receivedMs }) => receivedMs);
      const firstMs = Math.min(row?.firstMs ?? Infinity, ...arrivals);
      const lastMs = Math.max(row?.lastMs ?? -Infinity, ...arrivals);
      return firstMs === Infinity ? null : { firstMs, lastMs };
    });
  }

  lastReading(point: string): LastReading | null {
    return this.#inOneLook(() => {
      const fresh = this.#fresh
        .of(point)
        .filter(({ reading }) => !reading.ahead)
        .at(-1);
      if (fresh !== undefined) return { ...fresh.reading, receivedMs: fresh.receivedMs };
      const row = this.#statements.last.get(point);
      return row === undefined ? null : { ...readingOf(point, row), receivedMs: row.receivedMs };
    });
  }

  minutes(point: string, fromMs: number, toMs: number) {
    return this.#minutes(point, fromMs, toMs, (span) => this.#statements.minutes.all(span));
  }

  minutesInSteps(point: string, fromMs: number, toMs: number, stepMs: number) {
    return this.#minutes(point, fromMs, toMs, (span) =>
      this.#statements.minutesInSteps.all({ ...span, stepMs }),
    );
  }

  /** @param closedOf the rows of minutes that are closed; open ones are made from their readings */
  #minutes(
    point: string,
    fromMs: number,
    toMs: number,
    closedOf: (span: { id: number; fromMs: number; toMs: number }) => MinuteRow[],
  ): Minute[] {
    return this.#inOneLook(() => {
      const id = this.#statements.pointId.get(point)?.id;
      const newestMs = id === undefined ? undefined : this.#statements.newest.get(id)?.t;
      if (id === undefined) return [];
      // Without a reading left no minute is open; what is rolled up is all there is.
      const openMs = newestMs === undefined ? Infinity : minuteOf(newestMs);
      const closed = closedOf({ id, fromMs, toMs: Math.min(toMs, openMs - 1) });
      const untilMs = minuteOf(toMs) + minuteMs - 1;
      const openFromMs = Math.min(openMs, this.#fresh.of(point)[0]?.reading.t ?? Infinity);
      const { readings } = this.readings(point, openFromMs, untilMs);
      const open = rolledUp(readings.filter(isCounted)).filter(({ t }) => t >= fromMs);
      return [...closed.map(minuteFromRow), ...open];
    });
  }

  /** What a question needs is one state of the file, and what its index does not know yet. */
  #inOneLook<Answer>(ask: () => Answer): Answer {
    return this.#db.transaction(() => {
      this.#fresh.catchUp();
      return ask();
    })();
  }

  #freshOf(point: string, fromMs: number, toMs: number): readonly FreshReading[] {
    return this.#fresh.of(point).filter(({ reading: { t } }) => t >= fromMs && t <= toMs);
  }

  closing(fromSeq: number, toSeq: number) {
    const to = this.#statements.batch.get(toSeq);
    const from = this.#firstReceipt(fromSeq, toSeq);
    if (!from || !to) throw new RangeError(`batches ${String(fromSeq)} to ${String(toSeq)}`);
    return {
      lastHash: to.hash.toString('hex'),
      conflicts: this.#statements.conflictsOf.get(fromSeq, toSeq)?.count ?? 0,
      rejects: this.#statements.rejectsOf.get(from.receivedMs, to.receivedMs)?.count ?? 0,
    };
  }

  /** What a run begins with may be damaged; it ends with what was read. */
  #firstReceipt(fromSeq: number, toSeq: number): { receivedMs: number } | null {
    for (const seq of upTo(fromSeq - 1, toSeq)) {
      try {
        const row = this.#statements.batch.get(seq);
        if (row !== undefined) return row;
      } catch (error) {
        if (!isDamage(error)) throw error;
      }
    }
    return null;
  }

  rejects(limit: number): Reject[] {
    return this.#statements.rejects
      .all(limit)
      .map((row) => ({ ...row, payload: row.payload.toString('utf8') }));
  }

  rejectsAfter(id: number, limit: number): StoredReject[] {
    return this.#statements.rejectsAfter.all(id, limit).map(({ payloadBytes, ...row }) => ({
      ...row,
      isWhole: row.payload.length === payloadBytes,
    }));
  }

  close(): void {
    this.#db.close();
  }
}

function batchFromRow({ seq, body }: BatchRow): Batch {
  return batchOf(seq, decodeBody(body));
}

function* upTo(afterSeq: number, untilSeq: number): Generator<number> {
  for (let seq = afterSeq + 1; seq <= untilSeq; seq += 1) yield seq;
}

/** A page that is none any more, or bytes that are not those of a batch. */
function isDamage(error: unknown): boolean {
  if (error instanceof Database.SqliteError) return error.code.startsWith('SQLITE_CORRUPT');
  return error instanceof SyntaxError;
}

function readingOf(point: string, row: ReadingRow): Reading {
  return withFlags(point, row.t, row.v, row.flags, row.deviceSeq);
}

interface MinuteRow {
  t: number;
  min: number;
  max: number;
  sum: number;
  count: number;
}

function minuteFromRow({ t, min, max, sum, count }: MinuteRow): Minute {
  return { t, min, max, mean: sum / count, count };
}

// Longer than the limit because it is a list: every question to the file stands here, and nothing else.
function prepare(db: Database.Database) {
  return {
    head: db.prepare<[], { seq: number }>(headOfJournal),
    body: db.prepare<[number], BatchRow>('SELECT seq, body FROM batch WHERE seq = ?'),
    batches: db.prepare<[number, number], BatchRow>(
      'SELECT seq, body FROM batch WHERE seq > ? ORDER BY seq LIMIT ?',
    ),
    batchesWithEvents: db.prepare<[number, number, number], BatchRow>(
      `SELECT seq, body FROM batch
       WHERE seq IN (SELECT DISTINCT seq FROM event WHERE seq > ? AND seq <= ?)
       ORDER BY seq LIMIT ?`,
    ),
    batchesNaming: db.prepare<[string, number, number], BatchRow>(
      `SELECT seq, body FROM batch
       WHERE seq IN (SELECT seq FROM event WHERE load = ? AND seq > ? AND seq <= ?)
       ORDER BY seq LIMIT ${mostNaming}`,
    ),
    firstEventSeq: db.prepare<[string, number], { seq: number | null }>(
      'SELECT min(seq) AS seq FROM event WHERE station = ? AND earliestMs >= ?',
    ),
    pointId: db.prepare<[string], { id: number }>('SELECT id FROM point WHERE name = ?'),
    conflicts: db.prepare<[number, number, number], { t: number }>(
      'SELECT DISTINCT t FROM conflict WHERE point = ? AND t BETWEEN ? AND ?',
    ),
    readings: db.prepare<[number, number, number], ReadingRow>(
      `SELECT t, v, flags, deviceSeq FROM reading WHERE point = ? AND t BETWEEN ? AND ?
       ORDER BY t`,
    ),
    numbered: db.prepare<[string, number, number], NumberedReading>(
      `SELECT t, deviceSeq FROM reading
       WHERE point = (SELECT id FROM point WHERE name = ?) AND t BETWEEN ? AND ?
         AND deviceSeq IS NOT NULL AND (flags & 16) = 0
       ORDER BY t`,
    ),
    arrivedAfter: db.prepare<
      [{ id: number; fromMs: number; toMs: number; seq: number }],
      { firstMs: number | null; lastMs: number | null }
    >(
      `SELECT min(receivedMs) AS firstMs, max(receivedMs) AS lastMs FROM batch WHERE seq IN (
         SELECT seq FROM reading WHERE point = :id AND t BETWEEN :fromMs AND :toMs AND seq > :seq
         UNION
         SELECT seq FROM conflict WHERE point = :id AND t BETWEEN :fromMs AND :toMs AND seq > :seq)`,
    ),
    last: db.prepare<[string], ReadingRow & { receivedMs: number }>(
      `SELECT t, v, flags, deviceSeq, batch.receivedMs FROM reading JOIN batch USING (seq)
       WHERE point = (SELECT id FROM point WHERE name = ?) AND (flags & 16) = 0
       ORDER BY t DESC LIMIT 1`,
    ),
    newest: db.prepare<[number], { t: number }>(newestReading),
    minutes: db.prepare<[{ id: number; fromMs: number; toMs: number }], MinuteRow>(
      `SELECT t, min, max, sum, count FROM minute
       WHERE point = :id AND t BETWEEN :fromMs AND :toMs ORDER BY t`,
    ),
    minutesInSteps: db.prepare<
      [{ id: number; fromMs: number; toMs: number; stepMs: number }],
      MinuteRow
    >(
      `SELECT min(t) AS t, min(min) AS min, max(max) AS max, sum(sum) AS sum, sum(count) AS count
       FROM minute WHERE point = :id AND t BETWEEN :fromMs AND :toMs
       GROUP BY (t - CAST(:fromMs AS INTEGER)) / CAST(:stepMs AS INTEGER) ORDER BY 1`,
    ),
    batch: db.prepare<[number], { receivedMs: number; hash: Buffer }>(
      'SELECT receivedMs, hash FROM batch WHERE seq = ?',
    ),
    conflictsOf: db.prepare<[number, number], { count: number }>(
      'SELECT count(*) AS count FROM conflict WHERE seq BETWEEN ? AND ?',
    ),
    rejectsOf: db.prepare<[number, number], { count: number }>(
      'SELECT count(*) AS count FROM reject WHERE receivedMs BETWEEN ? AND ?',
    ),
    rejectsAfter: db.prepare<
      [number, number],
      Omit<StoredReject, 'isWhole'> & { payloadBytes: number }
    >(
      `SELECT id, receivedMs, topic, code, payload, payloadBytes FROM reject
       WHERE id > ? ORDER BY id LIMIT ?`,
    ),
    rejects: db.prepare<[number], Omit<Reject, 'payload'> & { payload: Buffer }>(
      `SELECT receivedMs, topic, code, found, expected, payload FROM reject
       ORDER BY id DESC LIMIT ?`,
    ),
  };
}
