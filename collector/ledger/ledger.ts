import Database from 'better-sqlite3';
import type { KeyChanged, LogContinued } from '@setwell/shared-models/record/bodies';
import { keyIn } from '@setwell/shared-models/record/bundle';
import { canonicalJson } from '@setwell/shared-models/record/canonical';
import { checkpointText, originOf } from '@setwell/shared-models/record/checkpoint';
import type { Entry, EntryKind } from '@setwell/shared-models/record/entry';
import { leafHash as leafOf } from '@setwell/shared-models/record/tree';
import type { Clock } from '../clock.ts';
import { signedCheckpoint } from './held-checkpoint.ts';
import type { KeyFolder, SigningKey } from './key-folder.ts';
import { LedgerError } from './ledger-error.ts';
import { openLedgerDatabase } from './schema.ts';
import { sha256, sha256Hex } from './sha256.ts';
import type { Ledger, LogEnd, Proposal, SignedCheckpoint, StoredEntry } from './shape.ts';
import { parseVerifierKey } from './signed-note.ts';
import { TreeStore } from './tree-store.ts';

export { LedgerError } from './ledger-error.ts';
export { sha256Hex } from './sha256.ts';

/** What is told outside, and what ends an hour, is fixed by a signature in the transaction that adds it. */
const sealing = new Set<EntryKind>([
  'load-sealed',
  'load-amended',
  'lot-filed',
  'record-exported',
  'journal-closed',
  'log-continued',
  'key-changed',
]);

/** A document over 4 KiB belongs into a blob; this is where an entry is refused. */
const mostEntryBytes = 64 * 1024;

/**
 * Opens the ledger of a collector, beginning it with `log-started` where it is new.
 *
 * @param log site/collector/life of a new ledger; one that exists goes on with its own life
 * @param keys where the lives' keys lie; without them nothing is signed
 * @throws LedgerError when the file does not hold a log of that collector whole
 */
export function openLedger(
  path: string,
  log: string,
  clock: Clock,
  keys: KeyFolder | null = null,
): Ledger {
  const db = openLedgerDatabase(path);
  try {
    const ledger = new SqliteLedger(path, db, log, clock, keys);
    ledger.check();
    ledger.begin();
    return ledger;
  } catch (error) {
    db.close();
    throw error;
  }
}

/** Opens a collector's ledger and begins its next life there. @throws LedgerError as {@link openLedger} */
export function continueLedger(
  path: string,
  log: string,
  clock: Clock,
  keys: KeyFolder,
  { because, seen }: { because: LogContinued['because']; seen: LogEnd | null },
): Ledger {
  const db = openLedgerDatabase(path);
  try {
    const ledger = new SqliteLedger(path, db, log, clock, keys);
    ledger.check();
    ledger.continueAs(because, seen);
    return ledger;
  } catch (error) {
    db.close();
    throw error;
  }
}

/** SHA-256(0x00 ‖ bytes). @source RFC 9162, 2.1.1 */
export function leafHash(bytes: Buffer): Buffer {
  return Buffer.from(leafOf(sha256, bytes));
}

/** The collector of a log, whichever of its lives. */
function collectorOf(log: string): string {
  return log.slice(0, log.lastIndexOf('/'));
}

interface EntryRow {
  n: number;
  bytes: Buffer;
  leaf: Buffer;
}

class SqliteLedger implements Ledger {
  log: string;
  readonly tree: TreeStore;
  readonly #path: string;
  readonly #db: Database.Database;
  readonly #clock: Clock;
  readonly #keys: KeyFolder | null;
  readonly #statements;
  readonly #transaction: (proposals: Proposal[]) => Appended;
  readonly #listeners = new Set<(entries: StoredEntry[]) => void>();
  readonly #checkpointListeners = new Set<(checkpoint: SignedCheckpoint) => void>();
  #size = 0;
  #key: SigningKey | null = null;

  constructor(
    path: string,
    db: Database.Database,
    log: string,
    clock: Clock,
    keys: KeyFolder | null,
  ) {
    this.log = log;
    this.tree = new TreeStore(db, sha256);
    this.#path = path;
    this.#db = db;
    this.#clock = clock;
    this.#keys = keys;
    this.#statements = prepare(db);
    this.#transaction = db.transaction((proposals: Proposal[]) => this.#write(proposals)).immediate;
  }

