import Database from 'better-sqlite3';

/** A message is kept for so many more of them: a month of a busy plant. */
const mostKept = 20_000;
/** Nothing is asked again later than this: what says so was said while the clock was ahead [ms]. */
const mostAgainMs = 3_600_000;
const schemaVersion = 1;

const schema = `
CREATE TABLE message (
  id INTEGER PRIMARY KEY, route TEXT NOT NULL, key TEXT NOT NULL, calls TEXT NOT NULL,
  madeMs INTEGER NOT NULL, dueMs INTEGER NOT NULL, tries INTEGER NOT NULL DEFAULT 0,
  sentMs INTEGER, givenUpMs INTEGER, fault TEXT, UNIQUE (route, key)
) STRICT;
CREATE INDEX messageDue ON message (dueMs) WHERE sentMs IS NULL AND givenUpMs IS NULL;
PRAGMA user_version = ${schemaVersion};
`;

/** One message, from the moment it was owed until it was taken or given up. */
export interface OutboxMessage {
  id: number;
  route: string;
  /** What it tells, once for each route: a call and its state, or a digest's day. */
  key: string;
  /** Ids of the calls it tells of, as JSON. */
  calls: string;
  madeMs: number;
  dueMs: number;
  tries: number;
  sentMs: number | null;
  givenUpMs: number | null;
  /** What the last try ended with; no secret is in it. */
  fault: string | null;
}

/** What is owed to people, kept over restarts: a message is made once for each route and state. */
export class Outbox {
  readonly #db: Database.Database;
  readonly #statements;

  constructor(path: string) {
    this.#db = new Database(path);
    this.#db.pragma('journal_mode = WAL');
    this.#db.pragma('synchronous = FULL');
    if (this.#db.pragma('user_version', { simple: true }) === 0) this.#db.exec(schema);
    this.#statements = prepare(this.#db);
  }

  /** Owes a message; one that was made before for this route and state is not made again. */
  add(route: string, key: string, calls: string[], madeMs: number, dueMs: number): boolean {
    const { changes } = this.#statements.add.run(route, key, JSON.stringify(calls), madeMs, dueMs);
    this.#statements.forget.run(mostKept);
    return changes === 1;
  }

  /** Routes that something is owed on now. */
  owing(nowMs: number): string[] {
    return this.#statements.owing.all(isDueAt(nowMs)).map(({ route }) => route);
  }

  /** Owed now on a route, oldest first. */
  due(route: string, nowMs: number, limit: number): OutboxMessage[] {
    return this.#statements.due.all({ route, limit, ...isDueAt(nowMs) });
  }

  sent(id: number, atMs: number): void {
    this.#statements.sent.run(atMs, id);
  }

  failed(id: number, fault: string, againMs: number): void {
    this.#statements.failed.run(fault.slice(0, 500), againMs, id);
  }

  givenUp(id: number, fault: string, atMs: number): void {
    this.#statements.givenUp.run(fault.slice(0, 500), atMs, id);
  }

  /** Newest first. */
  all(limit: number): OutboxMessage[] {
    return this.#statements.all.all(limit);
  }

  close(): void {
    this.#db.close();
  }
}

interface DueAt {
  nowMs: number;
  farMs: number;
}

function isDueAt(nowMs: number): DueAt {
  return { nowMs, farMs: nowMs + mostAgainMs };
}

/** Owed by now; or made, or put off, by a clock that was ahead and has been set back since. */
const isDue = `sentMs IS NULL AND givenUpMs IS NULL
  AND (dueMs <= @nowMs OR madeMs > @nowMs OR (tries > 0 AND dueMs > @farMs))`;

function prepare(db: Database.Database) {
  return {
    add: db.prepare(
      `INSERT INTO message (route, key, calls, madeMs, dueMs) VALUES (?, ?, ?, ?, ?)
       ON CONFLICT DO NOTHING`,
    ),
    forget: db.prepare('DELETE FROM message WHERE id <= (SELECT max(id) FROM message) - ?'),
    owing: db.prepare<[DueAt], { route: string }>(
      `SELECT DISTINCT route FROM message WHERE ${isDue}`,
    ),
    due: db.prepare<[DueAt & { route: string; limit: number }], OutboxMessage>(
      `SELECT * FROM message WHERE route = @route AND ${isDue} ORDER BY dueMs, id LIMIT @limit`,
    ),
    sent: db.prepare('UPDATE message SET sentMs = ?, tries = tries + 1, fault = NULL WHERE id = ?'),
    failed: db.prepare('UPDATE message SET fault = ?, dueMs = ?, tries = tries + 1 WHERE id = ?'),
    givenUp: db.prepare(
      'UPDATE message SET fault = ?, givenUpMs = ?, tries = tries + 1 WHERE id = ?',
    ),
    all: db.prepare<[number], OutboxMessage>('SELECT * FROM message ORDER BY id DESC LIMIT ?'),
  };
}
