import Database from 'better-sqlite3';
import { jobs, type Device, type Job, type Person } from '@setwell/shared-models/api/people';

export interface Secrets {
  badge: string | null;
  pin: string | null;
  password: string | null;
  /** Who he is for the plant's own sign-in service: its name, and his there. */
  subject: string | null;
}

/** Something that somebody who guards the plant wants to know of; never a secret, never a name as typed. */
export interface Noted {
  ms: number;
  what: string;
  /** `p-17`; null where nobody is known to be behind it. */
  person: string | null;
  /** The address it came from. */
  origin: string;
}

export interface Session {
  person: string;
  /** `full`: name and password; `hand`: badge, or name and PIN, for the one act. */
  kind: 'full' | 'hand';
  beganMs: number;
  untilMs: number;
  /** When the password was given again with a meaning, and which. */
  signed: { ms: number; meaning: string } | null;
}

/**
 * Each step takes a file of the version of its place to the next; a new file takes all of them. Columns are
 * only added, and what is written names its own: a version that is gone back to goes on with the file.
 */
const steps = [
  `CREATE TABLE IF NOT EXISTS person (
     id TEXT PRIMARY KEY, name TEXT NOT NULL, jobs TEXT NOT NULL, halls TEXT, ends_ms INTEGER,
     revoked_ms INTEGER, badge TEXT UNIQUE, pin TEXT, password TEXT) STRICT;
   CREATE UNIQUE INDEX IF NOT EXISTS person_name ON person (name) WHERE revoked_ms IS NULL;
   CREATE TABLE IF NOT EXISTS device (
     id TEXT PRIMARY KEY, kind TEXT NOT NULL, name TEXT NOT NULL, hall TEXT, scopes TEXT NOT NULL,
     digest TEXT NOT NULL UNIQUE, seen_ms INTEGER, revoked_ms INTEGER) STRICT;`,
  // Whoever is signed in meanwhile signs in once more.
  `DROP TABLE IF EXISTS session;
   CREATE TABLE session (
     digest TEXT PRIMARY KEY, person TEXT NOT NULL, kind TEXT NOT NULL, began_ms INTEGER NOT NULL,
     until_ms INTEGER NOT NULL, signed_ms INTEGER, meaning TEXT) STRICT;
   CREATE TABLE noted (ms INTEGER NOT NULL, what TEXT NOT NULL, person TEXT, origin TEXT NOT NULL) STRICT;
   CREATE INDEX noted_ms ON noted (ms);
   ALTER TABLE person ADD COLUMN subject TEXT;
   CREATE UNIQUE INDEX person_subject ON person (subject) WHERE revoked_ms IS NULL;`,
];

/** Sessions kept at once: fifty browsers, a few each; the ones that end first go first. */
const sessionsAtMost = 2_000;
/** Sign-ins and refusals are kept so long: a quarter, in which a break-in comes to light [ms]. */
export const notedForMs = 90 * 86_400_000;
/** A flood of tries must not fill the disk. */
const notedAtMost = 50_000;
/** More people than any one plant has hands; a runaway import stops here. */
export const peopleAtMost = 10_000;
export const devicesAtMost = 1_000;

interface PersonRow {
  id: string;
  name: string;
  jobs: string;
  halls: string | null;
  ends_ms: number | null;
  revoked_ms: number | null;
  badge: string | null;
  pin: string | null;
  password: string | null;
  subject: string | null;
}

interface DeviceRow {
  id: string;
  kind: 'screen' | 'token';
  name: string;
  hall: string | null;
  scopes: string;
  seen_ms: number | null;
  revoked_ms: number | null;
}

/**
 * `people.db`: who is who, and with which secrets. It is no record: the ledger says `p-17` and keeps
 * the grants, and a name can be erased here without touching it.
 */
export class PeopleDb {
  readonly #db: Database.Database;
  readonly #listeners = new Set<() => void>();

  constructor(file: string) {
    this.#db = new Database(file);
    this.#db.pragma('journal_mode = WAL');
    this.#db.pragma('synchronous = FULL'); // a revoked person stays revoked after a power cut
    this.#db.pragma('secure_delete = ON'); // an erased name is gone from the file, too
    this.#bringUp();
  }

  close(): void {
    this.#db.close();
  }

  /** Hears whenever somebody may no longer what he might before. @returns ends it */
  onChange(listener: () => void): () => void {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  }

  people(): Person[] {
    const rows = this.#db.prepare('SELECT * FROM person ORDER BY rowid').all() as PersonRow[];
    return rows.map(personOf);
  }