  /**
   * Dense, of this collector, its last entry hashes to its leaf, and its tree has the root that was signed
   * last: else nothing may be added to it.
   */
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
    if (collectorOf(found) !== collectorOf(this.log)) {
      throw new LedgerError('other-log', `${this.#path}: holds ${found}, expected ${this.log}`);
    }
    this.log = found;
    this.#checkCheckpoint();
  }

  /** A new log begins with its key; one whose key is not here goes on with another, and says so. */
  begin(): void {
    const keys = this.#keys;
    if (this.#size === 0) {
      this.#key = keys?.create(originOf(this.log)) ?? null;
      const body = this.#key ? { key: this.#key.text } : {};
      this.append([{ kind: 'log-started', by: 'collector', about: {}, body }]);
      return;
    }
    if (!keys) return;
    const from = this.#statements.key.get() ?? null;
    const known = from === null ? null : parseVerifierKey(from);
    this.#key = known && keys.find(known);
    if (this.#key) return;
    this.#key = keys.create(originOf(this.log));
    const body: KeyChanged = { from, to: this.#key.text, because: from ? 'missing' : 'first' };
    this.append([{ kind: 'key-changed', by: 'collector', about: {}, body }]);
  }

  continueAs(because: LogContinued['because'], seenOutside: LogEnd | null): Entry {
    const from = {
      log: this.log,
      size: this.#size,
      root: this.tree.root(this.#size).toString('hex'),
    };
    const life = Number(this.log.slice(collectorOf(this.log).length + 1));
    this.log = `${collectorOf(this.log)}/${String(life + 1)}`;
    this.#key = this.#keys?.create(originOf(this.log)) ?? null;
    const body: LogContinued = { from, seenOutside, because, key: this.#key?.text ?? null };
    const [entry] = this.append([{ kind: 'log-continued', by: 'collector', about: {}, body }]);
    if (!entry) throw new Error('the ledger has answered no entry');
    return entry;
  }

  #checkCheckpoint(): void {
    const last = this.checkpoint();
    if (!last) return;
    if (last.size > this.#size) {
      const what = `${String(this.#size)} entries, ${String(last.size)} were signed: the last are missing`;
      throw new LedgerError('damaged', `${this.#path}: ${what}`);
    }
    if (this.tree.root(last.size).toString('base64') !== last.root) {
      const what = `the first ${String(last.size)} entries are not those that were signed`;
      throw new LedgerError('damaged', `${this.#path}: ${what}`);
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
    if (appended.signed) this.#tell(appended.signed);
    return appended.entries;
  }

  sign(): SignedCheckpoint | null {
    const last = this.checkpoint();
    if (!this.#key || last?.size === this.#size) return last;
    const signed = this.#sign(this.#size);
    if (signed) this.#tell(signed);
    return signed;
  }

  #tell(signed: SignedCheckpoint): void {
    for (const listener of this.#checkpointListeners) listener(signed);
  }

  #sign(size: number): SignedCheckpoint | null {
    if (!this.#key) return null;
    const root = this.tree.root(size).toString('base64');
    const note = this.#key.sign(checkpointText({ origin: originOf(this.log), size, root }));
    const atMs = this.#clock.nowMs();
    this.#statements.addCheckpoint.run(size, note, atMs);
    return { origin: originOf(this.log), size, root, note, atMs, key: this.#key.text };
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
    const isSealed = entries.some(({ kind }) => sealing.has(kind)) && stored.length > 0;
    const signed = isSealed ? this.#sign(this.#size + stored.length) : null;
    return { entries, stored, signed };
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
    this.tree.add(entry.n, leaf);
    const key = keyIn(entry);
    if (key !== null) this.#statements.addKey.run(entry.n, key);
    for (const sha256 of proposal.drops ?? []) {
      this.#statements.mayDrop.run(sha256, entry.n);
      this.#statements.dropBlob.run(sha256);
    }
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

  checkpoint(): SignedCheckpoint | null {
    const row = this.#statements.checkpoint.get();
    const signed = row && signedCheckpoint(row.note);
    if (!signed) return null;
    const { checkpoint } = signed;
    return { ...checkpoint, note: row.note, atMs: row.atMs, key: this.#keyOf(checkpoint.size) };
  }

  noteOf(size: number): string | null {
    return this.#statements.noteOf.get(size) ?? null;
  }

  keys(): { n: number; vkey: string }[] {
    return this.#statements.keys.all();
  }

  onAppend(listener: (entries: StoredEntry[]) => void): () => void {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  }

  onCheckpoint(listener: (checkpoint: SignedCheckpoint) => void): () => void {
    this.#checkpointListeners.add(listener);
    return () => this.#checkpointListeners.delete(listener);
  }

  #keyOf(size: number): string {
    return this.#statements.keyBefore.get(size) ?? '';
  }

  close(): void {
    this.#listeners.clear();
    this.#checkpointListeners.clear();
    this.#db.close();
  }
}

interface Appended {
  /** One for each proposal: the new entry, or the one its act has led to before. */
  entries: Entry[];
  stored: StoredEntry[];
  signed: SignedCheckpoint | null;
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
    mayDrop: db.prepare('INSERT INTO dropped (sha256, n) VALUES (?, ?)'),
    dropBlob: db.prepare('DELETE FROM blob WHERE sha256 = ?'),
    act: db.prepare<[string], { n: number }>('SELECT n FROM act WHERE id = ?'),
    addAct: db.prepare('INSERT INTO act (id, n) VALUES (?, ?)'),
    checkpoint: db.prepare<[], { size: number; note: string; atMs: number }>(
      'SELECT size, note, atMs FROM checkpoint ORDER BY size DESC, atMs DESC LIMIT 1',
    ),
    noteOf: pluck(db.prepare<[number], string>('SELECT note FROM checkpoint WHERE size = ?')),
    addCheckpoint: db.prepare(
      'INSERT INTO checkpoint (size, note, atMs) VALUES (?, ?, ?) ON CONFLICT DO NOTHING',
    ),
    key: pluck(db.prepare<[], string>('SELECT vkey FROM key ORDER BY n DESC LIMIT 1')),
    keyBefore: pluck(
      db.prepare<[number], string>('SELECT vkey FROM key WHERE n < ? ORDER BY n DESC LIMIT 1'),
    ),
    keys: db.prepare<[], { n: number; vkey: string }>('SELECT n, vkey FROM key ORDER BY n'),
    addKey: db.prepare('INSERT INTO key (n, vkey) VALUES (?, ?)'),
  };
}

function pluck<Given extends unknown[]>(statement: Database.Statement<Given, string>) {
  return statement.pluck();
}
