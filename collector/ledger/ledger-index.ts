import Database from 'better-sqlite3';
import type { LoadCorrected, LoadOpened, LotFiled } from '@setwell/shared-models/record/bodies';
import type { Entry } from '@setwell/shared-models/record/entry';
import { isRelease } from '@setwell/shared-models/record/lot-file';
import { isOfLotItself } from '@setwell/shared-models/record/retention';
import { openLosable } from '../losable-file.ts';
import type { Ledger } from './shape.ts';

/** A lot whose file is to be fixed: why, and by the entry that asks for it. */
export interface OwedFile {
  lot: string;
  because: LotFiled['because'];
  after: number;
}

/**
 * Lots and loads get numbers of their own, for their names stand in millions of rows. `named` has the
 * entries that name a lot and are of none of its loads; `lot_load` the loads that are in it, or were
 * (`until` their last entry there); `last` the entry up to which all this is known.
 */
const schema = `
CREATE TABLE last (one INTEGER PRIMARY KEY CHECK (one = 1), n INTEGER NOT NULL, leaf TEXT NOT NULL) STRICT;
CREATE TABLE foundation (n INTEGER PRIMARY KEY) STRICT;
CREATE TABLE lot (id INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE,
  newestMs INTEGER, isDropped INTEGER NOT NULL DEFAULT 0,
  revision INTEGER NOT NULL DEFAULT 0, because TEXT, after INTEGER) STRICT;
CREATE INDEX owed ON lot (after) WHERE after IS NOT NULL;
CREATE INDEX kept ON lot (newestMs) WHERE isDropped = 0;
CREATE TABLE load (id INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE, lot INTEGER NOT NULL) STRICT;
CREATE TABLE named (lot INTEGER NOT NULL, n INTEGER NOT NULL, PRIMARY KEY (lot, n)) STRICT, WITHOUT ROWID;
CREATE TABLE load_entry (load INTEGER NOT NULL, n INTEGER NOT NULL, PRIMARY KEY (load, n))
  STRICT, WITHOUT ROWID;
CREATE TABLE lot_load (lot INTEGER NOT NULL, load INTEGER NOT NULL, since INTEGER NOT NULL, until INTEGER,
  PRIMARY KEY (lot, load)) STRICT, WITHOUT ROWID;
CREATE INDEX lots_of_load ON lot_load (load);
PRAGMA user_version = 1;
`;

const slice = 1000;

/**
 * The index of a ledger, brought up to its end. What lies there and does not belong to this ledger is made anew.
 *
 * @param path of a file that may be lost
 */
export function openLedgerIndex(path: string, ledger: Pick<Ledger, 'entriesAfter'>): LedgerIndex {
  const index = new LedgerIndex(openLosable({ path, schema, version: 1 }), ledger);
  index.catchUp();
  return index;
}

/** The same for whoever only asks, beside the one who writes. */
export function openLedgerIndexReader(
  path: string,
  ledger: Pick<Ledger, 'entriesAfter'>,
): LedgerIndex {
  return new LedgerIndex(new Database(path, { readonly: true, fileMustExist: true }), ledger);
}

/**
 * Which entries tell of a lot and of a load: a fold of the ledger that is kept, so that neither a lot's file
 * nor a start reads all of it, and nobody keeps ten years of loads in memory. A load that is put into another
 * lot takes all its entries along; the lot it leaves keeps those of before.
 */
export class LedgerIndex {
  readonly #db: Database.Database;
  readonly #ledger: Pick<Ledger, 'entriesAfter'>;
  readonly #sql;
  readonly #takeAll: (entries: Entry[]) => void;
  #lastN: number;