  person(id: string): Person | null {
    return oneOf(this.#row('id', id));
  }

  /** A living account by its name as typed. */
  named(name: string): (Person & Secrets) | null {
    const row = this.#db
      .prepare('SELECT * FROM person WHERE name = ? AND revoked_ms IS NULL')
      .get(name) as PersonRow | undefined;
    return row ? { ...personOf(row), ...secretsOf(row) } : null;
  }

  byBadge(digest: string): Person | null {
    return oneOf(this.#row('badge', digest));
  }

  bySubject(subject: string): Person | null {
    return oneOf(this.#row('subject', subject));
  }

  secrets(id: string): Secrets | null {
    const row = this.#row('id', id);
    return row ? secretsOf(row) : null;
  }

  /** Whether anybody can let others in. */
  hasAdministrator(): boolean {
    return this.people().some(
      (each) => each.revokedMs === null && each.jobs.includes('administrator'),
    );
  }

  /** @param granted the greatest number on the record: this file may have been lost, the record goes on */
  nextId(granted: number): string {
    const row = this.#db
      .prepare('SELECT MAX(CAST(SUBSTR(id, 3) AS INTEGER)) AS last FROM person')
      .get() as { last: number | null };
    return `p-${String(Math.max(row.last ?? 0, granted) + 1)}`;
  }

  put(person: Person, secrets: Partial<Secrets>): void {
    const { id, name, halls, endsMs, revokedMs } = person;
    const nothing = { badge: null, pin: null, password: null, subject: null };
    const kept = { ...nothing, ...this.secrets(id), ...secrets };
    this.#db
      .prepare(
        `INSERT INTO person (id, name, jobs, halls, ends_ms, revoked_ms, badge, pin, password, subject)
         VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)
         ON CONFLICT (id) DO UPDATE SET name = excluded.name, jobs = excluded.jobs,
           halls = excluded.halls, ends_ms = excluded.ends_ms, revoked_ms = excluded.revoked_ms,
           badge = excluded.badge, pin = excluded.pin, password = excluded.password,
           subject = excluded.subject`,
      )
      .run(
        ...[id, name, JSON.stringify(person.jobs), halls ? JSON.stringify(halls) : null],
        ...[endsMs, revokedMs, kept.badge, kept.pin, kept.password, kept.subject],
      );
    this.#changed();
  }

  /** The account ends, with every session of it. */
  revoke(id: string, ms: number): void {
    this.#db.transaction(() => {
      this.#db
        .prepare(
          `UPDATE person SET revoked_ms = ?, badge = NULL, pin = NULL, password = NULL, subject = NULL
           WHERE id = ?`,
        )
        .run(ms, id);
      this.#db.prepare('DELETE FROM session WHERE person = ?').run(id);
    })();
    this.#changed();
  }

  /** What is left of a person is his number. */
  erase(id: string): void {
    this.#db.prepare('UPDATE person SET name = ? WHERE id = ?').run(id, id);
    this.#db.pragma('wal_checkpoint(TRUNCATE)'); // the log beside the file holds it, too
  }

  devices(): Device[] {
    const rows = this.#db.prepare('SELECT * FROM device ORDER BY rowid').all() as DeviceRow[];
    return rows.map(deviceOf);
  }

  deviceBy(digest: string): Device | null {
    const row = this.#db
      .prepare('SELECT * FROM device WHERE digest = ? AND revoked_ms IS NULL')
      .get(digest) as DeviceRow | undefined;
    return row ? deviceOf(row) : null;
  }

  addDevice(device: Omit<Device, 'id' | 'seenMs' | 'revokedMs'>, digest: string): Device {
    const { count } = this.#db.prepare('SELECT COUNT(*) AS count FROM device').get() as {
      count: number;
    };
    const id = `d-${String(count + 1)}`;
    this.#db
      .prepare(
        'INSERT INTO device (id, kind, name, hall, scopes, digest) VALUES (?, ?, ?, ?, ?, ?)',
      )
      .run(id, device.kind, device.name, device.hall, JSON.stringify(device.scopes), digest);
    return { ...device, id, seenMs: null, revokedMs: null };
  }

  seen(id: string, ms: number): void {
    this.#db.prepare('UPDATE device SET seen_ms = ? WHERE id = ?').run(ms, id);
  }

  revokeDevice(id: string, ms: number): boolean {
    const revoke = this.#db.prepare('UPDATE device SET revoked_ms = ? WHERE id = ?');
    const isKnown = revoke.run(ms, id).changes > 0;
    this.#changed();
    return isKnown;
  }

  session(digest: string, nowMs: number): Session | null {
    const row = this.#db
      .prepare('SELECT * FROM session WHERE digest = ? AND until_ms > ?')
      .get(digest, nowMs) as
      | {
          person: string;
          kind: Session['kind'];
          began_ms: number;
          until_ms: number;
          signed_ms: number | null;
          meaning: string | null;
        }
      | undefined;
    if (!row) return null;
    const { person, kind, until_ms: untilMs, signed_ms: ms, meaning } = row;
    const beganMs = row.began_ms;
    return {
      person,
      kind,
      beganMs,
      untilMs,
      signed: ms === null ? null : { ms, meaning: meaning ?? '' },
    };
  }

