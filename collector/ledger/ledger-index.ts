import Database from 'better-sqlite3';
import { answeredPlace } from '@setwell/shared-models/record/answered-place';
import type {
  JournalPlace,
  LoadCorrected,
  LoadEnded,
  LoadOpened,
  LotFiled,
} from '@setwell/shared-models/record/bodies';
import type { Entry, EntryKind } from '@setwell/shared-models/record/entry';
import { isRelease } from '@setwell/shared-models/record/lot-file';
import { isOfLotItself } from '@setwell/shared-models/record/retention';
import { openLosable } from '../losable-file.ts';
import { schema, schemaVersion } from './ledger-tables.ts';
import type { Ledger } from './shape.ts';

/** What a start hears of a ledger: all from `fromN` on, and of before what still counts, in its order. */
export interface History {
  early: number[];
  fromN: number;
  /** Every event up to here has had its answer; null: nothing was ever answered. */
  answered: JournalPlace | null;
}

/** A lot whose file is to be fixed: why, and by the entry that asks for it. */
export interface OwedFile {
  lot: string;
  because: LotFiled['because'];
  after: number;
}

const slice = 1000;
const dayMs = 86_400_000;

/**
 * The index of a ledger, brought up to its end. What lies there and does not belong to this ledger is made anew.
 *
 * @param path of a file that may be lost
 */
export function openLedgerIndex(path: string, ledger: Pick<Ledger, 'entriesAfter'>): LedgerIndex {
  const index = new LedgerIndex(openLosable({ path, schema, version: schemaVersion }), ledger);
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
  readonly #takeAll: (entries: Entry[], last: Entry) => void;
  #lastN: number;

  constructor(db: Database.Database, ledger: Pick<Ledger, 'entriesAfter'>) {
    this.#db = db;
    this.#ledger = ledger;
    this.#sql = { ...asked(db), ...written(db) };
    this.#lastN = this.#sql.last.get()?.n ?? -1;
    this.#takeAll = db.transaction((entries: Entry[], { n, at }: Entry) => {
      for (const entry of entries) this.#take(entry);
      this.#sql.setLast.run(n, this.#leafOf(n), at);
    });
  }

  /** Entries as they are appended, without a gap; one that it knows already counts once. */
  hear(entries: Entry[]): void {
    const fresh = entries.filter(({ n }) => n > this.#lastN);
    const last = fresh.at(-1);
    if (last === undefined) return;
    this.#takeAll(fresh, last);
    this.#lastN = last.n;
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

  /**
   * What a fold must hear to stand where it would stand had it heard all: what is never over, loads that are
   * not sealed or have been only lately, calls that are up, and bakes that others go on from.
   *
   * @param asked so long before the newest entry everything is heard, and so long what was baked; the stations
   *   at which nothing is
   */
  history(asked: { recentMs: number; bakedMs: number; bakesNone: string[] }): History {
    const atMs = this.#sql.last.get()?.atMs ?? 0;
    const since = (ms: number) => this.#sql.since.get(Math.floor((atMs - ms) / dayMs)) ?? 0;
    const fromN = since(asked.recentMs);
    const bakedFromN = since(asked.bakedMs);
    const bakesNone = JSON.stringify(asked.bakesNone);
    const early = this.#sql.early.all({ fromN, bakedFromN, bakesNone });
    return { early, fromN, answered: this.#sql.answered.get() ?? null };
  }

  #take(entry: Entry): void {
    const { n, kind, at, about } = entry;
    this.#sql.addDay.run(Math.floor(at / dayMs), n);
    this.#keep(entry);
    if (kind === 'plant-revised' || kind.startsWith('recipe-')) this.#sql.addFoundation.run(n);
    const before = about.load === undefined ? undefined : this.#sql.load.get(about.load);
    const said = about.load === undefined ? null : lotSaid(entry, before !== undefined);
    const load = said === null ? before : this.#put(entry, said, before);
    if (load) {
      this.#sql.addOfLoad.run(load.id, n);
      if (isDone(entry)) this.#sql.done.run(n, load.id);
      for (const zone of leftWarm(entry))
        this.#sql.carry.run(load.station, load.opening, zone, load.id);
    }
    const named = (about.lots ?? []).map((lot) => this.#lotId(lot));
    const own = [before?.lot, load?.lot].filter((each) => each !== undefined);
    for (const lot of new Set([...named, ...own])) this.#tell(lot, load?.id ?? null, entry);
  }

  /** What a later start must hear. */
  #keep(entry: Entry): void {
    const { n, kind, about } = entry;
    if (!bulk.has(kind) && !kind.startsWith('call-')) this.#sql.addStanding.run(n);
    const place = answeredPlace(entry);
    if (place !== null) this.#sql.setAnswered.run(place.seq, place.index);
    if (kind === 'journal-closed') this.#sql.setClosed.run(n);
    if (about.call === undefined) return;
    if (kind === 'call-cleared') this.#sql.dropCall.run(about.call);
    else if (kind === 'call-raised' || this.#sql.isUp.get(about.call) !== undefined) {
      this.#sql.addCall.run(about.call, n);
    }
  }

  /** The load is in that lot from this entry on. */
  #put(entry: Entry, lotName: string, before: IndexedLoad | undefined): IndexedLoad {
    const { n, body } = entry;
    const lot = this.#lotId(lotName);
    if (before?.lot === lot) return before;
    if (before) this.#sql.leave.run(n, before.lot, before.id);
    const load = before ? { ...before, lot } : this.#begin(body as LoadOpened, lot);
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

  #begin({ load, station, opening }: LoadOpened, lot: number): IndexedLoad {
    const place = { station, opening: opening ?? '' };
    const added = this.#sql.addLoad.run(load, lot, place.station, place.opening);
    return { id: Number(added.lastInsertRowid), lot, ...place };
  }

  #leafOf(n: number): string {
    return this.#ledger.entriesAfter(n - 1, 1)[0]?.leaf ?? '';
  }

  #clear(): void {
    const tables = this.#sql.tables.all();
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
  station: string;
  opening: string;
}