  constructor(db: Database.Database, ledger: Pick<Ledger, 'entriesAfter'>) {
    this.#db = db;
    this.#ledger = ledger;
    this.#sql = prepare(db);
    this.#lastN = this.#sql.last.get()?.n ?? -1;
    this.#takeAll = db.transaction((entries: Entry[]) => {
      for (const entry of entries) this.#take(entry);
      this.#lastN = entries.at(-1)?.n ?? this.#lastN;
      this.#sql.setLast.run(this.#lastN, this.#leafOf(this.#lastN));
    });
  }

  /** Entries as they are appended, without a gap; one that it knows already counts once. */
  hear(entries: Entry[]): void {
    const fresh = entries.filter(({ n }) => n > this.#lastN);
    if (fresh.length > 0) this.#takeAll(fresh);
  }

  /** Takes what it has not heard; begins anew where it knows another ledger, or another end of this one. */
  catchUp(): void {
    const last = this.#sql.last.get();
    if (last && last.leaf !== this.#leafOf(last.n)) this.#clear();
    for (;;) {
      const stored = this.#ledger.entriesAfter(this.#lastN, slice);
      this.hear(stored.map(({ bytes }) => JSON.parse(bytes.toString('utf8')) as Entry));
      if (stored.length < slice) return;
    }
  }

  close(): void {
    this.#db.close();
  }

  /** Entries of plant files and recipes, which any lot may rest on. */
  foundation(): readonly number[] {
    return this.#sql.foundation.all();
  }

  /** Every lot that is told of. */
  lots(): string[] {
    return this.#sql.lots.all();
  }

  /** The lots a load is in or was in, the one that it is in last. */
  lotsOf(load: string): readonly string[] {
    return this.#sql.lotsOf.all(load);
  }

  /** Loads that are in a lot now, in the order in which they came into it. */
  loadsOf(lot: string): string[] {
    return this.#sql.loadsOf.all(lot);
  }

  /** In their order. */
  entriesOf(lot: string): number[] {
    return this.#sql.entriesOf.all({ lot });
  }

  /** The same, and what was said of its loads after they had left it. */
  entriesOfLoads(lot: string): number[] {
    return this.#sql.entriesOfLoads.all({ lot });
  }

  /** Of one load, in their order; none where its start is not known. */
  entriesOfLoad(load: string): number[] {
    return this.#sql.entriesOfLoad.all(load);
  }

  /** Lots of which nothing was said since a time [ms] but what keeps nothing, and whose documents are still here. */
  silentSince(untilMs: number): string[] {
    return this.#sql.silentSince.all(untilMs);
  }

  /** The newest revision of a lot's file; 0 while it has none. */
  filedRevision(lot: string): number {
    return this.#sql.revision.get(lot) ?? 0;
  }

  /** Lots whose file is to be fixed, or fixed anew. */
  owedFiles(): OwedFile[] {
    return this.#sql.owed.all();
  }

  #take(entry: Entry): void {
    const { n, kind, about } = entry;
    if (kind === 'plant-revised' || kind.startsWith('recipe-')) this.#sql.addFoundation.run(n);
    const before = about.load === undefined ? undefined : this.#sql.load.get(about.load);
    const said = about.load === undefined ? null : lotSaid(entry, before !== undefined);
    const load = said === null ? before : this.#put(about.load ?? '', said, n, before);
    if (load) this.#sql.addOfLoad.run(load.id, n);
    const named = (about.lots ?? []).map((lot) => this.#lotId(lot));
    const own = [before?.lot, load?.lot].filter((each) => each !== undefined);
    for (const lot of new Set([...named, ...own])) this.#tell(lot, load?.id ?? null, entry);
  }

  /** The load is in that lot from this entry on. */
  #put(name: string, lotName: string, n: number, before: IndexedLoad | undefined): IndexedLoad {
    const lot = this.#lotId(lotName);
    if (before?.lot === lot) return before;
    if (before) this.#sql.leave.run(n, before.lot, before.id);
    const load = { id: before?.id ?? this.#loadId(name, lot), lot };
    this.#sql.move.run(lot, load.id);
    this.#sql.enter.run(lot, load.id, n);
    return load;
  }

  #tell(lot: number, load: number | null, entry: Entry): void {
    const { n, at, kind } = entry;
    const within = load === null ? undefined : this.#sql.within.get(lot, load);
    if (!within || (within.until !== null && within.until < n)) this.#sql.addNamed.run(lot, n);
    if (isOfLotItself(entry)) this.#sql.newest.run(at, lot);
    if (kind === 'lot-file-dropped') this.#sql.dropped.run(lot);
    if (kind === 'lot-filed') this.#sql.filed.run((entry.body as LotFiled).revision, lot);
    else if (isRelease(entry)) this.#sql.owe.run('released', n, lot);
    else if (changesLoad(entry)) this.#sql.oweAgain.run('load-changed', n, lot);
  }

  #lotId(name: string): number {
    return this.#sql.lotId.get(name) ?? Number(this.#sql.addLot.run(name).lastInsertRowid);
  }

  #loadId(name: string, lot: number): number {
    return Number(this.#sql.addLoad.run(name, lot).lastInsertRowid);
  }

  #leafOf(n: number): string {
    return this.#ledger.entriesAfter(n - 1, 1)[0]?.leaf ?? '';
  }

  #clear(): void {
    const tables = ['last', 'foundation', 'lot', 'load', 'named', 'load_entry', 'lot_load'];
    this.#db.transaction(() => {
      for (const table of tables) this.#db.exec(`DELETE FROM ${table}`);
    })();
    this.#lastN = -1;
  }
}

interface IndexedLoad {
  id: number;
  /** The one it is in. */
  lot: number;
}

