import { createHash } from 'node:crypto';
import Database from 'better-sqlite3';
import { canonicalJson } from '@setwell/shared-models/record/canonical';
import type { Entry } from '@setwell/shared-models/record/entry';
import type { Clock } from '../clock.ts';
import { LedgerError } from './ledger-error.ts';
import { openLedgerDatabase } from './schema.ts';
import type { Ledger, Proposal, StoredEntry } from './shape.ts';

export { LedgerError } from './ledger-error.ts';

/** A document over 4 KiB belongs into a blob; this is where an entry is refused. */
const mostEntryBytes = 64 * 1024;

/**
 * Opens the ledger of one life of a collector, beginning it with `log-started` where it is new.
 *
 * @param log site/collector/life
 * @throws LedgerError when the file does not hold that log whole
 */
export function openLedger(path: string, log: string, clock: Clock): Ledger {
  const db = openLedgerDatabase(path);
  try {
    const ledger = new SqliteLedger(path, db, log, clock);
    ledger.check();
    if (ledger.size() === 0) {
      ledger.append([{ kind: 'log-started', by: 'collector', about: {}, body: {} }]);
    }
    return ledger;
  } catch (error) {
    db.close();
    throw error;
  }
}

/** SHA-256(0x00 ‖ bytes). @source RFC 9162, 2.1.1 */
export function leafHash(bytes: Buffer): Buffer {
  return createHash('sha256').update(Buffer.of(0)).update(bytes).digest();
}

export function sha256Hex(bytes: Buffer): string {
  return createHash('sha256').update(bytes).digest('hex');
}

interface EntryRow {
  n: number;
  bytes: Buffer;
  leaf: Buffer;
}

class SqliteLedger implements Ledger {
  readonly log: string;
  readonly #path: string;
  readonly #db: Database.Database;
  readonly #clock: Clock;
  readonly #statements;
  readonly #transaction: (proposals: Proposal[]) => Appended;
  readonly #listeners = new Set<(entries: StoredEntry[]) => void>();
  #size = 0;

  constructor(path: string, db: Database.Database, log: string, clock: Clock) {
    this.log = log;
    this.#path = path;
    this.#db = db;
    this.#clock = clock;
    this.#statements = prepare(db);
    this.#transaction = db.transaction((proposals: Proposal[]) => this.#write(proposals)).immediate;
  }

  /** Dense, of this log, and its last entry hashes to its leaf: else nothing may be added to it. */
  check(): void {
    const { count, last } = this.#statements.extent.get() ?? { count: 0, last: null };
    if (count !== (last ?? -1) + 1) {
      const what = `${count} entries, the last one is ${String(last)}: some are missing`;
      throw new LedgerError('damaged', `${this.#path}: ${what}`);
    }
    this.#size = count;
    if (last === null) return;
    const row = this.#statements.entry.get(last);
    if (row === undefined || !leafHash(row.bytes).equals(row.leaf)) {
      throw new LedgerError('damaged', `${this.#path}: entry ${last} is not what was recorded`);
    }
    const found = entryOf(row).log;
    if (found !== this.log) {
      throw new LedgerError('other-log', `${this.#path}: holds ${found}, expected ${this.log}`);
    }
  }

  size(): number {
    return this.#size;
  }

  append(proposals: Proposal[]): Entry[] {
    const appended = this.#commit(proposals);
    this.#size += appended.stored.length;
    if (appended.stored.length > 0) {
      for (const listener of this.#listeners) listener(appended.stored);
    }
    return appended.entries;
  }

  #commit(proposals: Proposal[]): Appended {
    try {
      return this.#transaction(proposals);
    } catch (error) {
      if (!(error instanceof Database.SqliteError)) throw error;
      throw new LedgerError('disk', `${this.#path}: ${error.message}`, error);
    }
  }

  #write(proposals: Proposal[]): Appended {
    const entries: Entry[] = [];
    const stored: StoredEntry[] = [];
    for (const proposal of proposals) {
      const earlier = proposal.act === undefined ? null : this.ofAct(proposal.act);
      if (earlier !== null) {
        entries.push(earlier);
        continue;
      }
      const entry: Entry = {
        v: 1,
        log: this.log,
        n: this.#size + stored.length,
        at: this.#clock.nowMs(),
        kind: proposal.kind,
        by: proposal.by,
        about: proposal.about,
        cites: proposal.cites ?? [],
        body: proposal.body,
      };
      entries.push(entry);
      stored.push(this.#writeEntry(entry, proposal));
    }
    return { entries, stored };
  }

  #writeEntry(entry: Entry, proposal: Proposal): StoredEntry {
    const bytes = Buffer.from(canonicalJson(entry));
    if (bytes.length > mostEntryBytes) {
      throw new RangeError(
        `entry ${entry.kind} of ${bytes.length} bytes; at most ${mostEntryBytes}: use a blob`,
      );
    }
    // Documents first: an entry never names what is not there.
    for (const blob of proposal.blobs ?? []) this.#statements.addBlob.run(sha256Hex(blob), blob);
    const leaf = leafHash(bytes);
    this.#statements.addEntry.run(entry.n, bytes, leaf);
    if (proposal.act !== undefined) this.#statements.addAct.run(proposal.act, entry.n);
    return { n: entry.n, bytes, leaf: leaf.toString('hex') };
  }

  entry(n: number): Entry | null {
    const row = this.#statements.entry.get(n);
    return row === undefined ? null : entryOf(row);
  }

  entriesAfter(n: number, limit: number): StoredEntry[] {
    return this.#statements.entriesAfter
      .all(n, limit)
      .map((row) => ({ n: row.n, bytes: row.bytes, leaf: row.leaf.toString('hex') }));
  }

  blob(sha256: string): Buffer | null {
    return this.#statements.blob.get(sha256)?.bytes ?? null;
  }

  ofAct(id: string): Entry | null {
    const n = this.#statements.act.get(id)?.n;
    return n === undefined ? null : this.entry(n);
  }

  onAppend(listener: (entries: StoredEntry[]) => void): () => void {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  }

  close(): void {
    this.#listeners.clear();
    this.#db.close();
  }
}

interface Appended {
  /** One for each proposal: the new entry, or the one its act has led to before. */
  entries: Entry[];
  stored: StoredEntry[];
}

function entryOf(row: { bytes: Buffer }): Entry {
  return JSON.parse(row.bytes.toString('utf8')) as Entry;
}

function prepare(db: Database.Database) {
  return {
    extent: db.prepare<[], { count: number; last: number | null }>(
      'SELECT count(*) AS count, max(n) AS last FROM entry',
    ),
    entry: db.prepare<[number], EntryRow>('SELECT n, bytes, leaf FROM entry WHERE n = ?'),
    entriesAfter: db.prepare<[number, number], EntryRow>(
      'SELECT n, bytes, leaf FROM entry WHERE n > ? ORDER BY n LIMIT ?',
    ),
    addEntry: db.prepare('INSERT INTO entry (n, bytes, leaf) VALUES (?, ?, ?)'),
    blob: db.prepare<[string], { bytes: Buffer }>('SELECT bytes FROM blob WHERE sha256 = ?'),
    addBlob: db.prepare('INSERT INTO blob (sha256, bytes) VALUES (?, ?) ON CONFLICT DO NOTHING'),
    act: db.prepare<[string], { n: number }>('SELECT n FROM act WHERE id = ?'),
    addAct: db.prepare('INSERT INTO act (id, n) VALUES (?, ?)'),
  };
}