  begin(
    digest: string,
    session: Pick<Session, 'person' | 'kind' | 'untilMs'>,
    nowMs: number,
  ): void {
    this.#db.transaction(() => {
      this.#db.prepare('DELETE FROM session WHERE until_ms <= ?').run(nowMs);
      this.#db
        .prepare(
          `DELETE FROM session WHERE digest IN
             (SELECT digest FROM session ORDER BY until_ms DESC LIMIT -1 OFFSET ?)`,
        )
        .run(sessionsAtMost - 1);
      this.#db
        .prepare(
          'INSERT INTO session (digest, person, kind, began_ms, until_ms) VALUES (?, ?, ?, ?, ?)',
        )
        .run(digest, session.person, session.kind, nowMs, session.untilMs);
    })();
  }

  prolong(digest: string, untilMs: number): void {
    this.#db.prepare('UPDATE session SET until_ms = ? WHERE digest = ?').run(untilMs, digest);
  }

  sign(digest: string, ms: number, meaning: string): void {
    this.#db
      .prepare('UPDATE session SET signed_ms = ?, meaning = ? WHERE digest = ?')
      .run(ms, meaning, digest);
  }

  /** A signature counts once. */
  unsign(digest: string): void {
    this.#db
      .prepare('UPDATE session SET signed_ms = NULL, meaning = NULL WHERE digest = ?')
      .run(digest);
  }

  end(digest: string): void {
    this.#db.prepare('DELETE FROM session WHERE digest = ?').run(digest);
    this.#changed();
  }

  /** @param but this one goes on; null: none */
  endAllOf(person: string, but: string | null = null): void {
    this.#db.prepare('DELETE FROM session WHERE person = ? AND digest IS NOT ?').run(person, but);
    this.#changed();
  }

  /** Where a person is signed in, newest first. */
  sessionsOf(person: string, nowMs: number): { kind: Session['kind']; beganMs: number }[] {
    return this.#db
      .prepare(
        `SELECT kind, began_ms AS beganMs FROM session
         WHERE person = ? AND until_ms > ? ORDER BY began_ms DESC`,
      )
      .all(person, nowMs) as { kind: Session['kind']; beganMs: number }[];
  }

  /** Keeps it for as long as what is kept of people may be kept, and no more of it than that. */
  note({ ms, what, person, origin }: Noted): void {
    this.#db.transaction(() => {
      this.#db
        .prepare('INSERT INTO noted (ms, what, person, origin) VALUES (?, ?, ?, ?)')
        .run(ms, what, person, origin);
      this.#db.prepare('DELETE FROM noted WHERE ms < ?').run(ms - notedForMs);
      this.#db
        .prepare(
          'DELETE FROM noted WHERE rowid <= (SELECT rowid FROM noted ORDER BY rowid DESC LIMIT 1 OFFSET ?)',
        )
        .run(notedAtMost);
    })();
  }

  /** Newest first. */
  noted(limit: number): Noted[] {
    return this.#db
      .prepare('SELECT * FROM noted ORDER BY rowid DESC LIMIT ?')
      .all(limit) as Noted[];
  }

  #bringUp(): void {
    const known = this.#db.pragma('user_version', { simple: true }) as number;
    for (const [place, step] of steps.entries()) {
      if (place < known) continue;
      this.#db.transaction(() => {
        this.#db.exec(step);
        this.#db.pragma(`user_version = ${String(place + 1)}`);
      })();
    }
  }

  #changed(): void {
    for (const listener of this.#listeners) listener();
  }

  #row(column: 'id' | 'badge' | 'subject', value: string): PersonRow | undefined {
    return this.#db.prepare(`SELECT * FROM person WHERE ${column} = ?`).get(value) as
      PersonRow | undefined;
  }
}

function oneOf(row: PersonRow | undefined): Person | null {
  return row ? personOf(row) : null;
}

function personOf(row: PersonRow): Person {
  const known = new Set<string>(jobs);
  return {
    id: row.id,
    name: row.name,
    jobs: (JSON.parse(row.jobs) as Job[]).filter((job) => known.has(job)),
    halls: row.halls === null ? null : (JSON.parse(row.halls) as string[]),
    endsMs: row.ends_ms,
    revokedMs: row.revoked_ms,
  };
}

function secretsOf({ badge, pin, password, subject }: PersonRow): Secrets {
  return { badge, pin, password, subject };
}

function deviceOf(row: DeviceRow): Device {
  const { id, kind, name, hall, seen_ms: seenMs, revoked_ms: revokedMs } = row;
  return { id, kind, name, hall, scopes: JSON.parse(row.scopes) as string[], seenMs, revokedMs };
}