/** The lot that an entry puts its load into; null for most. */
function lotSaid({ kind, body }: Entry, isKnown: boolean): string | null {
  if (kind === 'load-opened') return (body as LoadOpened).lot;
  if (kind !== 'load-corrected' || !isKnown) return null;
  const { change } = body as LoadCorrected;
  return change.what === 'lot' ? change.lot : null;
}

/** Another account, or another lot: what was filed is not what counts now. */
function changesLoad({ kind, body }: Entry): boolean {
  if (kind === 'load-amended') return true;
  return kind === 'load-corrected' && (body as LoadCorrected).change.what === 'lot';
}

function prepare(db: Database.Database) {
  const texts = <Given extends unknown[] | object>(sql: string) =>
    db.prepare<Given, string>(sql).pluck();
  const numbers = <Given extends unknown[] | object>(sql: string) =>
    db.prepare<Given, number>(sql).pluck();
  const ofLoads = (within: string) => `
    WITH asked AS (SELECT id FROM lot WHERE name = @lot)
    SELECT n FROM named WHERE lot = (SELECT id FROM asked)
    UNION SELECT e.n FROM lot_load l JOIN load_entry e ON e.load = l.load
      WHERE l.lot = (SELECT id FROM asked) ${within} ORDER BY 1`;
  return {
    last: db.prepare<[], { n: number; leaf: string }>('SELECT n, leaf FROM last'),
    setLast: db.prepare(
      'INSERT INTO last VALUES (1, ?, ?) ON CONFLICT DO UPDATE SET n = excluded.n, leaf = excluded.leaf',
    ),
    foundation: numbers('SELECT n FROM foundation ORDER BY n'),
    addFoundation: db.prepare('INSERT INTO foundation VALUES (?)'),
    lots: texts('SELECT name FROM lot ORDER BY id'),
    lotsOf: texts<[string]>(
      `SELECT t.name FROM load d JOIN lot_load l ON l.load = d.id JOIN lot t ON t.id = l.lot
       WHERE d.name = ? ORDER BY l.since`,
    ),
    loadsOf: texts<[string]>(
      `SELECT d.name FROM lot t JOIN lot_load l ON l.lot = t.id JOIN load d ON d.id = l.load
       WHERE t.name = ? AND l.until IS NULL ORDER BY l.since`,
    ),
    entriesOf: numbers<{ lot: string }>(ofLoads('AND (l.until IS NULL OR e.n <= l.until)')),
    entriesOfLoads: numbers<{ lot: string }>(ofLoads('')),
    entriesOfLoad: numbers<[string]>(
      'SELECT e.n FROM load d JOIN load_entry e ON e.load = d.id WHERE d.name = ? ORDER BY e.n',
    ),
    silentSince: texts<[number]>('SELECT name FROM lot WHERE isDropped = 0 AND newestMs <= ?'),
    revision: numbers<[string]>('SELECT revision FROM lot WHERE name = ?'),
    owed: db.prepare<[], OwedFile>(
      'SELECT name AS lot, because, after FROM lot WHERE after IS NOT NULL ORDER BY after',
    ),
    load: db.prepare<[string], IndexedLoad>('SELECT id, lot FROM load WHERE name = ?'),
    lotId: numbers<[string]>('SELECT id FROM lot WHERE name = ?'),
    addLot: db.prepare('INSERT INTO lot (name) VALUES (?)'),
    addLoad: db.prepare('INSERT INTO load (name, lot) VALUES (?, ?)'),
    addOfLoad: db.prepare('INSERT INTO load_entry VALUES (?, ?)'),
    addNamed: db.prepare('INSERT INTO named VALUES (?, ?)'),
    leave: db.prepare('UPDATE lot_load SET until = ? WHERE lot = ? AND load = ?'),
    move: db.prepare('UPDATE load SET lot = ? WHERE id = ?'),
    enter: db.prepare('INSERT OR REPLACE INTO lot_load VALUES (?, ?, ?, NULL)'),
    within: db.prepare<[number, number], { until: number | null }>(
      'SELECT until FROM lot_load WHERE lot = ? AND load = ?',
    ),
    newest: db.prepare(
      'UPDATE lot SET newestMs = max(coalesce(newestMs, 0), ?), isDropped = 0 WHERE id = ?',
    ),
    dropped: db.prepare('UPDATE lot SET isDropped = 1 WHERE id = ?'),
    filed: db.prepare('UPDATE lot SET revision = ?, because = NULL, after = NULL WHERE id = ?'),
    owe: db.prepare('UPDATE lot SET because = ?, after = ? WHERE id = ?'),
    oweAgain: db.prepare('UPDATE lot SET because = ?, after = ? WHERE id = ? AND revision > 0'),
  };
}