/**
 * Kinds that end with the load, the call or the hour they tell of; all others count for as long as the ledger
 * lasts. Of calls those that are up are heard.
 */
const bulk = new Set<EntryKind>([
  ...(['load-opened', 'load-ended', 'load-sealed', 'load-amended', 'load-faulted'] as const),
  ...(['load-corrected', 'load-noted', 'advice-changed', 'disposition', 'lot-filed'] as const),
  ...(['lot-file-dropped', 'journal-closed', 'readings-dropped', 'session-lost'] as const),
  ...(['record-exported', 'handover-read'] as const),
]);

/** Nothing more of the load is awaited by itself. */
function isDone({ kind, body }: Entry): boolean {
  if (kind === 'load-sealed') return true;
  return kind === 'load-corrected' && (body as LoadCorrected).change.what === 'void';
}

/** Zones whose tools the load has left warm. */
function leftWarm({ kind, body }: Entry): string[] {
  return kind === 'load-ended' ? ((body as LoadEnded).carried ?? []).map(({ zone }) => zone) : [];
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

function asked(db: Database.Database) {
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
    last: db.prepare<[], { n: number; leaf: string; atMs: number }>(
      'SELECT n, leaf, atMs FROM last',
    ),
    tables: texts("SELECT name FROM sqlite_schema WHERE type = 'table'"),
    since: numbers<[number]>('SELECT min(n) FROM day WHERE day >= ?'),
    early: numbers<{ fromN: number; bakedFromN: number; bakesNone: string }>(
      `SELECT n FROM standing WHERE n < @fromN
       UNION SELECT n FROM closed WHERE n < @fromN
       UNION SELECT n FROM call WHERE n < @fromN
       UNION SELECT e.n FROM load d JOIN load_entry e ON e.load = d.id
         WHERE e.n < @fromN AND (d.doneN IS NULL OR d.doneN >= @fromN)
       UNION SELECT e.n FROM load d JOIN load_entry e ON e.load = d.id
         WHERE e.n < @fromN AND d.station NOT IN (SELECT value FROM json_each(@bakesNone))
           AND d.lot IN (SELECT lot FROM load WHERE doneN IS NULL OR doneN >= @bakedFromN)
           AND d.lot NOT IN (SELECT id FROM lot WHERE name = '')
       UNION SELECT e.n FROM carried c JOIN load_entry e ON e.load = c.load WHERE e.n < @fromN
       ORDER BY 1`,
    ),
    answered: db.prepare<[], JournalPlace>('SELECT seq, place AS "index" FROM answered'),
    isUp: numbers<[string]>('SELECT n FROM call WHERE id = ? LIMIT 1'),
    foundation: numbers('SELECT n FROM foundation ORDER BY n'),
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
    load: db.prepare<[string], IndexedLoad>(
      'SELECT id, lot, station, opening FROM load WHERE name = ?',
    ),
    lotId: numbers<[string]>('SELECT id FROM lot WHERE name = ?'),
    within: db.prepare<[number, number], { until: number | null }>(
      'SELECT until FROM lot_load WHERE lot = ? AND load = ?',
    ),
  };
}

function written(db: Database.Database) {
  return {
    setLast: db.prepare(
      `INSERT INTO last VALUES (1, ?, ?, ?)
       ON CONFLICT DO UPDATE SET n = excluded.n, leaf = excluded.leaf, atMs = excluded.atMs`,
    ),
    addDay: db.prepare('INSERT INTO day VALUES (?, ?) ON CONFLICT DO NOTHING'),
    addStanding: db.prepare('INSERT INTO standing VALUES (?)'),
    setClosed: db.prepare(
      'INSERT INTO closed VALUES (1, ?) ON CONFLICT DO UPDATE SET n = excluded.n',
    ),
    setAnswered: db.prepare(
      `INSERT INTO answered VALUES (1, ?, ?) ON CONFLICT DO UPDATE
       SET seq = excluded.seq, place = excluded.place
       WHERE (excluded.seq, excluded.place) > (seq, place)`,
    ),
    addCall: db.prepare('INSERT INTO call VALUES (?, ?)'),
    dropCall: db.prepare('DELETE FROM call WHERE id = ?'),
    done: db.prepare('UPDATE load SET doneN = coalesce(doneN, ?) WHERE id = ?'),
    carry: db.prepare('INSERT OR REPLACE INTO carried VALUES (?, ?, ?, ?)'),
    addFoundation: db.prepare('INSERT INTO foundation VALUES (?)'),
    addLot: db.prepare('INSERT INTO lot (name) VALUES (?)'),
    addLoad: db.prepare('INSERT INTO load (name, lot, station, opening) VALUES (?, ?, ?, ?)'),
    addOfLoad: db.prepare('INSERT INTO load_entry VALUES (?, ?)'),
    addNamed: db.prepare('INSERT INTO named VALUES (?, ?)'),
    leave: db.prepare('UPDATE lot_load SET until = ? WHERE lot = ? AND load = ?'),
    move: db.prepare('UPDATE load SET lot = ? WHERE id = ?'),
    enter: db.prepare('INSERT OR REPLACE INTO lot_load VALUES (?, ?, ?, NULL)'),
    newest: db.prepare(
      'UPDATE lot SET newestMs = max(coalesce(newestMs, 0), ?), isDropped = 0 WHERE id = ?',
    ),
    dropped: db.prepare('UPDATE lot SET isDropped = 1 WHERE id = ?'),
    filed: db.prepare('UPDATE lot SET revision = ?, because = NULL, after = NULL WHERE id = ?'),
    owe: db.prepare('UPDATE lot SET because = ?, after = ? WHERE id = ?'),
    oweAgain: db.prepare('UPDATE lot SET because = ?, after = ? WHERE id = ? AND revision > 0'),
  };
}
